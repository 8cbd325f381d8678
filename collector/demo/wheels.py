"""The demo's wheels: where each stood, what covered it, and how easily it gives off water.

The same flux coefficient feeds the air of the rooms and takes the water from the wheels: mass flux
k (a_w p_s(T) - RH p_s(T)) over the open area. k falls with age as one over the root, because the dry rind grows
inward like the root of time; a covering is a resistance in series. The numbers behind the styles are tuned by us
so that losses come out where common practice has them; they are invented data and no source.
"""

from bisect import bisect_right
from dataclasses import dataclass
from math import pi, sqrt

from collector.demo.weather import DAY_MS

# What the cheese weighs as it leaves the press (common practice, no source).
DENSITY_KG_M3 = 1080.0
# Flux coefficients of coverings [kg/(m2 s Pa)]: film and wax 1e-11 to 1e-10, cloth nearer to a bare rind (own choice).
COVERINGS: dict[str, float | None] = {
    "bare": None,
    "cloth with fat": 1.7e-9,
    "foil": 1.5e-10,
    "two-ply paper": 9e-10,
    "breathable bag": 6e-11,
    "wax": 3e-11,
}
# The evaporating rind is a little colder than the air: L k a_w p_s'(T) / (h + h_rad) with L 2.4727e6 J/kg, h 4 and
# h_rad 5 W/(m2 K), p_s' 92.4 Pa/K at 12 degC. Its part per unit of k; it changes by a fifth from 8 to 16 degC.
RIND_COOLING = 2.4727e6 * 92.4 / 9.0


@dataclass(frozen=True, slots=True)
class Style:
    """A kind of rind.

    Attributes:
        name: as the keeper says it.
        fresh_k: flux coefficient of the fresh bare rind [kg/(m2 s Pa)].
        settles_d: days after which k has fallen to 71 %.
        activity: water activity of the rind, 0 to 1.
        breathes_g_m2_d: mass that a living rind breathes out as gas [g/(m2 d)].
    """

    name: str
    fresh_k: float
    settles_d: float
    activity: float
    breathes_g_m2_d: float = 0.0


@dataclass(frozen=True, slots=True)
class Stay:
    """Where a wheel stood, from its start until the next stay begins."""

    place: str
    from_ms: int


@dataclass(frozen=True, slots=True)
class Covered:
    """What covered a wheel, from its start until the next covering."""

    covering: str
    from_ms: int


@dataclass(frozen=True, slots=True)
class Wheel:
    """One wheel, or a batch of equal pieces kept as one entry.

    Attributes:
        code: its label.
        made_ms: out of the press [ms since 1970, UTC]; the first stay and covering begin there.
        gone_ms: eaten, sold or given; None is still there.
        pieces: 1, or how many in the batch.
        diameter_m, height_m: of one piece.
        own_share: how much more or less than its kind this one gives off, about 1.
    """

    code: str
    style: Style
    made_ms: int
    gone_ms: int | None
    pieces: int
    diameter_m: float
    height_m: float
    stays: tuple[Stay, ...]
    coverings: tuple[Covered, ...]
    own_share: float = 1.0

    @property
    def area_m2(self) -> float:
        """Open area of all pieces, both faces and the side, as on a board that lets the lower face breathe."""
        return self.pieces * pi * self.diameter_m * (self.diameter_m / 2 + self.height_m)

    @property
    def made_g(self) -> float:
        """Mass of all pieces out of the press [g]."""
        return self.pieces * 1000 * DENSITY_KG_M3 * pi / 4 * self.diameter_m**2 * self.height_m

    def is_there(self, at_ms: int) -> bool:
        """Whether it is made and not gone."""
        return self.made_ms <= at_ms and (self.gone_ms is None or at_ms < self.gone_ms)

    def place_at(self, at_ms: int) -> str:
        """Where it stands at a time from `made_ms` on."""
        return self.stays[bisect_right(self.stays, at_ms, key=lambda stay: stay.from_ms) - 1].place

    def covering_at(self, at_ms: int) -> str:
        """What covers it at a time from `made_ms` on."""
        begun = bisect_right(self.coverings, at_ms, key=lambda covered: covered.from_ms)
        return self.coverings[begun - 1].covering


def flux_coefficient(style: Style, age_d: float, covering: str) -> float:
    """How easily a rind gives off water at an age, under a covering.

    Args:
        style: the kind of rind.
        age_d: days out of the press, 0 or more.
        covering: a name in `COVERINGS`.
    Returns:
        k [kg/(m2 s Pa)] for the driving pressure at the temperature of the room, the rind's own cooling included.
    Raises:
        ValueError: an age below 0, or an unknown covering.
    """
    if age_d < 0:
        raise ValueError(f"age_d must be 0 or more, got {age_d:g}")
    if covering not in COVERINGS:
        raise ValueError(f"covering must be one of {', '.join(COVERINGS)}, got {covering}")
    k = style.fresh_k / sqrt(1 + age_d / style.settles_d)
    cover_k = COVERINGS[covering]
    if cover_k is not None:
        k = 1 / (1 / k + 1 / cover_k)
    return k / (1 + RIND_COOLING * k * style.activity)


def gives_off_kg_s_pa(wheel: Wheel, at_ms: int) -> float:
    """Open area times flux coefficient of a wheel that is there.

    Args:
        wheel: the wheel.
        at_ms: a time from its making on [ms since 1970, UTC].
    Returns:
        kg/(s Pa) of driving pressure.
    Raises:
        ValueError: a time before it was made.
    """
    age_d = (at_ms - wheel.made_ms) / DAY_MS
    k = flux_coefficient(wheel.style, age_d, wheel.covering_at(at_ms))
    return k * wheel.area_m2 * wheel.own_share


def shelf(wheels: tuple[Wheel, ...], place: str, at_ms: int) -> tuple[float, float]:
    """What all wheels of a place give off together.

    Args:
        wheels: all wheels of the dairy.
        place: the place.
        at_ms: the time [ms since 1970, UTC].
    Returns:
        Area times flux coefficient [kg/(s Pa)], and the mean water activity weighted by it (1 without wheels).
    """
    open_k = 0.0
    weighted = 0.0
    for wheel in wheels:
        if wheel.is_there(at_ms) and wheel.place_at(at_ms) == place:
            k = gives_off_kg_s_pa(wheel, at_ms)
            open_k += k
            weighted += k * wheel.style.activity
    return open_k, (weighted / open_k if open_k else 1.0)
