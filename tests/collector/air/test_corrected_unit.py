"""A unit that a person corrected holds from its date on, against what was guessed when the message came."""

from datetime import UTC, datetime

import numpy as np
import pytest

from collector.air.channel import calibrated, pieces
from collector.readings.model import Channel
from collector.records.columns import to_ms
from collector.records.facts import Facts, FieldSetting

FROM_AT = datetime(2026, 3, 2, tzinfo=UTC)
FROM_MS = to_ms(FROM_AT)
HOUR_MS = 3_600_000
CHANNEL = Channel(1, "zig/cave", "/temperature", "temperature", "Cel", FROM_MS)


def corrected(quantity: str | None, unit: str) -> Facts:
    setting = FieldSetting("1", FROM_AT, FROM_AT, "zig/cave", "/temperature", quantity, unit)
    return Facts(field_settings={("zig/cave", "/temperature"): [setting]})


# 54 F is 12.2 C by NIST SP 811 (2008), B.8: t/F = 1.8 t/C + 32.
def test_a_number_taken_for_celsius_was_fahrenheit_all_along() -> None:
    held = pieces(CHANNEL, corrected(None, "degF"), FROM_MS - HOUR_MS, FROM_MS + HOUR_MS)
    before, after = (calibrated(np.array([54.0]), "Cel", piece)[0] for piece in held)
    assert (before, after) == (54.0, pytest.approx(12.222, abs=0.001))


def test_without_a_correction_the_message_has_the_word() -> None:
    held = pieces(CHANNEL, Facts(), FROM_MS, FROM_MS + HOUR_MS)
    assert calibrated(np.array([54.0]), "degF", held[0])[0] == pytest.approx(12.222, abs=0.001)


def test_a_quantity_alone_leaves_a_fitting_unit_alone() -> None:
    held = pieces(CHANNEL, corrected("surface_temperature", ""), FROM_MS, FROM_MS + HOUR_MS)
    assert calibrated(np.array([54.0]), "degF", held[0])[0] == pytest.approx(12.222, abs=0.001)
    assert held[0].is_surface
