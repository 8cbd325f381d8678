"""Short codes for labels."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.records.columns import new_id
from dashboard.wheels.codes import SIGNS, read_short_code, short_code, spoken


def test_the_signs_are_crockfords() -> None:
    # D. Crockford, "Base 32": the digits and the letters without I, L, O and U; from memory.
    assert len(set(SIGNS)) == 32
    assert not set("ILOU") & set(SIGNS)


@given(st.uuids(), st.integers(0, 1_000))
def test_a_code_can_be_typed_back_however_it_is_written(subject: object, attempt: int) -> None:
    code = short_code(str(subject), attempt)
    assert read_short_code(code) == code
    assert read_short_code(f" {spoken(code).lower()} ") == code
    assert read_short_code(code.replace("0", "o").replace("1", "l")) == code


def test_the_same_id_gives_the_same_code_and_each_attempt_another() -> None:
    subject = new_id()
    assert short_code(subject) == short_code(subject)
    assert len({short_code(subject, attempt) for attempt in range(2_000)}) == 2_000


def test_codes_of_one_moment_differ() -> None:
    assert len({short_code(new_id(1_700_000_000_000)) for _ in range(500)}) == 500


@pytest.mark.parametrize("text", ["", "7K3F9", "7K3F9QA", "7K3-F9U", "24-07B", "é" * 6])
def test_anything_else_is_no_short_code(text: str) -> None:
    assert read_short_code(text) is None


def test_an_id_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="badly formed"):
        short_code("wheel 14")
