"""Sheets: entries that each carry what was filled in or changed, laid over each other; pure."""

from collections.abc import Iterable
from typing import TypeVar

from dashboard.wheels.bodies.base import Body

Sheet = TypeVar("Sheet", bound=Body)
_NOT_LAID = frozenset({"kind", "text", "photos"})


def laid_over(form: type[Sheet], bodies: Iterable[Body], under: Sheet | None = None) -> Sheet:
    """The sheet that all bodies of one form say together: of each field what was last set.

    Args:
        form: the class of the sheet; bodies of another class are passed over.
        bodies: in the order in which they happened.
        under: what holds where no body says anything (a part's parent).
    A field set to None is blank again. An entry's words and photos stay with that entry.
    """
    fields = {} if under is None else {name: getattr(under, name) for name in under.model_fields_set - _NOT_LAID}
    for body in bodies:
        if isinstance(body, form):
            fields |= {name: getattr(body, name) for name in body.model_fields_set - _NOT_LAID}
    return form.model_construct(_fields_set=set(fields), **fields)


def blank_of(sheet: Sheet, fields: Iterable[str]) -> Sheet:
    """The sheet without some fields: "make this again" leaves blank what was measured on the day."""
    kept = {name: getattr(sheet, name) for name in sheet.model_fields_set - set(fields)}
    return type(sheet).model_construct(_fields_set=set(kept), **kept)
