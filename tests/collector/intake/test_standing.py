"""What the embedded broker remembers of what the collector listens to."""

from pathlib import Path

import pytest

from collector.errors import BrokerUnavailable
from collector.intake.address import OWN_TOPICS, BrokerAddress
from collector.intake.standing import Standing, remember, remembered
from tests.brokers import free_port


def test_what_was_written_down_is_remembered(tmp_path: Path) -> None:
    path = tmp_path / "cache" / "listens-to.json"
    remember(path, (OWN_TOPICS, "shed/+/air"))
    assert remembered(path) == [OWN_TOPICS, "shed/+/air"]
    assert [one.name for one in path.parent.iterdir()] == [path.name]


@pytest.mark.parametrize("damaged", ["", "{", "[]", '[""]', "[1]", '{"a": 1}', '"rindwatch/#"'])
def test_of_a_damaged_file_our_own_topics_are_left(tmp_path: Path, damaged: str) -> None:
    path = tmp_path / "listens-to.json"
    path.write_text(damaged)
    assert remembered(path) == [OWN_TOPICS]


def test_before_the_first_start_it_is_our_own_topics(tmp_path: Path) -> None:
    assert remembered(tmp_path / "nothing.json") == [OWN_TOPICS]


def test_a_broker_that_does_not_answer_is_named() -> None:
    address = BrokerAddress("127.0.0.1", free_port(), "collector", None)
    with pytest.raises(BrokerUnavailable, match=str(address.port)):
        Standing(address, [OWN_TOPICS]).take(patience_s=0.2)
