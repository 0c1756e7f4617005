"""A group of commands of which one is meant where none is named."""

from __future__ import annotations

from typing import Any, ClassVar

from typer.core import TyperGroup


class Unnamed(TyperGroup):
    """`check PHOTO` is `check photo PHOTO`: what is no command goes to `unnamed`."""

    unnamed: ClassVar[str]

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """The arguments, with the unnamed command before them where no command is named."""
        named = not args or args[0] in (*self.commands, *ctx.help_option_names)
        return super().parse_args(ctx, args if named else [self.unnamed, *args])
