"""Ids from a form's seed: always of version 7, the same for the same, others for others."""

import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.records.columns import new_id
from dashboard.rounds.seeded import seeded_id

# The example of RFC 9562, appendix A.6: made at 2022-02-22T19:22:22 UTC.
RFC_EXAMPLE = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@given(st.lists(st.text(max_size=30), max_size=4))
def test_it_is_a_uuid_of_version_7_with_the_seeds_time(parts: list[str]) -> None:
    made = uuid.UUID(seeded_id(RFC_EXAMPLE, *parts))
    assert (made.version, made.variant) == (7, uuid.RFC_4122)
    assert made.int >> 80 == 0x017F22E279B0
    assert seeded_id(RFC_EXAMPLE, *parts) == str(made)


@given(st.lists(st.text(max_size=10), min_size=1, max_size=3), st.lists(st.text(max_size=10), min_size=1, max_size=3))
def test_other_parts_or_another_seed_make_another_id(one: list[str], other: list[str]) -> None:
    if "\0".join(one) != "\0".join(other):
        assert seeded_id(RFC_EXAMPLE, *one) != seeded_id(RFC_EXAMPLE, *other)
    assert seeded_id(RFC_EXAMPLE, *one) != seeded_id(new_id(), *one)


@pytest.mark.parametrize("seed", ["", "12", "919108f7-52d1-4320-9bac-f847db4148a8"])
def test_a_seed_that_is_no_uuid_of_version_7_is_refused(seed: str) -> None:
    with pytest.raises(ValueError, match="UUID"):
        seeded_id(seed)
