"""From a list of makes to dated wheels with codes, places and coverings."""

from dataclasses import dataclass
from datetime import UTC, datetime

from collector.demo.noise import generator
from collector.demo.weather import DAY_MS, HOUR_MS
from collector.demo.wheels import Covered, Stay, Style, Wheel

# Out of the press in the afternoon; moved, wrapped and eaten on a morning round.
MADE_HOUR_UTC = 15
ROUND_HOUR_UTC = 8
LETTERS = "ABCDEFGH"
# How much wheels of one make differ in what they give off (own choice: a tenth, cut at a quarter).
WHEELS_DIFFER = 0.10
MOST_DIFFERENT = 0.25


@dataclass(frozen=True, slots=True)
class Route:
    """Where a style goes and what covers it, by age in days; the first of each begins at age 0."""

    stays: tuple[tuple[int, str], ...]
    coverings: tuple[tuple[int, str], ...] = ((0, "bare"),)


@dataclass(frozen=True, slots=True)
class MakePlan:
    """One vat before it has a date: so many days back, one entry in `gone_age_d` a wheel (None is still there)."""

    days_back: int
    style: Style
    route: Route
    diameter_mm: int
    height_mm: int
    gone_age_d: tuple[int | None, ...]
    pieces: int = 1


def wheels_of(makes: tuple[MakePlan, ...], seed: int, anchor_ms: int) -> tuple[Wheel, ...]:
    """Date the makes and lay out their wheels.

    Args:
        makes: the plans, oldest first; their number within the year makes the code.
        seed: the world's seed: wheels of one make differ a little.
        anchor_ms: the demo's first start [ms since 1970, UTC]; only its UTC day counts.
    Returns:
        The wheels, oldest first, with codes such as "25-07B".
    Raises:
        ValueError: a seed outside its range.
    """
    wheels: list[Wheel] = []
    vats: dict[int, int] = {}
    for number, make in enumerate(makes):
        made_ms = (anchor_ms // DAY_MS - make.days_back) * DAY_MS + MADE_HOUR_UTC * HOUR_MS
        year = datetime.fromtimestamp(made_ms / 1000, UTC).year
        vats[year] = vats.get(year, 0) + 1
        code = f"{year % 100:02d}-{vats[year]:02d}"
        spread = generator(seed, "wheel", number).standard_normal(len(make.gone_age_d)) * WHEELS_DIFFER
        for letter, gone_age_d, own in zip(LETTERS, make.gone_age_d, spread.tolist(), strict=False):
            share = 1 + min(max(own, -MOST_DIFFERENT), MOST_DIFFERENT)
            wheels.append(_wheel(make, made_ms, code + letter, gone_age_d, share))
    return tuple(wheels)


def _wheel(make: MakePlan, made_ms: int, code: str, gone_age_d: int | None, own_share: float) -> Wheel:
    gone_ms = None if gone_age_d is None else _round_at(made_ms, gone_age_d)
    return Wheel(
        code=code,
        style=make.style,
        made_ms=made_ms,
        gone_ms=gone_ms,
        pieces=make.pieces,
        diameter_m=make.diameter_mm / 1000,
        height_m=make.height_mm / 1000,
        stays=tuple(Stay(place, _round_at(made_ms, age_d)) for age_d, place in make.route.stays),
        coverings=tuple(Covered(name, _round_at(made_ms, age_d)) for age_d, name in make.route.coverings),
        own_share=own_share,
    )


def _round_at(made_ms: int, age_d: int) -> int:
    if age_d == 0:
        return made_ms
    return (made_ms // DAY_MS + age_d) * DAY_MS + ROUND_HOUR_UTC * HOUR_MS
