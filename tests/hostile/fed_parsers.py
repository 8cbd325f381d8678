"""Every parser that strangers' bytes or people's fingers reach, fed with bent cases for a while.

A parser may read a case or refuse it in words. Anything else that comes out of it, and a result that passes a limit it
promises, is a failure. Each case is numbered by its seed, so that a failure comes again.
"""

import json
import math
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import cbor2
from PIL.Image import DecompressionBombWarning

from collector.errors import EntryRefused, ReadingRejected
from collector.importing.csv_file import batches, form_path, read_form
from collector.importing.csv_guess import guess
from collector.intake.payloads import FieldHint, FieldHints, PackRecord, decode, encode_senml
from collector.intake.timing import AHEAD_MS, EARLIEST_MS, Passage, arrival
from collector.readings.model import Arrival
from collector.records.columns import to_ms
from dashboard.people import passkey_answers
from dashboard.wheels.days_typed import Habits, parse_day, parse_moment
from dashboard.wheels.existing import Known, read_lines
from dashboard.wheels.measures import parse_minutes, parse_temperature_c, parse_weight_g
from dashboard.wheels.pasted import found_in, read_table
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.wheels.test_photos import a_heic, a_jpeg, a_picture, a_png
from tests.hostile.mutated import bent_bytes, bent_texts
from tests.hostile.test_parsers import FORM, HOUSEHOLD

NOW_MS = to_ms(NOW_AT)
HABITS = Habits(NOW_AT.date(), HOUSEHOLD.zone)
KNOWN = Known({"Upper cellar": "p1", "Lidded box": "p2"}, {"Tomme": "s1", "Washed": "s2"}, frozenset({"24-07B"}))
RECORDS = [
    PackRecord("temperature", 12.31, "Cel"),
    PackRecord("humidity", 86.4, "%RH"),
    PackRecord("battery", 87.0, "%EL"),
]
TIME_S = NOW_MS / 1000 - 60
LONGEST_WORDS = 400
Feed = Callable[[Any], object]


class Surprise(AssertionError):
    """A result that a parser promises never to give."""


@dataclass(frozen=True, slots=True)
class Parser:
    """What is fed, and how. `feed` raises what it raises; `refuses`: by which errors it may refuse."""

    name: str
    cases: Callable[[int], Iterator[Any]]
    feed: Feed
    refuses: tuple[type[Exception], ...] = (EntryRefused,)


@dataclass
class Fed:
    """What came of feeding one parser; `failures`: by kind, with the number of the first case that showed it."""

    name: str
    cases: int = 0
    read: int = 0
    lasting_s: float = 0.0
    failures: dict[str, str] = field(default_factory=dict)

    def said(self) -> str:
        a_second = self.cases / max(self.lasting_s, 1e-9)
        read = self.read / max(self.cases, 1)
        return f"{self.name:<28}{self.cases:>10}{a_second:>10.0f}{read:>8.0%}{len(self.failures):>10}"


def feed(parser: Parser, seconds: float, seed: int, most: int | None = None) -> Fed:
    """Feed one parser for a time, or with so many cases."""
    fed, began = Fed(parser.name), time.monotonic()
    for number, case in enumerate(islice(parser.cases(seed), most)):
        try:
            _words_or_result(parser, case, fed)
        except Exception as error:  # whatever comes out is what is looked for
            where = traceback.extract_tb(error.__traceback__)[-1]
            kind = f"{type(error).__name__} at {Path(where.filename).name}:{where.lineno}"
            fed.failures.setdefault(kind, f"seed {seed}, case {number}: {error!s:.200}: {case!r:.300}")
        fed.cases += 1
        if not number % 16 and time.monotonic() - began > seconds:
            break
    fed.lasting_s = time.monotonic() - began
    return fed


def _words_or_result(parser: Parser, case: object, fed: Fed) -> None:
    try:
        parser.feed(case)
        fed.read += 1
    except parser.refuses as refused:
        words = str(refused)
        if not 0 < len(words) < LONGEST_WORDS:
            raise Surprise(f"refused in {len(words)} characters") from refused


def _message(topic: str, payload: bytes, hints: FieldHints | None = None) -> None:
    """A message on its way in; whatever is kept of it has a finite value and a time that can be."""
    came = arrival(decode(topic, payload, hints), Passage(topic, NOW_MS, payload=payload))
    for sample in came.samples:
        if not math.isfinite(sample.value) or not EARLIEST_MS <= sample.taken_ms <= NOW_MS + AHEAD_MS:
            raise Surprise(f"kept {sample}")
        sample.field.encode()


def _pointed(case: bytes) -> None:
    """A pointer of a person's, before the first line's end, into the JSON behind it; one is said in 100 characters."""
    pointer, _, payload = case.partition(b"\n")
    hints = FieldHints({pointer.decode(errors="replace")[:100]: FieldHint("temperature", "Cel")}, "/made", "s")
    _message("cellar/x", payload, hints)


def _within(parse: Callable[[str], float], lowest: float, highest: float) -> Feed:
    def checked(text: str) -> None:
        found = parse(text)
        if not lowest <= found <= highest:
            raise Surprise(f"read {found}")

    return checked


def _day(text: str) -> None:
    if not 1990 <= parse_day(text, HABITS).year <= NOW_AT.year + 10:
        raise Surprise(f"read {parse_day(text, HABITS)}")


def _table(text: str) -> None:
    found_in(read_table(text, HABITS, KNOWN), HABITS, KNOWN)


