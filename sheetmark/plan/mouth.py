"""The teeth that really stand in one jaw, with ways to walk along them. Knows no millimetres."""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark.anatomy.teeth import Side, Tooth, in_arch_order
from sheetmark.base.findings import Action, Choice, InputError
from sheetmark.case.case import Case


class Mouth:
    """The teeth of the case's jaw in arch order, out of those of the arch model called `model`."""

    def __init__(self, case: Case, arch_teeth: Sequence[Tooth], model: str) -> None:
        self.case, self.arch_teeth, self.model = case, tuple(arch_teeth), model
        self.teeth = tuple(t for t in in_arch_order(arch_teeth) if case.state(t).stands)

    def check(self, tooth: Tooth, purpose: str) -> None:
        """Raises InputError for a tooth that does not stand here."""
        name = self.case.write([tooth])
        if tooth not in self.arch_teeth:
            kind = "primary" if tooth.primary else "permanent"
            age: tuple[Action, ...] = ()
            give_age = ""
            if self.case.age is None:
                age, give_age = (Action(Choice.AGE),), "give the age, "
            raise InputError(
                f"tooth {name} {purpose}: arch model {self.model} has no such {kind} tooth here; "
                f"{give_age}choose another arch model, or mark the tooth as present",
                actions=(*age, Action(Choice.ARCH), Action(Choice.WITH, f"{name} present")),
            )
        if tooth not in self.teeth:
            raise InputError(
                f"tooth {name} {purpose}: third molars count as absent; mark it as present",
                actions=(Action(Choice.PRESENT, name),),
            )

    def side(self, side: Side) -> list[Tooth]:
        """The teeth of one side from the midline outwards."""
        return sorted((t for t in self.teeth if t.side == side), key=lambda t: t.position)

    def behind(self, tooth: Tooth) -> tuple[Tooth, ...]:
        """The teeth further back on the same side, the nearest first."""
        return tuple(t for t in self.side(tooth.side) if t.position > tooth.position)

    def before(self, tooth: Tooth) -> tuple[Tooth, ...]:
        """The teeth towards the midline on the same side, the nearest first."""
        return tuple(t for t in self.side(tooth.side)[::-1] if t.position < tooth.position)

    def in_front(self, tooth: Tooth, count: int) -> tuple[Tooth, ...]:
        """Up to `count` teeth towards the midline, and on across it."""
        at = self.teeth.index(tooth)
        if tooth.side == "right":
            return self.teeth[at + 1 : at + 1 + count]
        return self.teeth[max(0, at - count) : at][::-1]

    def between(self, start: Tooth, end: Tooth) -> tuple[Tooth, ...]:
        """Both teeth and all that stand between them."""
        low, high = sorted((start.along, end.along))
        return tuple(t for t in self.teeth if low <= t.along <= high)
