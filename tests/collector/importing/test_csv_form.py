"""Old logs: times through the change of clocks, numbers, gaps, and what cannot be read."""

from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.errors import EntryRefused
from collector.importing.csv_form import Clock, LogForm, ValueColumn, form_from, number_of, row_reader
from collector.instants import to_ms

COLUMNS = (ValueColumn(1, "humidity", "humidity", "%RH"),)
FORM = LogForm("utf-8-sig", ";", ".", 1, (0,), "dmy", "Europe/Berlin", False, COLUMNS, "old-1", "old-1/log")
NOW_MS = to_ms(datetime(2026, 3, 12, tzinfo=UTC))


def taken(text: str, **changes: object) -> datetime | None:
    found = Clock(replace(FORM, **changes)).ms(text)  # type: ignore[arg-type]
    return None if found is None else datetime.fromtimestamp(found / 1000, UTC)


# The rules of the tz database for Europe/Berlin: UTC+1, in summer UTC+2; clocks change at 01:00 UTC.
@pytest.mark.parametrize(("text", "changes", "utc"), [
    ("03.02.2025 08:15", {}, "2025-02-03T07:15"),
    ("03/02/25 8:15:30", {"order": "mdy"}, "2025-03-02T07:15:30"),
    ("2025-07-03T08:15", {"order": "ymd"}, "2025-07-03T06:15"),
    ("2025-07-03T08:15:00+05:30", {"order": "ymd"}, "2025-07-03T02:45"),
    ("2025-07-03 08:15Z", {"order": "ymd"}, "2025-07-03T08:15"),
    ("03.07.2025 08:15", {"winter_all_year": True}, "2025-07-03T07:15"),
    ("07/03/2025 12:05 AM", {"order": "mdy", "zone": "UTC"}, "2025-07-03T00:05"),
    ("07/03/2025 1:05 p.m.", {"order": "mdy", "zone": "UTC"}, "2025-07-03T13:05"),
    ("1751530500", {"order": "unix_s"}, "2025-07-03T08:15"),
    ("1751530500000", {"order": "unix_ms"}, "2025-07-03T08:15"),
    ("30.03.2025 02:30", {}, "2025-03-30T01:30"),
])  # fmt: skip
def test_a_time_is_read_in_its_zone(text: str, changes: dict[str, object], utc: str) -> None:
    assert taken(text, **changes) == datetime.fromisoformat(utc).replace(tzinfo=UTC)


def test_the_hour_that_autumn_has_twice_goes_on_in_order() -> None:
    clock = Clock(FORM)
    texts = ["26.10.2025 01:30", "26.10.2025 02:00", "26.10.2025 02:30", "26.10.2025 02:00", "26.10.2025 02:30",
             "26.10.2025 03:00"]  # fmt: skip
    found = [clock.ms(text) for text in texts]
    steps = [b - a for a, b in pairwise(found) if a is not None and b is not None]
    assert steps == [30 * 60_000] * 5


@pytest.mark.parametrize(
    "text", ["", "31.02.2025 08:00", "45.13.2025", "noon", "03.02.2025 25:00", "13/03/2025 13:00 pm"]
)
def test_what_is_no_time_is_none(text: str) -> None:
    assert taken(text) is None


@pytest.mark.parametrize(("text", "decimal", "value"), [
    ("12.5", ".", 12.5), ("12,5", ",", 12.5), ("88 %", ".", 88), ("11,3 °C", ",", 11.3), ("−4", ".", -4),
    ("1e2", ".", 100), ("", ".", None), ("ERROR", ".", None), ("1,234.5", ".", None), ("12:30", ".", None),
])  # fmt: skip
def test_a_number_is_read_with_its_unit_behind(text: str, decimal: str, value: float | None) -> None:
    assert number_of(text, decimal) == value


@pytest.mark.parametrize("text", ["ERROR", "NAN", "-200", "-999", "", "---", "n/a", "-999.0", "inf"])
def test_a_fault_is_a_gap_and_no_complaint(text: str) -> None:
    row = row_reader(FORM, NOW_MS)(["03.02.2025 08:15", text])
    assert row.samples == ()
    assert row.refused == ""


@pytest.mark.parametrize(("cells", "why"), [
    (["03.02.2025 08:15", "dry"], "not a number"),
    (["soon", "88"], "time cannot be read"),
    (["03.02.2031 08:15", "88"], "in the future"),
    (["03.02.1999 08:15", "88"], "before 2000"),
])  # fmt: skip
def test_what_cannot_be_taken_says_why(cells: list[str], why: str) -> None:
    row = row_reader(FORM, NOW_MS)(cells)
    assert row.samples == ()
    assert why in row.refused


@given(st.lists(st.text(max_size=40), max_size=6))
def test_no_row_stops_the_reading(cells: list[str]) -> None:
    for decimal in ".,":
        for order in ("ymd", "dmy", "mdy", "unix_s", "unix_ms"):
            row = row_reader(replace(FORM, decimal=decimal, order=order), NOW_MS)(cells)
            assert all(0 < sample.taken_ms <= NOW_MS + 600_000 for sample in row.samples)


@given(st.datetimes(datetime(2001, 1, 1), datetime(2026, 1, 1)))  # noqa: DTZ001 UTC is given below
def test_a_time_in_utc_comes_back_as_it_was(at: datetime) -> None:
    at = at.replace(microsecond=0)
    assert taken(f"{at:%d.%m.%Y %H:%M:%S}", zone="UTC") == at.replace(tzinfo=UTC)


@pytest.mark.parametrize("found", [{}, {"columns": []}, {"columns": [{"number": 1}]}])
def test_a_description_that_is_none_is_refused(found: dict[str, object]) -> None:
    with pytest.raises(EntryRefused, match="description"):
        form_from(found)
