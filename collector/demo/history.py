"""Writes the demo's past into the import folder: the newest fortnight first, then the year before it, week by week."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from collector.demo.simulation import Simulation
from collector.demo.wire import line_of

DAY_MS = 86_400_000
NEWEST_D = 14
YEAR_D = 365
FIRST_PIECE_D = 2  # small, so that taking in begins while the rest is still being made
PIECE_D = 13


@dataclass(slots=True)
class Diary:
    """What the demo knows of its own past: its seed, its first start, and which spans are written.

    Args:
        seed: of the world. anchor_ms: the first start. written: spans [from, to) that lie in the import folder
            or in the store. live_to_ms: up to where the live probes have published.
    """

    seed: int
    anchor_ms: int
    written: list[list[int]] = field(default_factory=list)
    live_to_ms: int = 0

    @classmethod
    def open(cls, path: Path, seed: int, now_ms: int) -> "Diary":
        """The diary of an earlier start, or a new one."""
        if not path.exists():
            return cls(seed, now_ms)
        kept: dict[str, Any] = json.loads(path.read_text())
        return cls(**kept)

    def save(self, path: Path) -> None:
        part = path.with_suffix(".part")
        part.write_text(json.dumps(asdict(self)))
        part.replace(path)

    def holds(self, from_ms: int, to_ms: int) -> bool:
        return any(a <= from_ms and to_ms <= b for a, b in self.written)


def pieces(anchor_ms: int, now_ms: int, live_to_ms: int) -> Iterator[tuple[int, int]]:
    """Spans to be written, in the order in which a person wants to see them.

    The newest fortnight in order of time, what was missed since the last start, then backwards through the year.
    """
    newest = anchor_ms - NEWEST_D * DAY_MS
    step = FIRST_PIECE_D * DAY_MS
    for start in range(newest, anchor_ms, step):
        yield start, min(start + step, anchor_ms)
    if live_to_ms and live_to_ms < now_ms:
        yield live_to_ms, now_ms
    oldest = anchor_ms - YEAR_D * DAY_MS
    for end in range(newest, oldest, -PIECE_D * DAY_MS):
        yield max(oldest, end - PIECE_D * DAY_MS), end


def write_piece(simulation: Simulation, folder: Path, number: int, span: tuple[int, int]) -> Path:
    """Write one span as an old log; it appears under its name only when it is whole."""
    path = folder / f"demo-{number:04d}.jsonl"
    part = path.with_suffix(".part")
    with part.open("wb") as file:
        file.writelines(line_of(message) for message in simulation.messages(*span))
    part.replace(path)
    return path


def clear_done(folder: Path) -> None:
    """The demo's own logs can be made again at any time and need not stay."""
    for path in (folder / "done").glob("demo-*.jsonl"):
        path.unlink()
