"""At which level a battery is low and at which its probe stops, for each kind; pure."""

from dataclasses import dataclass

QUANTITIES_JUDGED = ("battery", "battery_voltage")


@dataclass(frozen=True, slots=True)
class Battery:
    """Levels of one kind of battery, in %EL or V.

    Args:
        kind: what it seems to be, a word for the message.
        upto: the highest level that this kind shows.
        low: at and below it the battery is to be changed.
        well: above it nothing is said.
        empty: where most probes stop.
        replaced: a rise by this much within a day is a fresh battery or a charge, not warmth; half of it within a
            month is a slow charge.
    """

    kind: str
    upto: float
    low: float
    well: float
    empty: float
    replaced: float


PERCENT = Battery("battery", 110.0, low=15.0, well=25.0, empty=0.0, replaced=20.0)

# Common practice, no source: discharge curves differ with load and cold; the empty level is where the regulators of
# small radio boards give up. A kind is told by the highest level of a month, so two of them are mistaken: two fresh
# lithium AA cells (3.6 V) for a lithium-ion cell near its end, and four cells that fall by less than half a volt a
# month for three. A probe that reports percent has neither trouble.
BY_VOLTAGE = (
    Battery("one cell", 1.8, low=1.1, well=1.2, empty=0.9, replaced=0.2),
    Battery("a 3 V battery", 3.35, low=2.5, well=2.65, empty=2.1, replaced=0.3),
    Battery("a lithium-ion cell", 4.35, low=3.5, well=3.6, empty=3.3, replaced=0.3),
    Battery("three cells", 4.95, low=3.6, well=3.8, empty=3.0, replaced=0.5),
    Battery("four cells", 6.8, low=4.7, well=5.0, empty=4.2, replaced=0.6),
    Battery("a 9 V battery", 10.0, low=7.2, well=7.6, empty=6.4, replaced=1.0),
    Battery("a 12 V battery", 16.0, low=11.9, well=12.2, empty=11.4, replaced=0.8),
)


def battery_of(quantity: str, highest: float) -> Battery | None:
    """The kind of battery that a channel seems to watch.

    Args:
        quantity: "battery" [%EL] or "battery_voltage" [V].
        highest: the highest daily level within the last month.
    Returns:
        Its levels; None for a voltage above 16 V, which is no battery that we know.
    Raises:
        ValueError: another quantity.
    Source: the tables above, common practice, no source.
    """
    if quantity not in QUANTITIES_JUDGED:
        raise ValueError(f"quantity must be battery or battery_voltage, got {quantity}")
    if quantity == "battery":
        return PERCENT
    return next((kind for kind in BY_VOLTAGE if highest <= kind.upto), None)
