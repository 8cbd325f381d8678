"""Resolved SenML records as readings of one probe.

Our contract for probes: topic `rindwatch/<probe>/readings`; names `<probe>/temperature` and the like, or
without the probe; a record `boot` (vs: text that changes with each start of the probe) and a record `seq`
(v: whole number that counts its messages since then) are no readings: they tell one message that came
twice from two messages. A record `time` (vs: "at the latest") says that the times are bounds.
"""

from __future__ import annotations

import re
from functools import lru_cache

from collector.intake.payloads.decoded import UNTIMED, FieldHints, WireReading, WireTime
from collector.intake.payloads.recognised import check_shown, guessed, hint_for, is_left_out, reading_of, shown
from collector.intake.payloads.senml import RELATIVE_BELOW_S, ResolvedRecord
from collector.intake.payloads.wire_numbers import Unreadable, described
from collector.intake.payloads.wire_times import LATEST_S
from collector.quantity_words import guess_quantity

MARKS = ("boot", "seq")
AT_THE_LATEST = "at the latest"  # what the record `time` says of a probe that cannot know when it measured
BOOT_LIMIT = 64  # characters
SEQ_LIMIT = 2**53  # above it a double no longer counts by ones
AHEAD_S = 60  # a probe without a clock counts back from now; our choice of how far ahead is still now

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9:./_-]*")  # RFC 8428 section 4.5.1
# RFC 9039, section 4: the kind of the device, and for some kinds the organisation. Compiled once: a pattern for each
# probe is compiled anew at every name that is new, and a hostile probe has no others.
_URN = re.compile(r"urn:dev:[a-z0-9]+:")
_ORGANISATION = re.compile(r"^[0-9]+-")


class PackReader:
    """Collects the readings, marks and refusals of one pack."""

    def __init__(self, probe: str, hints: FieldHints | None) -> None:
        self.readings: list[WireReading] = []
        self.refused: list[tuple[str, str]] = []
        self._keep = self.readings.append
        self.boot: str | None = None
        self.seq: int | None = None
        self.at_the_latest = False
        self._probe, self._hints = probe, hints
        self._units: dict[str, str] = {}  # of each field, as first met in this pack
        self._time_s: float | None = None
        self._time = UNTIMED

    def take(self, record: ResolvedRecord) -> None:
        """Add what a record says; one that cannot be kept goes to `refused` with its reason."""
        try:
            unit = record.unit or ""
            field, is_sure, quantity, code = _named(self._probe, record.name, record.own_name == "", unit)
            if field in MARKS:
                self._take_mark(field, record)
            elif record.value == AT_THE_LATEST and field == "time":
                self.at_the_latest = True
            elif self._units.setdefault(field, unit) != unit:  # RFC 8428 section 5.1.3 has one name for four things
                field = f"{field}:{guess_quantity(field, unit) or unit or 'value'}"
                self._take_value(field, unit, is_sure, record)
            elif code is None or self._hints is not None or type(record.value) is not float:
                self._take_value(field, unit, is_sure, record)
            else:
                self._keep(WireReading(field, record.value, code, quantity, self._time_of(record)))
        except Unreadable as wrong:
            self.refused.append((shown(record.name) or "value", str(wrong)))

    def _take_value(self, field: str, unit: str, is_sure: bool, record: ResolvedRecord) -> None:
        hint = hint_for(self._hints, field)
        value = record.value
        if not isinstance(value, float):
            value = _switch(value, field if hint is None or hint.quantity is None else hint.quantity)
        if value is None or is_left_out(self._hints, field):
            return
        time = self._time_of(record)
        if is_sure or hint is not None:
            self._keep(reading_of(field, value, unit, time, hint))
        else:
            self._keep(WireReading(field, value, unit, None, time))

    def _time_of(self, record: ResolvedRecord) -> WireTime:
        if record.time_s != self._time_s:
            self._time_s, self._time = record.time_s, wire_time(record.time_s)
        return self._time

    def _take_mark(self, mark: str, record: ResolvedRecord) -> None:
        said = _boot(record.value) if mark == "boot" else _seq(record.value)
        known = getattr(self, mark)
        if known is not None and known != said:
            raise Unreadable(f"must stand once in a pack, got {described(known)} and {described(said)}")
        setattr(self, mark, said)


def wire_time(time_s: float | None) -> WireTime:
    """A resolved SenML time.

    Args:
        time_s: seconds; None for none given.
    Raises:
        Unreadable: further ahead or back than a reading can be.
    """
    if time_s is None:
        return UNTIMED
    if time_s >= RELATIVE_BELOW_S:
        if time_s > LATEST_S:
            raise Unreadable(f"time must lie before the year 10000, got {time_s:g} s")
        return WireTime.absolute(round(time_s * 1000))
    if not -RELATIVE_BELOW_S < time_s <= AHEAD_S:
        raise Unreadable(f"a time without base must count back from now, got {time_s:g} s")
    return WireTime.relative(round(time_s * 1000))


@lru_cache(maxsize=4096)
def _named(probe: str, name: str, is_nameless: bool, unit: str) -> tuple[str, bool, str | None, str | None]:
    """The field, whether it is sure, and quantity and unit code; a code of None is for the value to decide."""
    field, is_sure = _field(probe, name, is_nameless, unit)
    check_shown(field, unit)
    return (field, is_sure, *(guessed(field, unit) if is_sure and field else (None, unit)))


def _field(probe: str, name: str, is_nameless: bool, unit: str) -> tuple[str, bool]:
    """The name to keep a record under, and whether name and unit are in order, so that a guess may be made.

    A record that has only the base name is kept under what it measures: bases name devices.
    """
    check_shown(name, unit)
    field = _without_probe(name, probe)
    if not field or (is_nameless and unit):
        what = guess_quantity(field, unit) or unit or "value"
        return (f"{field}:{what}" if field else what), bool(unit)
    return field, _NAME.fullmatch(name) is not None and (unit != "" or guess_quantity(field) == "door")


def _without_probe(name: str, probe: str) -> str:
    if name == probe or not name:
        return ""
    if name.startswith(probe) and name[len(probe)] in "/:":
        return name[len(probe) + 1 :]
    # A device URN (RFC 9039) has its own way of naming the device, and parts of it after a "_".
    urn = _URN.match(name)
    device = name[urn.end() :] if urn else ""
    for said in (_ORGANISATION.sub("", device, count=1), device):
        if said.startswith(probe) and said[len(probe) : len(probe) + 1] in {"", "/", ":", "_"}:
            return said[len(probe) + 1 :]
    return name


def _switch(value: str | bool | bytes | None, name: str) -> float | None:
    """True and false of a door as 1 and 0; None for text, data and other switches, which are no readings."""
    if value is None:
        raise Unreadable("has only a sum over time, which is no reading")
    return float(value) if isinstance(value, bool) and guess_quantity(name) == "door" else None


def _boot(said: object) -> str:
    if not isinstance(said, str) or not 0 < len(said) <= BOOT_LIMIT or not said.isprintable():
        raise Unreadable(f"boot must be vs, text of 1 to {BOOT_LIMIT} characters, got {described(said)}")
    return said


def _seq(said: object) -> int:
    if not isinstance(said, float) or not 0 <= said < SEQ_LIMIT or said != said // 1:
        raise Unreadable(f"seq must be v, a whole number from 0 to 2^53, got {described(said)}")
    return int(said)
