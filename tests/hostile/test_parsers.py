"""Whatever is typed, pasted or uploaded is read or refused in words; nothing else ever comes out of a parser.

Days, weights, pasted wheels, photos and payloads have such tests beside them; these are the ones that lacked it.
"""

import json
import re
from collections.abc import Callable
from dataclasses import asdict
from math import isfinite
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from collector.errors import EntryRefused
from collector.importing.csv_file import batches, form_path, read_form
from collector.importing.csv_form import MOST_COLUMNS, ORDERS, LogForm, ValueColumn
from collector.intake.payloads import FieldHint, FieldHints, decode
from collector.readings.model import Arrival
from collector.records.columns import to_ms
from dashboard.household import Household, is_zone
from dashboard.links_to import probe, probe_of
from dashboard.moments_typed import moment_typed
from dashboard.pages.settings import read_household
from dashboard.paths import own_path
from dashboard.people.everybody import given as access_given
from dashboard.places import target_form
from dashboard.typed_readings import read as typed_reading
from tests.dashboard.conftest import NOW_AT

HOUSEHOLD = Household(time_zone="Europe/Zurich")
ODD = st.text(st.characters() | st.sampled_from(list("0123456789-+.,/:eE%°½ \0\n\t=<>'\"~[]{}")), max_size=40)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("ab/~01-", max_size=3), inner, max_size=4),
    max_leaves=12,
)
POINTER = st.text("/~01ab-\0 9", max_size=12).map(lambda text: "/" + text)


def form_of(*names: str) -> st.SearchStrategy[dict[str, str]]:
    return st.fixed_dictionaries({}, optional=dict.fromkeys(names, ODD))


FORMS: dict[str, tuple[st.SearchStrategy[dict[str, str]], Callable[[dict[str, str]], object]]] = {
    "target": (
        form_of("use", "since", "since_at", "temperature_low_c", "temperature_high_c", "humidity_low_pct",
                "humidity_high_pct", "grace", "preset"),
        lambda texts: target_form.read(texts, "p", HOUSEHOLD, NOW_AT, "Keeper"),
    ),
    "typed reading": (
        form_of("id", "place", "instrument", "temperature", "humidity", "below_zero", "at"),
        lambda texts: typed_reading(texts, HOUSEHOLD, NOW_AT),
    ),
    "access": (form_of("role", "from", "to"), lambda texts: access_given({"role": "guest"} | texts, HOUSEHOLD, NOW_AT)),
    "household": (form_of("time_zone", "base_address", "dairy_name"), read_household),
    "moment": (form_of("at"), lambda texts: moment_typed(texts.get("at", ""), HOUSEHOLD, NOW_AT, "at", ahead=True)),
}  # fmt: skip


@pytest.mark.parametrize("name", FORMS)
def test_whatever_is_typed_into_a_form_is_read_or_refused(name: str) -> None:
    typed, read = FORMS[name]

    @settings(max_examples=150, deadline=None)
    @given(typed)
    @example({"since": "on", "since_at": "0001-01-01T00:00", "at": "9999-12-31T23:59", "from": "9999-12-31"})
    @example(
        {"temperature": "1e999", "humidity": "nan", "instrument": "dial", "temperature_low_c": "inf", "grace": "1e999"}
    )
    @example({"time_zone": "../../etc/passwd", "base_address": "http://[::1", "to": "9999-12-31"})
    def each(texts: dict[str, str]) -> None:
        reason = "read"
        try:
            found = read(texts)
        except EntryRefused as refused:
            found, reason = texts, str(refused)
        assert found is not None
        assert 0 < len(reason) < 400

    each()


# RFC 6901, section 3: a pointer is slashes with tokens between, in which ~ stands only before 0 or 1.
IS_POINTER = re.compile(r"(/([^~]|~[01])*)*", re.DOTALL)
SAID_OF_A_FIELD = re.compile(
    r"must be a (finite )?number( of s)?, got .+|time must lie in the years .+|and \d+ more"
    r"|a message must hold at most .+"
)


