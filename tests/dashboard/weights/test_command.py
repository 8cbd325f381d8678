"""`rindwatch weight`: the same words as on the page, in lines."""

import pytest
from sqlalchemy import Engine

from collector.settings import Settings
from dashboard.weights.command import NoSuchCovering, NoSuchWheel, keep_now, say
from tests.dashboard.weights.aged import Aged


def test_it_says_what_the_page_says(settings: Settings, engine: Engine, wheels_aged: Aged) -> None:
    lines = say(settings, "26-01A").splitlines()
    assert "it will have lost about" in lines[0] or "move it" in lines[0]
    assert any(line.startswith("Under barrier bag: ") for line in lines)
    assert lines[-1] == "Forecasts so far: No forecast has come due yet."


def test_it_refuses_what_is_not_there(settings: Settings, engine: Engine, wheels_aged: Aged) -> None:
    with pytest.raises(NoSuchWheel, match="no wheel 'X' in the book"):
        say(settings, "X")
    with pytest.raises(NoSuchCovering, match="got 'silk'"):
        say(settings, "26-01A", under="silk")


def test_it_keeps_all_that_wait(settings: Settings, engine: Engine, wheels_aged: Aged) -> None:
    assert keep_now(settings) == "4 foretold, 0 compared with what came."
