"""The settings page says how old the newest copy is, and where it lies."""

from datetime import timedelta

import pytest

from collector.clock import ManualClock
from collector.records.life import sign


@pytest.mark.parametrize(("other_disk", "words"), [(True, "on another disk was made"), (False, "on the same disk")])
def test_a_copy_is_shown_with_its_age(owner, engine, clock: ManualClock, other_disk: bool, words: str) -> None:  # type: ignore[no-untyped-def]
    sign(engine, "copy", clock.now() - timedelta(days=3), {"other_disk": other_disk})
    page = owner.get("/settings").text
    assert words in page
    assert "3 days ago" in page


def test_no_copy_is_told(owner) -> None:  # type: ignore[no-untyped-def]
    assert "No copy is kept outside this machine" in owner.get("/settings").text
