"""The gear whose own history matters to wheels, one row each. Common practice, no source."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class GearKind:
    """One kind of gear: its word, and which of a check's fields its page asks for."""

    name: str
    word: str
    asks: tuple[str, ...] = ()


GEAR_KINDS: dict[str, GearKind] = {
    row.name: row
    for row in (
        GearKind("board", "board", ("scalded", "renewed")),
        GearKind("scale", "scale", ("checked_with_g", "showed_g")),
        GearKind("brine", "brine tub", ("strength_pct", "ph", "temperature_c", "boiled", "salt_added_g", "renewed")),
        GearKind("wash", "wash jar", ("strength_pct", "ph", "boiled", "renewed")),
        GearKind("brush", "brush", ("scalded", "renewed")),
        GearKind("cloth", "cloth", ("boiled", "renewed")),
        GearKind("iron", "cheese iron", ("scalded",)),
    )
}
