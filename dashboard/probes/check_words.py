"""What a check found, in words: how far off, good for what, what still moves; pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

import numpy as np

from collector.calibration.fit import Fit
from collector.calibration.in_use import in_use_uncertainty_pct
from collector.calibration.settling import Settling
from collector.calibration.side_by_side import LEAST_STEPS, Comparison
from dashboard import words

LEVELS_PCT = (75.0, 80.0, 85.0, 90.0, 95.0)  # the humidities of caves
SURE = 2.0  # what stands behind a "take +-" here is twice the standard uncertainty: 19 times in 20 it is within

JAR = {
    "readings": "Too few readings have come since the jar was closed. Wait for more.",
    "time": "The air in the jar needs longer to come to rest.",
    "temperature": "The temperature still moves. The salt follows late, so the humidity cannot be trusted yet. "
    "A thicker box and a steadier spot help.",
    "humidity": "The humidity still moves.",
}
BESIDE = {
    "still_moving": "The difference between the two still moves: one of them is not at rest yet.",
    "scatter": "The two jump against each other: hang them closer, out of the draught, away from wet wheels.",
}


@dataclass(frozen=True, slots=True)
class Good:
    """At a humidity: what the probe says there, and within what the corrected value can be taken."""

    at: str
    says: str
    take: str


def still_moving(found: Settling) -> tuple[str, ...]:
    """What keeps a reading in the jar from being taken, a sentence each."""
    return tuple(JAR[one] for one in found.missing)


def wait_words(found: Settling) -> str:
    """How long it may take still."""
    if found.settled:
        return ""
    return f"Perhaps {words.duration(max(found.wait_min, 1) * 60)} more." if found.wait_min is not None else ""


def per_hour(value: float, unit: str) -> str:
    """How fast something moves: "+0.3 an hour"."""
    return "" if isnan(value) else f"{value:+.2f} {unit} an hour".replace("-", "−")


def still_missing(found: Comparison) -> tuple[str, ...]:
    """What keeps a stay side by side from being taken."""
    said = [BESIDE[one] for one in found.missing if one != "time"]
    if "time" in found.missing:
        left_s = (LEAST_STEPS - found.steps) * 600
        said.insert(0, f"Both must be heard for {words.duration(left_s)} more.")
    return tuple(said)


def good_for(found: Fit) -> tuple[Good, ...]:
    """What the corrected humidity can be taken for at the humidities of caves, fresh from the check."""
    true = np.array(LEVELS_PCT)
    reading = (true - found.offset) / found.gain
    doubt = SURE * in_use_uncertainty_pct(found.uncertainty(reading), true, 0.0)
    return tuple(
        Good(f"{level:.0f} %", f"{says:.1f} %", f"± {u:.1f}")
        for level, says, u in zip(LEVELS_PCT, reading, doubt, strict=True)
    )  # fmt: skip


def verdict(found: Fit) -> str:
    """The result in a sentence or two."""
    middle = found.points[0]
    off = float(found.corrected(middle.reading)) - middle.reading
    side = "low" if off > 0 else "high"
    first = f"At {middle.true:.0f} % it reads {abs(off):.1f} too {side}; that is put right."
    if abs(off) < 0.05:
        first = f"At {middle.true:.0f} % it reads right."
    if not found.offset_only:
        return f"{first} {len(found.points)} points, so its slope is known too: × {found.gain:.3f}."
    far = SURE * float(found.uncertainty((90.0 - found.offset) / found.gain))
    near = ", ".join(sorted({f"{p.true:.0f}" for p in found.points}))
    return f"{first} Good at {near}; at 90 take ±{far:.0f} until a second point."


def suspicion(found: Fit) -> str:
    """A warning when the points do not lie on one line."""
    if not found.suspicious:
        return ""
    return "The points do not fit on one line as well as they should: one jar may not have been right. Do one again."


def correction_words(offset: float, gain: float, unit: str) -> str:
    """A calibration that was kept, in words."""
    added = f"{offset:+.2f} {unit}".replace("-", "−")
    return added if abs(gain - 1) < 1e-9 else f"× {gain:.3f}, {added}"


def method_words(method: str, salts: Sequence[float]) -> str:
    """How a check was made; `salts` are the true humidities of its points."""
    if method == "salt":
        points = ", ".join(f"{true:.0f} %" for true in salts)
        return f"salt in a jar ({points})" if points else "salt in a jar"
    known = {"side_by_side": "beside a checked probe", "hand": "typed in", "new_sensor": "sensor changed"}
    return known.get(method, method)
