"""Simulated wheels that dry, are weighed as people weigh, and are to be foretold. Frozen before the method.

Nothing of the product is imported: saturation pressure is Magnus', the rind is a slab of layers through which water
diffuses (Simal et al. 2001, J. Food Eng. 48:269, moisture 7.8e-12 m2/s in a pressed cheese at 12 degC), its surface
stands in a heat balance with the air, and a living rind breathes. So the method cannot be right by sharing its code or
its form with the truth. All numbers of caves, keepers and wheels are invented.
"""

from dataclasses import dataclass, field, replace
from math import pi

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

BEGIN_MS = 1_700_000_400_000  # a full ten minutes
STEP_MS, HOUR_MS, DAY_MS = 600_000, 3_600_000, 86_400_000
DAYS, STEPS_A_DAY = 330, 144
AHEAD_D = 60
DENSITY = 1080.0
LATENT_J_KG = 2.47e6
LEWIS = 6.745e-9  # k_air / h [kg m-2 s-1 Pa-1 per W m-2 K-1] at 12 degC
RADIATION = 5.0  # W m-2 K-1
LAYERS, FIRST_LAYER_M, GROWS = 14, 0.8e-3, 1.15
REFERENCE_K = 2.5e-9
# Share of a bare rind's loss; the true one of each wheel differs from it.
COVERS = {"bare": 1.0, "cloth": 0.8, "coat": 0.5, "waxed_paper": 0.25, "breathable_bag": 0.1, "barrier_bag": 0.005}


@dataclass(frozen=True, slots=True)
class Cave:
    """True and measured air on the ten-minute grid of `DAYS` days; NaN where the probe was silent.

    `humidity_u_pct`: what the household knows about its probe, standard uncertainty; `assumed`: there is no probe, and
    what is measured is a keeper's guess.
    """

    true_c: Floats
    true_pct: Floats
    measured_c: Floats
    measured_pct: Floats
    humidity_u_pct: float
    still_w_m2_k: float
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a wheel stands and under what, from a time on."""

    from_ms: int
    cave: int
    covering: str = "bare"


@dataclass(frozen=True, slots=True)
class Weighed:
    """What was written down; `truth` tells what was wrong with it, "" for nothing."""

    at_ms: int
    shown_g: float
    step_g: float
    wet: bool
    truth: str = ""


@dataclass(frozen=True, slots=True)
class SimWheel:
    """A wheel, what it is truly like, and what its keeper wrote.

    Args:
        rind: natural, cloth, coated, washed, bloomy. weighed: in order, up to `now_ms`.
        cut_ms, face: cut in half then, and how the face was closed; the weighings are of one half then.
        plug: (when, grams) of a plug that was taken out and written down.
        true_g: mass at `now_ms + AHEAD_D`, without plug and slices.
    """

    rind: str
    made_ms: int
    mass_g: float
    diameter_m: float
    height_m: float
    stands: tuple[Stand, ...]
    now_ms: int
    diffusivity: float
    skin_k: float
    activity: float
    breathes_g_m2_d: float
    moisture: float
    cover_share: float
    cut_ms: int | None = None
    face: str = "bare"
    weighed: tuple[Weighed, ...] = ()
    plug: tuple[int, float] | None = None
    kept_share: float = 1.0
    true_g: float = 0.0

    @property
    def due_ms(self) -> int:
        return self.now_ms + AHEAD_D * DAY_MS

    @property
    def area_m2(self) -> float:
        return pi * self.diameter_m * (self.diameter_m / 2 + self.height_m)


@dataclass(frozen=True, slots=True)
class Surface:
    """One drying face of a wheel: its rind, or the face of a cut."""

    wheel: int
    area_m2: float
    from_ms: int
    covered: bool = True
    halves_ms: int | None = None


@dataclass(slots=True)
class Herd:
    """Caves and wheels together."""

    caves: list[Cave]
    wheels: list[SimWheel]
    lost_g: Floats = field(default_factory=lambda: np.zeros((0, 0)))


def magnus_pa(temperature_c: Floats) -> Floats:
    """Saturation pressure, WMO-No. 8 annex 4.B: another formula than the product's."""
    return np.asarray(611.2 * np.exp(17.62 * temperature_c / (243.12 + temperature_c)))


