"""What the cave itself needs, one row each. How often: common practice, no source; 0 is when it is needed."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ChoreKind:
    """One kind of chore: its word as something done, its usual rhythm in days, and whether it counts in litres."""

    name: str
    word: str
    every_d: int = 0
    litres: bool = False


CHORE_KINDS: dict[str, ChoreKind] = {
    row.name: row
    for row in (
        ChoreKind("humidifier_filled", "humidifier filled", every_d=2, litres=True),
        ChoreKind("humidifier_cleaned", "humidifier cleaned", every_d=14),
        ChoreKind("tray_emptied", "drip tray emptied", every_d=7, litres=True),
        ChoreKind("boards_scalded", "boards scalded", every_d=30),
        ChoreKind("boards_dried", "boards dried in the sun", every_d=0),
        ChoreKind("walls_wiped", "walls wiped", every_d=30),
        ChoreKind("floor_washed", "floor washed", every_d=7),
        ChoreKind("drain_cleaned", "drain cleaned", every_d=30),
        ChoreKind("defrosted", "defrosted", every_d=90),
        ChoreKind("fan_cleaned", "fan and cooler cleaned", every_d=180),
        ChoreKind("seal_checked", "door seal looked at", every_d=180),
        ChoreKind("aired", "aired", every_d=1),
    )
}
