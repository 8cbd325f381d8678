"""What this household calls things, and the styles to begin with that it has not taken up yet."""

from typing import Any

from sqlalchemy import Connection

from dashboard.places.adding import open_places
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.book import styles
from dashboard.wheels.kinds.styles import STYLES

FRESH = "new:"
"""Before the name of a style that the household takes up with the entry that first needs it."""


def style_names(db: Connection) -> dict[str, str]:
    """Name by id: the household's styles, then those to begin with under their own ids."""
    own = {style.id: style.sheet.name or style.sheet.rind for style in styles(db)}
    taken = {name.casefold() for name in own.values()}
    return own | {FRESH + key: row.name for key, row in STYLES.items() if row.name.casefold() not in taken}


def fresh_style(chosen: str) -> dict[str, Any] | None:
    """The body of the style that a choice takes up; None where the household has it already."""
    if not chosen.startswith(FRESH):
        return None
    name = chosen.removeprefix(FRESH)
    sheet = STYLES.get(name)
    if sheet is None:
        return StyleSheet(name=name).model_dump(mode="json", exclude_unset=True)
    # Which of ours it grew from is kept, so that a household that renames it still finds the way back.
    return sheet.model_copy(update={"preset": name}).model_dump(mode="json", exclude_unset=True)


def place_names(db: Connection) -> dict[str, str]:
    """Name by id of the places that are open, inner ones indented under what is around them."""
    return {place.id: "\u2003" * depth + place.name for place, depth in open_places(db)}