def a_cave(chance: np.random.Generator) -> Cave:
    """A fridge with a cooler that cycles, a cellar with a season, or a damp box; spells of days in all of them."""
    n = DAYS * STEPS_A_DAY
    day = np.arange(n) / STEPS_A_DAY
    kind = chance.choice(["fridge", "cellar", "box"], p=[0.5, 0.35, 0.15])
    season = np.sin(2 * pi * (day / 365 + chance.random()))
    level_c = {"fridge": 11.5, "cellar": 11.0, "box": 10.0}[kind] + chance.normal(0, 1)
    level_pct = {"fridge": 84.0, "cellar": 87.0, "box": 92.0}[kind] + chance.normal(0, 2.5)
    swing_c = {"fridge": 0.4, "cellar": 2.5, "box": 0.6}[kind]
    temperature = level_c + swing_c * season + _spells(chance, day, 4.0, 0.5)
    humidity = level_pct + 3.0 * season * chance.normal(0, 0.7) + _spells(chance, day, 5.0, 2.2)
    if kind == "fridge":
        saw = 2 * ((day * STEPS_A_DAY / chance.uniform(4, 9)) % 1) - 1
        temperature, humidity = temperature + 0.8 * saw, humidity + chance.uniform(2, 6) * saw
    humidity = np.clip(humidity, 45, 99.5)
    measured_c, measured_pct, u_pct, assumed = _measured(chance, temperature, humidity)
    return Cave(temperature, humidity, measured_c, measured_pct, u_pct, chance.uniform(2, 6), assumed)


def _spells(chance: np.random.Generator, day: Floats, lasting_d: float, spread: float) -> Floats:
    """A first-order process by the day, drawn smooth between days."""
    whole, keeps = int(day[-1]) + 2, np.exp(-1 / lasting_d)
    values = np.zeros(whole)
    for number, kick in enumerate(chance.normal(0, spread * np.sqrt(1 - keeps**2), whole)):
        values[number] = (keeps * values[number - 1] if number else 0) + kick
    return np.asarray(np.interp(day, np.arange(whole), values))


def _measured(chance: np.random.Generator, temperature: Floats, humidity: Floats) -> tuple[Floats, Floats, float, bool]:
    n = len(humidity)
    if chance.random() < 0.08:
        guess = humidity.mean() + chance.normal(0, 5)
        return np.full(n, temperature.mean() + chance.normal(0, 1)), np.full(n, min(guess, 99.0)), 8.0, True
    u_pct = chance.choice([1.5, 3.0])
    creeps = chance.normal(0, 0.7) * np.linspace(0, 1, n)
    shown = humidity + chance.normal(0, u_pct) + creeps + chance.normal(0, 0.3, n)
    shown_c = temperature + chance.normal(0, 0.2) + chance.normal(0, 0.05, n)
    if chance.random() < 0.25:
        from_step = chance.integers(0, n - 20 * STEPS_A_DAY)
        silent = slice(from_step, from_step + int(chance.uniform(3, 20) * STEPS_A_DAY))
        shown[silent], shown_c[silent] = np.nan, np.nan
    return shown_c, np.clip(shown, 30, 100), float(u_pct), False


def a_wheel(chance: np.random.Generator, caves: int) -> SimWheel:
    """A wheel out of the press, its places and coverings for all its life."""
    rind = str(chance.choice(["natural", "cloth", "coated", "washed", "bloomy"], p=[0.4, 0.12, 0.13, 0.2, 0.15]))
    small = rind == "bloomy"
    diameter = chance.uniform(0.09, 0.13) if small else chance.uniform(0.14, 0.26)
    height = diameter * (0.3 if small else chance.uniform(0.4, 0.65))
    made_ms = BEGIN_MS + int(chance.uniform(0, 40)) * DAY_MS + 15 * HOUR_MS
    age_d = chance.uniform(18, 30) if small else chance.uniform(22, 190)
    living = rind in ("washed", "bloomy")
    base = SimWheel(
        rind=rind, made_ms=made_ms, mass_g=1000 * DENSITY * pi / 4 * diameter**2 * height, diameter_m=diameter,
        height_m=height, stands=(), now_ms=made_ms + int(age_d * DAY_MS),
        diffusivity=float(4e-11 * np.exp(chance.normal(0, 0.3)) if living else 1.0e-11 * np.exp(chance.normal(0, 0.4))),
        skin_k=float((2.2e-9 if living else 6e-9) * np.exp(chance.normal(0, 0.35))),
        activity=chance.uniform(0.965, 0.985) if living else chance.uniform(0.94, 0.97),
        breathes_g_m2_d=chance.uniform(1, 5) if living else chance.uniform(0, 0.4),
        moisture=chance.uniform(0.48, 0.54) if living else chance.uniform(0.38, 0.45),
        cover_share=float(np.exp(chance.normal(0, 0.3))),
    )  # fmt: skip
    return _placed(chance, base, caves, age_d)


