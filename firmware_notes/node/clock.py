"""What time it was: the network's time, and the time of readings taken before it was known.

The board's clock counts from power-on until it is set; deep sleep and the watchdog leave it running,
a power cut does not. So a clock value below 2025 means "not set". Each time the time server finds the
clock astray, an anchor goes into flash first: boot id, what the clock was taken to show, the true time,
the true time of the asking before (0 for none), the clock at power-on. The first anchor behind a reading
of the same boot gives its time, today and after any number of restarts.
"""

import struct

SANE = 1735689600  # 2025-01-01: an unset clock cannot have come this far.
LATEST = 4102444800  # 2100-01-01: what a time server says beyond it is not believed.
STEP_S = 2  # Smaller corrections are made without an anchor.
ANCHOR = "<IIIII"
NTP_TO_1970 = 2208988800
ERA = 1 << 32


def ntp_time(answer, asked):
    """Seconds since 1970 in a server's 48-byte answer, rounded; OSError says why it is not believed."""
    if len(answer) < 48 or answer[0] & 7 != 4 or answer[24:32] != asked:
        raise OSError("not an answer to this question")
    if answer[0] >> 6 == 3 or not 1 <= answer[1] <= 15:
        raise OSError("the time server does not know the time itself")
    seconds, fraction = struct.unpack(">II", answer[40:48])
    if seconds < ERA // 2:
        seconds += ERA  # The count started anew on 7 February 2036.
    taken = seconds - NTP_TO_1970 + (fraction >> 31)
    if not SANE <= taken <= LATEST:
        raise OSError("the time server says a year that cannot be")
    return taken


def ask(host, nonce, timeout_s=2, port=123):
    """Seconds since 1970 from a time server; `nonce` (8 bytes) comes back in an honest answer."""
    import socket

    address = socket.getaddrinfo(host, port, 0, socket.SOCK_DGRAM)[0]
    question = b"\x23" + b"\0" * 39 + nonce
    server = socket.socket(address[0], socket.SOCK_DGRAM)
    try:
        server.settimeout(timeout_s)
        server.sendto(question, address[-1])
        return ntp_time(server.recv(48), nonce)
    finally:
        server.close()


def anchor(boot, stamp, true, since, born):
    """An anchor as flash keeps it."""
    return struct.pack(ANCHOR, boot, stamp, true, since, born)


def corrected(stamp, found, right):
    """The true time of a reading at `stamp`, by the anchor (stamp, true, since) behind it.

    `right` says how long a span of an unset clock truly was.
    """
    at, true, since = found
    if at < SANE:
        return true - right(at - stamp)
    # The clock was right at `since` and had gone astray evenly by the anchor; a jump is no drift.
    run, error = at - since, true - at
    if not since or not since <= stamp <= at or abs(error) > STEP_S * 15 + run // 10:
        return stamp
    return stamp + error * (stamp - since) // max(1, run)


class Times:
    """The times of all kept messages, from one pass over what is kept.

    `note_message` and `note_anchor` are called oldest first, `close` at the end, then `when`.
    `right` says how long a span of the clock truly was.
    """

    def __init__(self, right=int):
        self.right = right
        self.anchors = []  # (place, boot, stamp, true, since)
        self.runs = []  # [boot, first stamp, last stamp, place of the last, latest possible time]

    def note_message(self, place, boot, stamp):
        if stamp >= SANE:
            self._bound(boot, stamp)
        elif self.runs and self.runs[-1][0] == boot:
            self.runs[-1][2:4] = [stamp, place]
        else:
            self.runs.append([boot, stamp, stamp, place, None])

    def note_anchor(self, place, data):
        boot, stamp, true, since, born = struct.unpack(ANCHOR, data)
        self.anchors.append((place, boot, stamp, true, since))
        self._bound(boot, true - (stamp - born))

    def close(self, boot, born):
        """The boot that runs now, and the clock at its power-on."""
        self._bound(boot, born)

    def when(self, place, boot, stamp, running, now):
        """(time, is it exact); a time below 2025 is a clock value of the boot that runs now."""
        found = self._anchor_for(place, boot, stamp)
        if found:
            return corrected(stamp, found, self.right), True
        if stamp >= SANE:
            return stamp, True
        if boot == running:
            return (stamp, True) if now < SANE else (now, False)
        for of_boot, _, last, end, bound in self.runs:
            if of_boot == boot and place <= end:
                return bound - (last - stamp), False
        return now, False

    def _anchor_for(self, place, boot, stamp):
        """The first anchor behind it; before the clock was set one ahead of it does as well."""
        before = None
        for at, of_boot, clock, true, since in self.anchors:
            if of_boot == boot and (clock >= SANE) == (stamp >= SANE):
                if at > place:
                    return clock, true, since
                before = (clock, true, since)
        return before if stamp < SANE else None

    def _bound(self, boot, known):
        """Runs of other boots without a time ended before `known`, the later ones between."""
        for run in reversed(self.runs):
            if run[4] is not None:
                break
            if run[0] != boot:
                run[4] = known - 1  # A second before, so that no two readings fall on the same one.
                known = run[4] - (run[2] - run[1])
