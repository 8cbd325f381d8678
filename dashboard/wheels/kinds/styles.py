"""Styles to begin with, one row each; a household copies one and makes it its own.

Care plans, ripening windows and losses: common practice, no source. They are starting points for a person to change,
never shown as evidence. Losses are percent of the weight into the cave, by size: a small wheel has more rind for its
weight and loses more. Air: 80-85 % for dry, 85-90 % for mould, 90-95 % for washed rinds is published (University of
Guelph, Food Science, "Humidity and curing"); the rest of the air is common practice, no source.
"""

from dashboard.wheels.bodies.sheets import LossLimit, PlanLine, StyleSheet


def _losses(small: tuple[float, float], middle: tuple[float, float], big: tuple[float, float]) -> tuple[LossLimit, ...]:
    """Limits for wheels up to 1 kg, up to 4 kg, and above."""
    return (
        LossLimit(up_to_g=1_000, low_pct=small[0], high_pct=small[1]),
        LossLimit(up_to_g=4_000, low_pct=middle[0], high_pct=middle[1]),
        LossLimit(low_pct=big[0], high_pct=big[1]),
    )


def _every(care: str, *steps: tuple[int, int | None]) -> tuple[PlanLine, ...]:
    """Lines of one care that follow on each other: (every so many days, until this age)."""
    lines, from_d = [], 0
    for every_d, to_d in steps:
        lines.append(PlanLine(care=care, every_d=every_d, from_d=from_d, to_d=to_d))
        from_d = to_d or from_d
    return tuple(lines)


def _late(care: str, every_d: int, from_d: int, to_d: int | None = None) -> PlanLine:
    return PlanLine(care=care, every_d=every_d, from_d=from_d, to_d=to_d)


STYLES: dict[str, StyleSheet] = {
    "tomme": StyleSheet(
        name="tomme, natural rind",
        rind="natural",
        plan=(*_every("turned", (1, 14), (3, 42), (7, None)), _late("brushed", 7, 14), _late("weighed", 14, 0)),
        ripe_from_d=60,
        ripe_to_d=180,
        losses=_losses((10, 20), (8, 15), (6, 12)),
        temperature_low_c=10,
        temperature_high_c=13,
        humidity_low_pct=85,
        humidity_high_pct=92,
        minimum_age_section="133.187",
    ),
    "clothbound": StyleSheet(
        name="cloth-bound hard cheese",
        rind="cloth",
        plan=(*_every("turned", (1, 14), (7, 365), (28, None)), _late("brushed", 28, 60), _late("weighed", 28, 0)),
        ripe_from_d=180,
        ripe_to_d=540,
        losses=_losses((12, 22), (10, 18), (8, 15)),
        temperature_low_c=10,
        temperature_high_c=13,
        humidity_low_pct=80,
        humidity_high_pct=88,
        minimum_age_section="133.113",
    ),
    "coated": StyleSheet(
        name="coated, pressed",
        rind="coated",
        plan=(*_every("turned", (1, 21), (7, None)), _late("recoated", 3, 2, 14), _late("weighed", 28, 14)),
        ripe_from_d=60,
        ripe_to_d=360,
        losses=_losses((5, 14), (4, 12), (3, 10)),
        temperature_low_c=10,
        temperature_high_c=15,
        humidity_low_pct=80,
        humidity_high_pct=86,
        minimum_age_section="133.142",
    ),
    "waxed": StyleSheet(
        name="waxed or bagged",
        rind="waxed",
        plan=(*_every("turned", (1, 7), (7, None)), _late("weighed", 56, 14)),
        ripe_from_d=60,
        ripe_to_d=360,
        losses=_losses((0, 4), (0, 3), (0, 2)),
        temperature_low_c=8,
        temperature_high_c=13,
        minimum_age_section="133.150",
    ),
    "alpine": StyleSheet(
        name="alpine, smeared",
        rind="smeared",
        plan=(
            *_every("turned", (1, 21), (3, 90), (7, None)),
            *_every("rubbed", (2, 21), (3, 90), (7, None)),
            _late("weighed", 28, 0),
        ),
        ripe_from_d=120,
        ripe_to_d=540,
        losses=_losses((8, 16), (6, 12), (5, 10)),
        temperature_low_c=12,
        temperature_high_c=15,
        humidity_low_pct=90,
        humidity_high_pct=95,
        minimum_age_section="133.149",
    ),
    "washed": StyleSheet(
        name="washed rind, soft",
        rind="washed",
        plan=(*_every("turned", (1, 14), (2, None)), *_every("washed", (2, 21), (3, 56)), _late("weighed", 7, 0)),
        ripe_from_d=28,
        ripe_to_d=56,
        losses=_losses((6, 14), (5, 12), (4, 10)),
        temperature_low_c=10,
        temperature_high_c=14,
        humidity_low_pct=92,
        humidity_high_pct=97,
        minimum_age_section="133.182",
    ),
    "bloomy": StyleSheet(
        name="bloomy rind",
        rind="bloomy",
        plan=(*_every("turned", (1, 14), (2, None)), _late("patted", 2, 5, 14), _late("weighed", 7, 0)),
        ripe_from_d=21,
        ripe_to_d=42,
        losses=_losses((5, 12), (5, 12), (4, 10)),
        temperature_low_c=11,
        temperature_high_c=14,
        humidity_low_pct=88,
        humidity_high_pct=95,
        minimum_age_section="133.182",
    ),
    "lactic": StyleSheet(
        name="small lactic",
        rind="bloomy",
        plan=(*_every("turned", (1, None)), _late("weighed", 7, 0)),
        ripe_from_d=10,
        ripe_to_d=35,
        losses=_losses((15, 35), (12, 30), (12, 30)),
        temperature_low_c=10,
        temperature_high_c=13,
        humidity_low_pct=80,
        humidity_high_pct=90,
        minimum_age_section="133.182",
    ),
    "blue": StyleSheet(
        name="blue, natural rind",
        rind="blue",
        plan=(
            *_every("turned", (1, 14), (3, 60), (7, None)),
            _late("pierced", 21, 14, 40),
            _late("scraped", 14, 28, 90),
            _late("weighed", 14, 0),
        ),
        ripe_from_d=60,
        ripe_to_d=120,
        losses=_losses((6, 16), (6, 14), (5, 12)),
        temperature_low_c=8,
        temperature_high_c=12,
        humidity_low_pct=88,
        humidity_high_pct=95,
        minimum_age_section="133.106",
    ),
    "grating": StyleSheet(
        name="hard grating",
        rind="natural",
        plan=(
            *_every("turned", (1, 14), (7, None)),
            _late("oiled", 30, 60),
            _late("brushed", 10, 14),
            _late("weighed", 28, 0),
        ),
        ripe_from_d=300,
        ripe_to_d=720,
        losses=_losses((12, 22), (10, 18), (8, 14)),
        temperature_low_c=12,
        temperature_high_c=18,
        humidity_low_pct=80,
        humidity_high_pct=88,
        minimum_age_section="133.148",
    ),
}
