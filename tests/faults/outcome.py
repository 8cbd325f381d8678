"""What a fault did: the same numbers for tests, which hold them to the promise, and for the bench that prints them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median


@dataclass
class Outcome:
    """Of one kind of fault, however often it struck.

    Args:
        times: how often. sent: readings that probes handed to the broker and had acknowledged.
        lost: of those that the broker handed over. doubled: stored more than once.
        with_broker: acknowledged by the broker to the probe and gone with its queue: the broker's promise, not ours.
        recovered_s: from each fault to the first new reading stored.
    """

    fault: str
    times: int = 0
    sent: int = 0
    lost: int = 0
    doubled: int = 0
    with_broker: int = 0
    recovered_s: list[float] = field(default_factory=list)
    note: str = ""

    def and_again(self, other: "Outcome") -> "Outcome":
        """The same fault struck once more: everything added up; what is noted is that of the first."""
        numbers = ((getattr(self, n) + getattr(other, n)) for n in ("times", "sent", "lost", "doubled", "with_broker"))
        return Outcome(self.fault, *numbers, self.recovered_s + other.recovered_s, self.note)

    def row(self) -> tuple[str, ...]:
        times = sorted(self.recovered_s)
        back = f"{median(times):.1f} / {times[-1]:.1f}" if times else "-"
        numbers = (self.times, self.sent, self.lost, self.doubled, self.with_broker)
        return (self.fault, *map(str, numbers), back, self.note)


def held(*outcomes: Outcome) -> None:
    """What every fault is held to: something was sent and the fault struck, nothing was lost, nothing stored twice."""
    print(table(outcomes))
    for one in outcomes:
        assert one.times > 0, one
        assert one.sent > 0, one
        assert (one.lost, one.doubled) == (0, 0), one


HEADS = ("fault", "times", "readings", "lost", "doubled", "with the broker", "s to recover, usual / worst", "")


def table(outcomes: Sequence[Outcome]) -> str:
    """As README has it."""
    rows = [HEADS, tuple("---" for _ in HEADS), *(outcome.row() for outcome in outcomes)]
    return "\n".join(f"| {' | '.join(row)} |" for row in rows)
