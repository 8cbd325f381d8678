"""A house whose follower copies to the stand-in."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.following import House, a_house, follower_settings
from tests.influx_stand_in import InfluxStandIn


@pytest.fixture
def stand_in() -> Iterator[InfluxStandIn]:
    with InfluxStandIn().running() as stand_in:
        stand_in.make_bucket("caves")
        yield stand_in


@pytest.fixture
def house(tmp_path: Path, stand_in: InfluxStandIn) -> Iterator[House]:
    with a_house(tmp_path, follower_settings(tmp_path, stand_in.url, "caves")) as house:
        yield house
