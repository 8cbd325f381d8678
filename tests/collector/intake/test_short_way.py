"""The collector's way past the embedded broker's door."""

from pathlib import Path

import pytest

from collector.intake.short_way import NAME, forget_short_way, keep_short_way, short_way
from collector.settings import Settings


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path, mqtt_port=1883)


def test_the_brokers_own_port_is_taken_as_long_as_that_broker_stands(settings: Settings) -> None:
    assert short_way(settings) == 1883
    keep_short_way(settings, 20_123)
    assert short_way(settings) == 20_123
    forget_short_way(settings)
    forget_short_way(settings)
    assert short_way(settings) == 1883


def test_of_a_damaged_file_the_public_port_is_left(settings: Settings) -> None:
    keep_short_way(settings, 20_123)
    (settings.data / "cache" / NAME).write_text("2O123")
    assert short_way(settings) == 1883
