"""The humidity that suits all wheels of a cave; pure."""

from collections.abc import Sequence
from dataclasses import dataclass

LOWEST_PCT, HIGHEST_PCT = 60.0, 98.0
AGREE = 2 / 3  # our choice: when so many agree on a setting, the rest are to be moved or covered


@dataclass(frozen=True, slots=True)
class Wants:
    """One wheel: what it would have lost by its ready day in two humidities, and its limits.

    Args:
        code: of the wheel. at_pct: two humidities [%], the lower first. loss_pct: lost in each [% of its start].
        low_pct, high_pct: its limits. takes_up_pct: above this humidity its rind takes up water.
    """

    code: str
    at_pct: tuple[float, float]
    loss_pct: tuple[float, float]
    low_pct: float
    high_pct: float
    takes_up_pct: float

    def loss_at(self, humidity_pct: float) -> float:
        """Loss [%] in steady air; the pull of the air, and so the loss, is a straight line in the humidity."""
        (dry, damp), (much, little) = self.at_pct, self.loss_pct
        return much + (little - much) * (humidity_pct - dry) / (damp - dry)

    def humidity_for(self, loss_pct: float) -> float:
        """Humidity [%] that brings a loss; 100 where no humidity brings so little, 0 where none so much."""
        much, little = self.loss_pct
        if much - little < 1e-6:
            return 100.0 if loss_pct < little else 0.0
        dry, damp = self.at_pct
        return min(max(dry + (damp - dry) * (much - loss_pct) / (much - little), 0.0), 100.0)

    @property
    def range_pct(self) -> tuple[float, float]:
        """Humidities that keep it within its limits; the upper end at most where its rind takes up water."""
        low = self.humidity_for(self.high_pct)
        return low, max(min(self.humidity_for(self.low_pct), self.takes_up_pct), min(low, self.takes_up_pct))


@dataclass(frozen=True, slots=True)
class Setting:
    """The answer for a cave.

    Args:
        low_pct, high_pct: the range that suits all, or all but those named; None when there is none. middle_pct: the
            setting, where there is one.
        want_damper, want_drier: codes of those that it does not suit, or that stand against each other.
        hopeless: wheels for which no humidity will do: they have lost too much already, or cannot lose enough.
    """

    middle_pct: float | None = None
    low_pct: float | None = None
    high_pct: float | None = None
    want_damper: tuple[str, ...] = ()
    want_drier: tuple[str, ...] = ()
    hopeless: tuple[str, ...] = ()


def suits(wheels: Sequence[Wants]) -> Setting:
    """The range of humidity in which every wheel ends within its limits, or all but a few that are named.

    Args:
        wheels: those that the cave's air reaches. Hopeless ones are named and left out.
    Returns:
        The setting; without a range when there are no wheels, or when fewer than two in three agree on one.
    """
    ranges = {w.code: w.range_pct for w in wheels}
    hopeless = tuple(c for c, (low, high) in ranges.items() if low >= HIGHEST_PCT or high <= LOWEST_PCT)
    kept = {c: _clipped(ends) for c, ends in ranges.items() if c not in hopeless}
    if not kept:
        return Setting(hopeless=hopeless)
    # The humidity that suits most lies at an end of somebody's range; of equals the one nearest to the middle of all.
    middle = sum(sum(ends) for ends in kept.values()) / (2 * len(kept))
    best = max((end for ends in kept.values() for end in ends), key=lambda h: (_count(kept, h), -abs(h - middle)))
    agreed = {code: ends for code, ends in kept.items() if ends[0] <= best <= ends[1]}
    low, high = max(ends[0] for ends in agreed.values()), min(ends[1] for ends in agreed.values())
    damper = tuple(code for code, ends in kept.items() if ends[0] > best)
    drier = tuple(code for code, ends in kept.items() if ends[1] < best)
    if len(agreed) < AGREE * len(kept):
        return Setting(want_damper=damper, want_drier=drier or tuple(agreed), hopeless=hopeless)
    return Setting((low + high) / 2, low, high, damper, drier, hopeless)


def _clipped(ends: tuple[float, float]) -> tuple[float, float]:
    return max(ends[0], LOWEST_PCT), min(ends[1], HIGHEST_PCT)


def _count(kept: dict[str, tuple[float, float]], humidity_pct: float) -> int:
    return sum(low <= humidity_pct <= high for low, high in kept.values())


def held_pct(hourly_pct: Sequence[float]) -> tuple[float, float] | None:
    """Between which humidities a cave truly stayed nine hours in ten, from its hourly means; None without any."""
    known = sorted(value for value in hourly_pct if value == value)
    if not known:
        return None
    return known[int(0.05 * (len(known) - 1))], known[int(0.95 * (len(known) - 1))]