def _placed(chance: np.random.Generator, wheel: SimWheel, caves: int, age_d: float) -> SimWheel:
    home = int(chance.integers(caves))
    stands = [Stand(wheel.made_ms, home)]
    if wheel.rind == "cloth":
        stands.append(Stand(wheel.made_ms + 3 * DAY_MS, home, "cloth"))
    if wheel.rind == "coated":
        stands.append(Stand(wheel.made_ms + int(chance.uniform(2, 5) * DAY_MS), home, "coat"))
    if chance.random() < 0.3:
        home = int(chance.integers(caves))
        stands.append(Stand(wheel.made_ms + int(chance.uniform(6, age_d + 40) * DAY_MS), home, stands[-1].covering))
    if chance.random() < 0.2:
        late = stands[-1].from_ms + int(chance.uniform(10, 80) * DAY_MS)
        stands.append(Stand(late, home, str(chance.choice(["waxed_paper", "breathable_bag", "coat"]))))
    cut = chance.random() < 0.15 and age_d > 60
    cut_ms = wheel.made_ms + int(chance.uniform(25, age_d - 30) * DAY_MS) if cut else None
    return replace(wheel, stands=tuple(stands), cut_ms=cut_ms, face=str(chance.choice(["bare", "barrier_bag"])))


def surfaces(wheels: list[SimWheel]) -> list[Surface]:
    """The drying faces: a cut halves the rind that counts, and opens a face where it was left bare."""
    found = []
    for number, wheel in enumerate(wheels):
        found.append(Surface(number, wheel.area_m2, wheel.made_ms, halves_ms=wheel.cut_ms))
        if wheel.cut_ms is not None and wheel.face == "bare":
            found.append(Surface(number, wheel.diameter_m * wheel.height_m, wheel.cut_ms))
    return found


def dry(herd: Herd) -> Floats:
    """Grams lost since making, by the hour: shape (hours + 1, wheels). A cut part counts only what it loses itself."""
    rows = surfaces(herd.wheels)
    physics = _Physics(herd, rows)
    hours = DAYS * 24
    lost = np.zeros((hours + 1, len(herd.wheels)))
    for hour in range(hours):
        lost[hour + 1] = lost[hour]
        np.add.at(lost[hour + 1], [row.wheel for row in rows], physics.hour(hour))
    return lost


