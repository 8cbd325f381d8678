"""What a notebook opens: a wheel by its code, with everything that was learnt."""

import numpy as np
import pytest
from sqlalchemy import Engine

from collector.settings import Settings
from dashboard.weights.notebook import open_wheel
from dashboard.wheels.weight.forecast import foretold
from dashboard.wheels.weight.to_come import Doubt, steady
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.weights.aged import Aged


def test_a_wheel_opens_by_its_code(settings: Settings, engine: Engine, wheels_aged: Aged) -> None:
    wheel = open_wheel(settings.data, "26-01A", NOW_AT)
    assert wheel is not None
    assert 1e-10 < wheel.fit.k < 1e-7
    ahead = wheel.past.then(steady(12.0, 87.0, Doubt(2.0), (int(wheel.past.edges_ms[-1]), wheel.due_ms)))
    mass = foretold(wheel.fit, ahead, np.array([wheel.due_ms])).middle_g[0]
    assert 1800 < mass < 2386
    with pytest.raises(LookupError, match="no wheel 'nothing'"):
        open_wheel(settings.data, "nothing", NOW_AT)
