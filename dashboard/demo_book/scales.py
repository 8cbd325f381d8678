"""How the invented keeper weighs: what a scale shows of a true mass, with its step, its board and a wet rind."""

from dataclasses import dataclass
from typing import Any

from dashboard.demo_book.things import GEAR, Things
from dashboard.wheels.bodies.doings import Weighing

HEAVY_G = 4_500  # from here on the kitchen scale is too small
READ_OFF = 0.0006  # of the mass: how far two weighings of one wheel lie apart (invented)
WET_SHARE = 0.004  # of the mass: what clings to a washed wheel (invented)
PIECES_WEIGHED = 4  # of a batch, put on the scale together


@dataclass(frozen=True, slots=True)
class OnScale:
    """What lies on the scale.

    Args:
        mass_g: true mass of one wheel or piece. pieces_left: 1, or how many are left of a batch.
        wet: just washed. start: a name out of STARTS, or None. on_board: it stays on its board.
    """

    mass_g: float
    pieces_left: int = 1
    wet: bool = False
    start: str | None = None
    on_board: bool = False


def weighed(drawn: Any, things: Things, what: OnScale) -> Weighing:
    """A weighing as it is entered; `drawn` is chance (a numpy Generator)."""
    pieces = min(what.pieces_left, PIECES_WEIGHED)
    scale = "hanging scale" if what.mass_g * pieces > HEAVY_G else "kitchen scale"
    board = ("larch board" if what.mass_g > HEAVY_G else "spruce board") if what.on_board else None
    tare_g = GEAR[board].tare_g or 0.0 if board else 0.0
    step_g = GEAR[scale].step_g or 1.0
    true_g = what.mass_g * pieces * (1 + (WET_SHARE if what.wet else 0) + READ_OFF * float(drawn.standard_normal()))
    shown_g = round((true_g + tare_g) / step_g) * step_g
    fields: dict[str, Any] = {"scale_g": shown_g, "scale_id": things.gear[scale], "step_g": step_g}
    if board:
        fields |= {"board_id": things.gear[board], "tare_g": tare_g}
    if what.wet:
        fields["wet"] = True
    if what.start:
        fields["start"] = what.start
    if what.pieces_left > 1:
        fields["pieces"] = pieces
    return Weighing(**fields)
