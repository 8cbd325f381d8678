"""The flash buffer under power cuts at any byte of any write: whatever happens, the promise holds."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

from hypothesis import given
from hypothesis import strategies as st

from firmware_notes.node import keep


class PowerCut(BaseException):
    """Nothing in the program may catch this, as nothing catches a power cut."""


@dataclass
class Flash:
    """Lets so many more bytes be written, then the power is gone in the middle of a write."""

    bytes_left: int | None = None

    def write(self, path: str, data: bytes, mode: str) -> None:
        cut = self.bytes_left is not None and self.bytes_left < len(data)
        written = data[: self.bytes_left] if cut else data
        with Path(path).open(mode) as file:
            file.write(written)
        if cut:
            raise PowerCut
        if self.bytes_left is not None:
            self.bytes_left -= len(data)

    def append(self, path: str, data: bytes) -> None:
        self.write(path, data, "ab")

    def overwrite(self, path: str, data: bytes) -> None:
        self.write(path, data, "wb")

    def remove(self, path: str) -> None:
        if self.bytes_left == 0:
            raise PowerCut
        Path(path).unlink(missing_ok=True)


@contextmanager
def power_cut_after(bytes_left: int | None) -> Iterator[None]:
    flash = Flash(bytes_left)
    with (
        mock.patch.object(keep, "append", flash.append),
        mock.patch.object(keep, "overwrite", flash.overwrite),
        mock.patch.object(keep, "remove", flash.remove),
    ):
        yield


@dataclass
class Told:
    """What the buffer has promised so far."""

    added: list[bytes] = field(default_factory=list)  # add() returned
    doubtful: set[bytes] = field(default_factory=set)  # the power went while it was added or acknowledged
    acknowledged: set[bytes] = field(default_factory=set)


def add(buffer: Any, told: Told, number: int) -> None:
    payload = b"%04d" % number
    told.doubtful.add(payload)
    buffer.add(keep.MESSAGE, payload)
    told.doubtful.discard(payload)
    told.added.append(payload)


def acknowledge(buffer: Any, told: Told, count: int) -> None:
    found = list(buffer.pending())[:count]
    if not found:
        return
    payloads = {payload for _, _, payload in found}
    told.doubtful |= payloads
    buffer.done(found[-1][0])
    told.doubtful -= payloads
    told.acknowledged |= payloads


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["add", "add", "add", "ack", "restart"]), st.integers(1, 8), st.integers(0, 60) | st.none()
    ),
    max_size=60,
)


def play(folder: str, steps: list[tuple[str, int, int | None]], bounds: dict[str, int]) -> tuple[Any, Told]:
    told, buffer, number = Told(), keep.Keep(folder, **bounds), 0
    for step, count, cut in steps:
        try:
            with power_cut_after(cut):
                if step == "add":
                    for _ in range(count):
                        number += 1
                        add(buffer, told, number)
                elif step == "ack":
                    acknowledge(buffer, told, count)
                else:
                    buffer = keep.Keep(folder, **bounds)
        except PowerCut:
            buffer = keep.Keep(folder, **bounds)
    return keep.Keep(folder, **bounds), told


@given(STEPS)
def test_nothing_unacknowledged_is_lost_doubled_or_reordered(steps: list[tuple[str, int, int | None]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        buffer, told = play(folder, steps, {"segment_bytes": 60, "most_segments": 1000})
        pending = [payload for _, _, payload in buffer.pending()]
    assert pending == sorted(set(pending))
    must_be_there = set(told.added) - told.acknowledged - told.doubtful
    assert must_be_there <= set(pending)
    assert not set(pending) & (told.acknowledged - told.doubtful)
    assert buffer.dropped == 0


@given(STEPS)
def test_when_full_only_the_oldest_go_and_every_one_is_counted(steps: list[tuple[str, int, int | None]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        buffer, told = play(folder, steps, {"segment_bytes": 60, "most_segments": 4})
        pending = [payload for _, _, payload in buffer.pending()]
    assert pending == sorted(set(pending))
    missing = [payload for payload in told.added if payload not in told.acknowledged and payload not in pending]
    certain = [payload for payload in missing if payload not in told.doubtful]
    assert len(certain) <= buffer.dropped
    if pending and certain:
        assert certain[-1] < pending[-1]
    if not told.doubtful:
        assert buffer.dropped == len(missing)


@given(st.binary(max_size=300), st.binary(max_size=40))
def test_arbitrary_bytes_in_flash_never_stop_it(segment: bytes, pointer: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "00000003.log").write_bytes(segment)
        for name in keep.POINTER_NAMES:
            (Path(folder) / name).write_bytes(pointer)
        keep.Keep(folder).add(keep.MESSAGE, b"after")
        found = [payload for _, _, payload in keep.Keep(folder).pending()]
    assert found[-1] == b"after"
