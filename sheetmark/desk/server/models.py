"""Arch models by name, as the page may name them."""

from __future__ import annotations

from sheetmark.anatomy.arch_model import ArchModel, model_names, named_model
from sheetmark.base.findings import InputError
from sheetmark.base.user_folder import own_models


def page_model(name: str) -> ArchModel:
    """A shipped model or one of the clinic's own; no path in the name is ever followed.

    Raises InputError for an unknown name, and for an own model whose file cannot be used: the page
    cannot mend it, so the message leads to the command that names the mistake.
    """
    try:
        return named_model(name)
    except InputError as error:
        if name in model_names() or name not in own_models():
            raise
        raise InputError(unusable(name)) from error


def unusable(name: str) -> str:
    """What the page has to say of a broken own model."""
    return (
        f"arch model {name}: your own file of it cannot be used; "
        f"to see what is wrong, run: sheetmark arch list"
    )