class _Physics:
    """The layers of all faces, stepped by the hour."""

    def __init__(self, herd: Herd, rows: list[Surface]) -> None:
        self.herd, self.rows = herd, rows
        own = [herd.wheels[row.wheel] for row in rows]
        self.depth = FIRST_LAYER_M * GROWS ** np.arange(LAYERS)
        thick = np.array([w.mass_g / 1000 / DENSITY / w.area_m2 for w in own])[:, None]
        top = np.concatenate(([0.0], np.cumsum(self.depth)[:-1]))
        self.size = np.clip(thick - top, 0, self.depth)
        self.apart = (self.depth[:-1] + self.depth[1:]) / 2
        self.open = self.size[:, 1:] > 0
        self.diffusivity = np.array([w.diffusivity for w in own])[:, None]
        self.dry_kg_m3 = DENSITY * (1 - np.array([w.moisture for w in own]))
        self.fresh = np.array([w.moisture / (1 - w.moisture) for w in own])
        self.water = np.repeat(self.fresh[:, None], LAYERS, axis=1)
        self.activity = np.array([w.activity for w in own])
        self.skin = np.array([w.skin_k for w in own])
        self.breathes = np.array([w.breathes_g_m2_d for w in own])
        self.made = np.array([w.made_ms for w in own])
        self.cave, self.cover_k = _by_hour(herd, rows)
        self.full_pa, self.vapour_pa, self.air_c = _hourly(herd.caves)
        self.still = np.array([cave.still_w_m2_k for cave in herd.caves])

    def hour(self, hour: int) -> Floats:
        """Grams that each face loses in an hour."""
        at_ms = BEGIN_MS + hour * HOUR_MS
        area = np.array([_area(row, at_ms) for row in self.rows]) if hour % 24 == 0 else self._area
        self._area = area
        cave = self.cave[hour]
        air_c, full, vapour = self.air_c[hour, cave], self.full_pa[hour, cave], self.vapour_pa[hour, cave]
        still = self.still[cave]
        k = 1 / (1 / (LEWIS * still) + 1 / self.skin + 1 / self.cover_k[hour])
        damp = -np.expm1(-6 * self.water[:, 0]) / -np.expm1(-6 * self.fresh) * self.activity
        slope = full * 17.62 * 243.12 / (243.12 + air_c) ** 2
        colder_k = LATENT_J_KG * k * (damp * full - vapour) / (still + RADIATION + LATENT_J_KG * k * damp * slope)
        flux = k * (damp * magnus_pa(air_c - colder_k) * full / magnus_pa(air_c) - vapour)
        self._diffuse(np.where(area > 0, flux, 0))
        age_d = (at_ms - self.made) / DAY_MS
        breath = self.breathes / (1 + np.exp(-(age_d - 9) / 2)) * 2 ** ((air_c - 12) / 10) / 24
        covered = np.minimum(self.cover_k[hour] / REFERENCE_K, 1)
        return np.asarray(area * (3.6e6 * flux + breath * covered))

    def _diffuse(self, flux: Floats) -> None:
        inner = self.diffusivity * (self.water[:, :-1] - self.water[:, 1:]) / self.apart * self.open
        gain = np.zeros_like(self.water)
        gain[:, 1:] += inner
        gain[:, :-1] -= inner
        gain[:, 0] -= flux / self.dry_kg_m3
        self.water += 3600 * gain / np.maximum(self.size, 1e-4)
        np.maximum(self.water, 0.01, out=self.water)


def _area(row: Surface, at_ms: int) -> float:
    if at_ms < row.from_ms:
        return 0.0
    return row.area_m2 / 2 if row.halves_ms is not None and at_ms >= row.halves_ms else row.area_m2


def _hourly(caves: list[Cave]) -> tuple[Floats, Floats, Floats]:
    """Saturation and vapour pressure by the hour, derived step by step first; and the temperature."""
    full = np.array([magnus_pa(cave.true_c) for cave in caves])
    vapour = full * np.array([cave.true_pct for cave in caves]) / 100
    air = np.array([cave.true_c for cave in caves])
    return tuple(a.reshape(len(caves), -1, 6).mean(axis=2).T for a in (full, vapour, air))  # type: ignore[return-value]


def _by_hour(herd: Herd, rows: list[Surface]) -> tuple[Ints, Floats]:
    """In which cave and under what a face is, hour by hour; coverings as resistances [kg m-2 s-1 Pa-1]."""
    at_ms = BEGIN_MS + np.arange(DAYS * 24) * HOUR_MS
    cave = np.zeros((len(at_ms), len(rows)), dtype=np.int64)
    cover = np.full((len(at_ms), len(rows)), np.inf)
    for column, row in enumerate(rows):
        wheel = herd.wheels[row.wheel]
        for stand in wheel.stands:
            later = at_ms >= stand.from_ms
            cave[later, column] = stand.cave
            share = min(COVERS[stand.covering] * wheel.cover_share, 0.98)
            cover[later, column] = np.inf if stand.covering == "bare" else REFERENCE_K * share / (1 - share)
    return cave, cover


