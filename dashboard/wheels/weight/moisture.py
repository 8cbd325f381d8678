"""Moisture and the Codex's words for it, from a starting moisture and what was lost; pure."""

from dataclasses import dataclass

STANDARD = "Codex CXS 283-1978"  # section 7.1.1 as it stands now (from memory; adopted as A-6, last amended 2018)
# Moisture on a fat-free basis [%]: name, from above, to below. The bands overlap on purpose.
FIRMNESS: tuple[tuple[str, float, float], ...] = (
    ("extra hard", 0.0, 51.0),
    ("hard", 49.0, 56.0),
    ("firm or semi-hard", 54.0, 69.0),
    ("soft", 67.0, 100.0),
)
EXTRA_HARD_BELOW, SOFT_ABOVE = 51.0, 67.0
FAT_IN_DRY: tuple[tuple[str, float], ...] = (
    ("high fat", 60.0), ("full fat", 45.0), ("medium fat", 25.0), ("partially skimmed", 10.0), ("skim", 0.0),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Composition:
    """Moisture and fat [% of the weight]; fat None where nobody gave it."""

    moisture_pct: float
    fat_pct: float | None = None

    def __post_init__(self) -> None:
        fat = self.fat_pct or 0.0
        if not (0 < self.moisture_pct < 100 and fat >= 0 and self.moisture_pct + fat <= 100):
            raise ValueError(
                f"moisture and fat must be above 0 and together at most 100 %, got {self.moisture_pct:g}, {fat:g}"
            )


def after_loss(start: Composition, loss_pct: float) -> Composition:
    """What remains after water was lost.

    Args:
        start: composition at 100 %. loss_pct: lost of the weight [%], below 100; below 0 where water was taken up.
    Returns:
        Composition; moisture is never below 0.
    Raises:
        ValueError: a loss of 100 % or more, or more than there was water.
    Source: dry matter is conserved, M = 1 - (1 - M0) W0 / W. It is not where brine, trimming, oil, wax or a breathing
        rind add or take dry matter; a living rind's true moisture is a little higher.
    """
    left = 1 - loss_pct / 100
    if left <= 0:
        raise ValueError(f"loss_pct must be below 100, got {loss_pct:g}")
    moisture = 100 - (100 - start.moisture_pct) / left
    if moisture <= 0:
        raise ValueError(f"loss_pct must be below the {start.moisture_pct:g} % of water there were, got {loss_pct:g}")
    return Composition(moisture, None if start.fat_pct is None else start.fat_pct / left)


def loss_for(start_pct: float, wanted_pct: float) -> float:
    """Loss [% of the weight] that brings a moisture to another [%], both above 0 and below 100.

    Source: as `after_loss`, 1 - (1 - M0) / (1 - M1).
    """
    return 100 * (1 - (100 - start_pct) / (100 - wanted_pct))


def fat_free_moisture_pct(one: Composition) -> float | None:
    """Moisture on a fat-free basis [%], 100 moisture / (total - fat); None without fat. Source: Codex CXS 283."""
    return None if one.fat_pct is None else 100 * one.moisture_pct / (100 - one.fat_pct)


def fat_in_dry_pct(one: Composition) -> float | None:
    """Fat in dry matter [%], 100 fat / (total - moisture); None without fat. Source: Codex CXS 283."""
    return None if one.fat_pct is None else 100 * one.fat_pct / (100 - one.moisture_pct)


def firmness(fat_free_pct: float) -> tuple[str, ...]:
    """The Codex's words for a moisture on a fat-free basis [%]; two where its bands overlap."""
    found = []
    for name, low, high in FIRMNESS:
        above = fat_free_pct > low if name == "soft" else fat_free_pct >= low
        below = fat_free_pct < high if name == "extra hard" else fat_free_pct <= high
        found += [name] if above and below else []
    return tuple(found)


def fat_class(in_dry_pct: float) -> str:
    """The Codex's word for fat in dry matter [%], 0 to 100."""
    for name, least in FAT_IN_DRY:
        if in_dry_pct >= least:
            return name
    raise ValueError(f"in_dry_pct must be 0 or more, got {in_dry_pct:g}")
