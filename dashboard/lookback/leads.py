"""How long each kind of rind note takes to show after its cause; pure.

Common practice, no source, all of it: a mould is seen one to three weeks after it settled, a crack within days of the
dry air, sweat at once. They only say where to look; a window that is too wide costs sharpness, one that is too narrow
misses the cause, so they are wide.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lead:
    """A note shows this many days after its cause, at the least and at the most."""

    short_d: float
    long_d: float


USUAL = Lead(2.0, 14.0)
LEADS: dict[str, Lead] = {
    "crack": Lead(1.0, 9.0),
    "split": Lead(1.0, 14.0),
    "dry_edge": Lead(2.0, 14.0),
    "wet_sticky": Lead(0.0, 4.0),
    "drip_marks": Lead(0.0, 4.0),
    "weeping": Lead(0.0, 7.0),
    "slip_skin": Lead(2.0, 14.0),
    "toad_skin": Lead(2.0, 14.0),
    "runny": Lead(7.0, 28.0),
    "soft_spot": Lead(3.0, 21.0),
    "bare_patch": Lead(4.0, 21.0),
    "grey_rind": Lead(4.0, 21.0),
    "cat_hair": Lead(2.0, 10.0),
    "white_film": Lead(2.0, 14.0),
    "white_mould": Lead(4.0, 18.0),
    "blue_spots": Lead(4.0, 18.0),
    "green_spots": Lead(4.0, 18.0),
    "black_spots": Lead(5.0, 20.0),
    "brown_powder": Lead(14.0, 42.0),
    "red_brown_spots": Lead(5.0, 21.0),
    "yellow_red_spots": Lead(4.0, 18.0),
    "unknown_mould": Lead(4.0, 18.0),
    "mites": Lead(14.0, 42.0),
    "late_blown": Lead(10.0, 60.0),
    "ammonia": Lead(1.0, 14.0),
    "coat_peels": Lead(1.0, 14.0),
    "bad_slime": Lead(2.0, 10.0),
}


def lead_of(kind: str) -> Lead:
    """The lead time of a kind of note; of a word of the household's own the usual one."""
    return LEADS.get(kind, USUAL)
