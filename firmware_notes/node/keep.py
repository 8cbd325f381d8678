"""The flash buffer: what is not acknowledged survives a power cut, also one in the middle of a write.

Frames go to the end of the newest segment file; a pointer says up to where all is acknowledged.
A frame is A5, kind, length, payload, CRC-32, so a torn one is seen and skipped. The pointer lives in
two files written in turn, so one good copy is always there; with none the oldest frames are sent
again, which the collector knows by boot id and sequence number. Only when every segment is full does
the oldest go, and its messages are counted as dropped.
"""

import binascii
import errno
import os
import struct

MARK = 0xA5
MESSAGE, ANCHOR = 0, 1  # Kinds of frame; only messages count as dropped.
OVERHEAD = 7  # mark, kind, length and four bytes of checksum
LONGEST = 255
POINTER = "<IIII"  # generation, segment, offset, dropped messages
POINTER_NAMES = ("done.a", "done.b")


def crc(data):
    """CRC-32 as four bytes."""
    return struct.pack("<I", binascii.crc32(data) & 0xFFFFFFFF)


def frame(kind, payload):
    """A payload of at most 255 bytes with what is needed to trust it later."""
    if len(payload) > LONGEST:
        raise ValueError("payload of %d bytes, at most %d" % (len(payload), LONGEST))
    body = bytes((kind, len(payload))) + payload
    return bytes((MARK,)) + body + crc(body)


def frames(data, start):
    """Yields (end offset, kind, payload) of each whole frame; damaged bytes between are stepped over."""
    at = start
    while at + OVERHEAD <= len(data):
        end = at + OVERHEAD + data[at + 2]
        body = data[at + 1 : end - 4]
        if data[at] == MARK and end <= len(data) and crc(body) == data[end - 4 : end]:
            yield end, body[0], body[2:]
            at = end
        else:
            at += 1


def read(path):
    """All bytes of a file; none when it is not there."""
    try:
        with open(path, "rb") as file:
            return file.read()
    except OSError:
        return b""


def append(path, data):
    """Adds bytes to a file; on the board's file system they are safe once it is closed."""
    with open(path, "ab") as file:
        file.write(data)


def overwrite(path, data):
    """Puts bytes in place of a file."""
    with open(path, "wb") as file:
        file.write(data)


def remove(path):
    """Removes a file that may be gone already."""
    try:
        os.remove(path)
    except OSError:
        pass


class Keep:
    """A bounded queue in a folder of flash. A place in it is (segment number, offset)."""

    def __init__(self, folder, segment_bytes=4096, most_segments=96):
        self.folder, self.segment_bytes, self.most_segments = folder, segment_bytes, most_segments
        try:
            os.mkdir(folder)
        except OSError:
            pass  # It is there already.
        self._read_pointer()
        self._find_segments()

    def add(self, kind, payload):
        """Writes one frame; when flash is full the oldest segments make room."""
        data = frame(kind, payload)
        if self.size + len(data) > self.segment_bytes:
            self._start_segment()
        while not self._append(data):
            self._drop_oldest()

    def pending(self, kind=None):
        """Yields (place after it, kind, payload) of all that is not acknowledged, oldest first."""
        for number in list(self.segments):
            start = self.offset if number == self.segment else 0
            for end, found, payload in frames(read(self._path(number)), start):
                if kind is None or kind == found:
                    yield (number, end), found, payload

    def done(self, place):
        """All up to `place` is acknowledged; whole segments before it are removed."""
        if place <= (self.segment, self.offset):
            return
        self.segment, self.offset = place
        self._write_pointer()
        self._remove_before(self.segment)

    def _path(self, name):
        name = name if isinstance(name, str) else "%08d.log" % name
        return self.folder + "/" + name

    def _read_pointer(self):
        self.generation = self.segment = self.offset = self.dropped = 0
        for name in POINTER_NAMES:
            data = read(self._path(name))
            if len(data) != struct.calcsize(POINTER) + 4 or crc(data[:-4]) != data[-4:]:
                continue
            values = struct.unpack(POINTER, data[:-4])
            if values[0] > self.generation:
                self.generation, self.segment, self.offset, self.dropped = values

    def _write_pointer(self):
        self.generation += 1
        data = struct.pack(POINTER, self.generation, self.segment, self.offset, self.dropped)
        overwrite(self._path(POINTER_NAMES[self.generation % 2]), data + crc(data))

    def _find_segments(self):
        names = [name for name in os.listdir(self.folder) if name.endswith(".log")]
        self.segments = sorted(int(name[:-4]) for name in names)
        self._remove_before(self.segment)
        if not self.segments:
            self.segments = [self.segment + 1]
            self.size = 0
            return
        self.size = len(read(self._path(self.segments[-1])))

    def _start_segment(self):
        if len(self.segments) >= self.most_segments:
            self._drop_oldest()
        self.segments.append(max(self.segments) + 1 if self.segments else self.segment + 1)
        self.size = 0

    def _remove_before(self, number):
        for old in [segment for segment in self.segments if segment < number]:
            remove(self._path(old))
            self.segments.remove(old)

    def _append(self, data):
        """Whether the newest segment took it; False when flash is full and something can go."""
        try:
            append(self._path(self.segments[-1]), data)
        except OSError as error:
            if error.args[0] != errno.ENOSPC or len(self.segments) < 2:
                raise
            return False
        self.size += len(data)
        return True

    def _drop_oldest(self):
        oldest = self.segments[0]
        start = self.offset if oldest == self.segment else 0
        found = frames(read(self._path(oldest)), start)
        self.dropped += sum(1 for _, kind, _ in found if kind == MESSAGE)
        self.segment, self.offset = oldest + 1, 0
        try:
            self._write_pointer()
        except OSError:  # Too full even for that: the room comes first, the count second.
            self._remove_before(self.segment)
            self._write_pointer()
        self._remove_before(self.segment)