def _log(folder: Path) -> Feed:
    """An old log: guessed at, then read to its end by a form that a person confirmed."""

    def read(data: bytes) -> None:
        guess(data)
        path = folder / "log.csv"
        path.write_bytes(data)
        for batch in batches(path, FORM, NOW_MS):
            for one in batch.arrivals:
                if isinstance(one, Arrival) and not all(0 < s.taken_ms <= NOW_MS + AHEAD_MS for s in one.samples):
                    raise Surprise(f"kept {one.samples}")

    return read


def _form(folder: Path) -> Feed:
    def read(data: bytes) -> None:
        form_path(folder / "log.csv").write_bytes(data)
        read_form(folder / "log.csv")

    return read


def _photo(data: bytes) -> None:
    """In this process, as its child reads it: what the child would die of comes out here."""
    from dashboard.wheels.photo_child import answer

    head, photo, small = answer(data)
    if bool(photo) != bool(small) or (not photo and not head["reason"]):
        raise Surprise(f"answered {head}")


def _passkey(text: str) -> None:
    passkey_answers.user_of(passkey_answers.read(text))


def parsers(folder: Path) -> list[Parser]:
    """All of them; files that they read lie in a folder."""
    from PIL import Image
    from pillow_heif import register_heif_opener

    from dashboard.wheels.photo_child import MAX_PIXELS

    register_heif_opener()
    Image.MAX_IMAGE_PIXELS = MAX_PIXELS
    pack, packed = (encode_senml(RECORDS, base_name="c/", base_time_s=TIME_S, cbor=cbor) for cbor in (False, True))
    nested = cbor2.dumps([{0: "a", 2: 1.5, 6: -3}, {0: "b", 3: "x", 8: b"y"}, {-2: "c/", -3: TIME_S, 0: "t", 2: 2**70}])
    plain = json.dumps({"temperature": 12.3, "air": {"rh": [86, "87 %"]}, "ts": TIME_S, "made": TIME_S}).encode()
    log = b"t;v\n31.01.2026 23:59;11,5\n01.02.2026 00:09;11,6;\n2026-02-01T00:19Z;x\n"
    form = json.dumps(asdict(FORM)).encode()
    photos = [a_jpeg(a_picture(64, 48)), a_png(), a_heic()]
    days = ["2025-12-03", "3 Feb", "Feb 3, 2025", "3rd of February", "24-07", "3/2/25", "last Tuesday", "3 days ago"]
    lines = ["24-07B tomme 2.1kg upper cellar 3 Feb", "12 washed 3 lb 2 oz lidded box", "x 2025-01-03 waxed 4x"]
    table = ["code\tmade\tweight\n24-07\t2025-01-03\t2.1 kg\n24-08\t2025-01-04\t1,9 kg", 'a;b;c\n"1;2";3;4\n5;6;7']
    answers = [json.dumps({"id": "YQ", "rawId": "YQ", "type": "public-key", "response": {"userHandle": "MDE5OQ"}})]
    topic = "rindwatch/hostile/readings"
    rejected = (ReadingRejected,)
    return [
        Parser("SenML in JSON", lambda s: bent_bytes([pack], s), lambda data: _message(topic, data), rejected),
        Parser("SenML in CBOR", lambda s: bent_bytes([packed, nested], s),
               lambda data: _message(topic, data), rejected),
        Parser("plain JSON and numbers", lambda s: bent_bytes([plain, b"12.5", b"-3,1 C"], s),
               lambda data: _message("cellar/temperature", data), rejected),
        Parser("JSON pointers", lambda s: bent_bytes([b"/air/rh/0\n" + plain, b"/temperature\n" + plain], s), _pointed,
               (ReadingRejected, ValueError)),
        Parser("old logs (CSV)", lambda s: bent_bytes([log], s), _log(folder)),
        Parser("descriptions of a log", lambda s: bent_bytes([form], s), _form(folder)),
        Parser("weights", lambda s: bent_texts(["7 lb 2 oz", "3,2 kg", "2 1/2 oz", "1.234,5 g"], s),
               _within(parse_weight_g, 0, 200_000)),
        Parser("temperatures", lambda s: bent_texts(["54F", "12,5 °C", "-3"], s),
               _within(parse_temperature_c, -30, 130)),
        Parser("spans of time", lambda s: bent_texts(["2 h 10 min", "1:30", "90"], s),
               _within(parse_minutes, 0, 20_000)),
        Parser("days", lambda s: bent_texts(days, s), _day),
        Parser("moments", lambda s: bent_texts([f"{day} 14:10" for day in days] + ["noon", "this morning"], s),
               lambda text: parse_moment(text, HABITS, NOW_AT)),
        Parser("wheels in lines", lambda s: bent_texts(lines, s), lambda text: read_lines(text, HABITS, KNOWN)),
        Parser("wheels in a table", lambda s: bent_texts(table, s), _table),
        Parser("answers of passkeys", lambda s: bent_texts(answers, s), _passkey),
        Parser("photos", lambda s: bent_bytes(photos, s), _photo),
    ]  # fmt: skip


def feed_all(seconds: float, seed: int = 20261126, most: int | None = None) -> int:
    """Feed each for its share of the time and print a table; returns how many kinds of failure there were."""
    print(f"{'parser':<28}{'cases':>10}{'a second':>10}{'read':>8}{'failures':>10}")
    failures = 0
    with TemporaryDirectory(prefix="rindwatch-parsers-") as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # of a photo's remarks, which are left out anyway
        warnings.simplefilter("error", DecompressionBombWarning)
        found = parsers(Path(folder))
        for parser in found:
            fed = feed(parser, seconds / len(found), seed, most)
            failures += len(fed.failures)
            print(fed.said(), flush=True)
            for kind, first in fed.failures.items():
                print(f"    {kind}; {first}", flush=True)
    return failures
