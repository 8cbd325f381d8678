"""The whole chain, `rindwatch serve`, beside a neighbour who crowds both its broker and its pages."""

import re
from pathlib import Path

import pytest
import yaml

from tests.composed_broker import CONTAINER
from tests.hostile.crowded import crowd_in, serving

MANY = 400  # more than an embedded broker lets wait, and than pages take
LASTING_S = 2.0
COMPOSE = Path(__file__).parent.parent.parent / "compose.yaml"


@pytest.mark.parametrize("kind", ["embedded", "mosquitto"])
def test_a_crowd_costs_no_reading_and_keeps_no_probe_out(tmp_path: Path, kind: str) -> None:
    with serving(tmp_path, kind) as house:
        found = crowd_in(house, MANY, LASTING_S)
    assert found.lost == 0, found.said()
    assert found.came_in_through_it, found.said()


def test_the_composed_broker_has_a_file_for_each_place_that_it_gives() -> None:
    places = re.findall(r"^max_connections (\d+)", (CONTAINER / "mosquitto.conf").read_text(), re.MULTILINE)
    files = yaml.safe_load(COMPOSE.read_text())["services"]["broker"]["ulimits"]["nofile"]
    assert len(places) == 2
    assert files > sum(map(int, places)) + 100  # its own: listeners, log, database
