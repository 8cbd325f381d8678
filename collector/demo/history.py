"""Writes the demo's past into the import folder: the newest fortnight first, then the year before it, week by week."""

from collections.abc import Iterator
from pathlib import Path
from threading import Event

from collector.demo.diary import DAY_MS, Diary
from collector.demo.simulation import Simulation
from collector.demo.wire import line_of

NEWEST_D = 14
YEAR_D = 365
FIRST_PIECE_D = 2  # small, so that taking in begins while the rest is still being made
PIECE_D = 28  # the simulation is quickest with a month at once
FILES_MOST = 3  # waiting in the import folder: more would only fill the disk


class History:
    """The past of one demo, written as old logs that the collector takes in at low priority.

    Args:
        folder: the import folder. diary_path: where the diary is kept. live_from_ms: where the live probes begin.
    """

    def __init__(self, simulation: Simulation, folder: Path, diary: Diary, diary_path: Path, live_from_ms: int) -> None:
        self._simulation, self._folder = simulation, folder
        self._diary, self._diary_path, self._live_from_ms = diary, diary_path, live_from_ms
        self._number = 0

    def write(self, stop: Event) -> None:
        """Write what is missing, newest first, waiting while the collector is behind."""
        if not self._diary.past_from_ms:
            # Seen as a whole first: the simulation computes days side by side.
            newest_ms = self._diary.anchor_ms - NEWEST_D * DAY_MS
            self._simulation.true_air(self._simulation.world.scenario.outside, newest_ms, self._diary.anchor_ms)
            for span in newest_spans(self._diary.anchor_ms, self._live_from_ms):
                self._write_span(span)
            self._reached(self._diary.anchor_ms - NEWEST_D * DAY_MS)
        elif self._diary.live_to_ms < self._live_from_ms:
            self._write_span((self._diary.live_to_ms or self._diary.anchor_ms, self._live_from_ms))
        for span in older_spans(self._diary.anchor_ms, self._diary.past_from_ms):
            while len(list(self._folder.glob("*.jsonl"))) >= FILES_MOST and not stop.wait(0.5):
                self._clear_done()
            if stop.is_set():
                return
            self._write_span(span)
            self._reached(span[0])
        while not stop.wait(5):
            self._clear_done()

    def _reached(self, past_from_ms: int) -> None:
        self._diary.past_from_ms = past_from_ms
        self._diary.save(self._diary_path)

    def _write_span(self, span: tuple[int, int]) -> None:
        """One old log; it appears under its name only when it is whole."""
        self._number += 1
        path = self._folder / f"demo-{self._number:03d}-{span[1] // DAY_MS}.jsonl"
        part = path.with_suffix(".part")
        with part.open("wb") as file:
            file.writelines(line_of(message) for message in self._simulation.messages(*span))
        part.replace(path)

    def _clear_done(self) -> None:
        """The demo's own logs can be made again at any time and need not stay."""
        for path in (self._folder / "done").glob("demo-*.jsonl"):
            path.unlink()


def is_whole(diary: Diary) -> bool:
    """Whether the year before the first start is written."""
    return bool(diary.past_from_ms) and not any(older_spans(diary.anchor_ms, diary.past_from_ms))


def newest_spans(anchor_ms: int, live_from_ms: int) -> Iterator[tuple[int, int]]:
    """The newest fortnight in order of time, in pieces that are quickly taken in."""
    step = FIRST_PIECE_D * DAY_MS
    for start in range(anchor_ms - NEWEST_D * DAY_MS, live_from_ms, step):
        yield start, min(start + step, live_from_ms)


def older_spans(anchor_ms: int, past_from_ms: int) -> Iterator[tuple[int, int]]:
    """The rest of the year, backwards."""
    oldest = anchor_ms - YEAR_D * DAY_MS
    for end in range(past_from_ms, oldest, -PIECE_D * DAY_MS):
        yield max(oldest, end - PIECE_D * DAY_MS), end