def lost_at(herd: Herd, number: int, at_ms: int) -> float:
    """Grams lost up to a time, between full hours in a straight line."""
    hours = np.arange(len(herd.lost_g))
    return float(np.interp((at_ms - BEGIN_MS) / HOUR_MS, hours, herd.lost_g[:, number]))


def true_mass_g(herd: Herd, number: int, at_ms: int) -> float:
    """Mass at a time, nothing taken out; a part from its cut on."""
    wheel = herd.wheels[number]
    if wheel.cut_ms is None or at_ms < wheel.cut_ms:
        return wheel.mass_g - lost_at(herd, number, at_ms)
    half_g = (wheel.mass_g - lost_at(herd, number, wheel.cut_ms)) / 2
    return half_g - (lost_at(herd, number, at_ms) - lost_at(herd, number, wheel.cut_ms))


def weigh_all(herd: Herd, chance: np.random.Generator) -> None:
    """Each keeper weighs: wet, on a board, with a slice out; writes down most of what is special, not all."""
    herd.wheels = [_weighed(herd, number, chance) for number in range(len(herd.wheels))]


def _weighed(herd: Herd, number: int, chance: np.random.Generator) -> SimWheel:
    wheel = herd.wheels[number]
    begin = wheel.cut_ms if wheel.cut_ms is not None else wheel.made_ms + int(chance.uniform(1, 5) * DAY_MS)
    every_d = 7.0 if wheel.rind in ("washed", "bloomy") else chance.choice([7.0, 14.0, 28.0])
    step_g = float(chance.choice([1, 5, 10]) if wheel.mass_g > 900 else 1)
    found: list[Weighed] = []
    kept, at_ms, plug = 1.0, begin, None
    while at_ms <= wheel.now_ms:
        true_g = true_mass_g(herd, number, at_ms) * kept
        if len(found) > 2 and plug is None and chance.random() < 0.02:
            plug = (at_ms - HOUR_MS, float(round(true_g * 0.008)))
            kept *= 1 - plug[1] / true_g
            true_g -= plug[1]
        one, kept = _one(chance, wheel, at_ms, true_g, (step_g, kept, len(found)))
        found.append(one)
        at_ms += int(every_d * DAY_MS * chance.uniform(0.8, 1.25) * (2 if chance.random() < 0.1 else 1))
    true_g = true_mass_g(herd, number, wheel.due_ms)
    return replace(wheel, weighed=tuple(found), plug=plug, kept_share=kept, true_g=true_g * kept)


def _one(
    chance: np.random.Generator, wheel: SimWheel, at_ms: int, true_g: float, so_far: tuple[float, float, int]
) -> tuple[Weighed, float]:
    step_g, kept, count = so_far
    shown, wet, truth = true_g * (1 + chance.normal(0, 0.0005)), False, ""
    luck, washed = chance.random(), chance.random() < 0.3
    if wheel.rind == "washed" and washed:
        shown, wet = shown + true_g * chance.uniform(0.002, 0.006), True
    elif luck < 0.04:
        shown, truth = shown + true_g * chance.uniform(0.004, 0.012), "wet"
    elif luck < 0.06 and count > 0:
        shown, truth = shown + chance.uniform(0.06, 0.2) * true_g, "board"
    elif luck < 0.07 and count > 2:
        out = chance.uniform(0.03, 0.07)
        shown, kept, truth = shown * (1 - out), kept * (1 - out), "slice"
    return Weighed(at_ms, round(shown / step_g) * step_g, step_g, wet, truth), kept


def a_herd(seed: int, wheels: int = 200) -> Herd:
    """Caves and wheels with all that was written down; the same for a seed for ever."""
    chance = np.random.default_rng(seed)
    caves = [a_cave(chance) for _ in range(max(wheels // 4, 1))]
    herd = Herd(caves, [a_wheel(chance, len(caves)) for _ in range(wheels)])
    herd.lost_g = dry(herd)
    weigh_all(herd, chance)
    return herd


def lived_again(herd: Herd, changed: list[SimWheel]) -> Herd:
    """Other lives of some wheels in the same caves, dried anew; what was weighed and taken out stays as it was."""
    own = Herd(herd.caves, changed)
    own.lost_g = dry(own)
    return own
