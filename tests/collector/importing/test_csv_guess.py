"""How an old log is probably written; the files are invented, their forms common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.importing.csv_guess import Guess, guess

GERMAN = "Gerät 12;;\nZeit;Temp (°C);Feuchte rh (%)\n13.02.2025 08:00;11,5;88,2\n13.02.2025 08:10;ERROR;88,0\n"
ENGLISH = "Date,Time,Temp [°F],Humidity [%RH]\n02/13/2025,08:00 AM,52.1,88\n02/13/2025,08:10 AM,-999,NAN\n"
PLAIN = "time,humidity\n2025-02-13 08:00:00,88\n2025-02-13 08:10:00,87.5\n"


def meanings(found: Guess) -> list[tuple[str, str]]:
    return [(column.quantity, column.unit) for column in found.columns]


def test_a_log_with_decimal_comma_and_a_line_before_its_heading() -> None:
    found = guess(GERMAN.encode("cp1252"))
    assert (found.encoding, found.delimiter, found.decimal, found.skip) == ("cp1252", ";", ",", 2)
    assert (found.time_columns, found.order, found.order_is_sure) == ((0,), "dmy", True)
    assert meanings(found) == [("", ""), ("temperature", "Cel"), ("humidity", "%RH")] or meanings(found)[2][1] == "%"


def test_a_log_with_date_and_time_apart_in_fahrenheit() -> None:
    found = guess(ENGLISH.encode())
    assert (found.delimiter, found.decimal, found.skip) == (",", ".", 1)
    assert (found.time_columns, found.order, found.order_is_sure) == ((0, 1), "mdy", True)
    assert meanings(found)[2:] == [("temperature", "degF"), ("humidity", "%RH")]


def test_a_plain_one() -> None:
    found = guess(PLAIN.encode())
    assert (found.delimiter, found.skip, found.order) == (",", 1, "ymd")
    assert found.columns[1].quantity == "humidity"


def test_times_in_seconds_since_1970() -> None:
    found = guess(b"ts,t\n1739433600,11.5\n1739434200,11.6\n")
    assert (found.order, found.time_columns) == ("unix_s", (0,))


def test_a_file_for_spreadsheets_in_two_bytes_a_sign() -> None:
    found = guess(PLAIN.replace(",", "\t").encode("utf-16"))
    assert (found.encoding, found.delimiter) == ("utf-16", "\t")


@pytest.mark.parametrize("order", ["dmy", "mdy"])
def test_dates_that_could_be_either_are_taken_as_told_and_called_unsure(order: str) -> None:
    found = guess(b"date,t\n03/02/2025 08:00,11.5\n", order)
    assert (found.order, found.order_is_sure) == (order, False)


@given(st.binary(max_size=400))
def test_any_bytes_give_a_guess(head: bytes) -> None:
    found = guess(head)
    assert len(found.columns) <= 200


@given(st.lists(st.sampled_from(list(";,\t|\"'\0\n\r09:.-/ AEP%°")), max_size=300).map("".join))
def test_any_mess_of_separators_gives_a_guess(text: str) -> None:
    assert guess(text.encode()).decimal in ".,"