@settings(max_examples=200, deadline=None)
@given(POINTER, POINTER, JSON)
@example("/~", "/a/~2", {"~": 1})
@example("/a/99999999999999999999", "/-", {"a": [1, 2]})
def test_any_pointer_into_any_json_is_followed_or_refused(pointer: str, time_pointer: str, said: object) -> None:
    wrong = [one for one in (pointer, time_pointer) if not IS_POINTER.fullmatch(one)]
    if wrong:
        with pytest.raises(ValueError, match="is no JSON Pointer: Found invalid escape") as refused:
            FieldHints({pointer: FieldHint("temperature", "Cel")}, time_pointer, "s")
        assert str(refused.value).startswith(repr(wrong[0]))
        return
    hints = FieldHints({pointer: FieldHint("temperature", "Cel")}, time_pointer, "s")
    found = decode("cellar/x", json.dumps({"in": said, "a": said}).encode(), hints)
    assert found.format == "json_object"
    assert all(isfinite(reading.value) for reading in found.readings)
    assert [reason for _field, reason in found.refused if not SAID_OF_A_FIELD.fullmatch(reason)] == []
    assert found.readings or found.refused, "a pointer that leads nowhere is told"


FORM = LogForm(
    encoding="utf-8", delimiter=";", decimal=",", skip=1, time_columns=(0,), order="dmy", zone="Europe/Zurich",
    winter_all_year=False, columns=(ValueColumn(1, "temperature", "temperature", "Cel"),), probe="old", topic="old",
)  # fmt: skip


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300) | st.text('0123456789;.:, \n"\0E-', max_size=300).map(str.encode))
@example(b'"' + b"x" * 200_000)
@example(b"t;v\n31.02.2026 25:61;1e999\n01.01.1970 00:00;1\n01.01.2100 00:00;1\n")
def test_any_file_of_old_readings_is_read_to_its_end(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(data)
    now_ms = to_ms(NOW_AT)
    for batch in batches(path, FORM, now_ms):
        for arrival in batch.arrivals:
            if isinstance(arrival, Arrival):
                assert all(0 < sample.taken_ms <= now_ms + 600_000 for sample in arrival.samples)


WORDS_OF_A_FORM = re.compile(
    r"The description of the log cannot be read: (ValidationError|ValueError|LookupError|OSError"
    r"|IsADirectoryError|ZoneInfoNotFoundError|UnicodeError)\."
    r"|The log's date order, decimal sign or separator is none of the possible ones\."
    r"|A log needs a column of times, a column of values and a probe\."
    r"|.* cannot be .* in .*\.|A column's number must be 0 to \d+\.",
    re.DOTALL,
)
# A good description with some of it bent; one that is bent all over would always be refused for its first word.
BENT_FORM = st.fixed_dictionaries({}, optional=dict.fromkeys(asdict(FORM), JSON)).map(
    lambda bent: json.dumps(asdict(FORM) | bent).encode()
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(BENT_FORM | JSON.map(lambda found: json.dumps(found).encode()) | st.binary(max_size=60))
@example(json.dumps(asdict(FORM)).encode())
@example(json.dumps(asdict(FORM) | {"zone": "../../etc/passwd"}).encode())
@example(json.dumps(asdict(FORM) | {"encoding": "punycode\0"}).encode())
@example(b"[" * 50_000)
def test_any_description_of_a_log_is_read_or_refused_for_a_reason(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "log.csv"
    form_path(path).write_bytes(data)
    try:
        found = read_form(path)
    except EntryRefused as refused:
        found = str(refused)
    if isinstance(found, str):
        assert WORDS_OF_A_FORM.fullmatch(found)
    else:
        assert found.order in ORDERS
        assert is_zone(found.zone)
        assert all(0 <= column.number < MOST_COLUMNS for column in found.columns)
        assert len(found.delimiter) == 1


@settings(max_examples=200, deadline=None)
@given(st.text(min_size=1, max_size=60).filter(lambda text: text.isprintable()))
def test_every_probe_has_an_address_of_its_own_in_this_house(name: str) -> None:
    from urllib.parse import unquote

    address = probe(name)
    assert own_path(address) == address
    assert probe_of(unquote(address.removeprefix("/probes/"))) == name
