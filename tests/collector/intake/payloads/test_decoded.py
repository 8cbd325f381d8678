"""The values that decoding hands on."""

import pytest

from collector.intake.payloads import UNTIMED, FieldHint, FieldHints, WireTime


def test_a_time_is_absolute_or_relative_or_none():
    assert WireTime.absolute(5).absolute_ms == 5
    assert WireTime.relative(-5).relative_ms == -5
    assert WireTime() == UNTIMED
    with pytest.raises(ValueError, match="got both"):
        WireTime(absolute_ms=1, relative_ms=1)


def test_a_hint_must_be_possible():
    with pytest.raises(ValueError, match=r"quantity must be one of .*, got joy"):
        FieldHint(quantity="joy")
    with pytest.raises(ValueError, match="unit 'kg' is not one of humidity"):
        FieldHint(quantity="humidity", unit="kg")


@pytest.mark.parametrize("pointer", ["/a~2b", "/~"])
def test_a_pointer_must_be_one(pointer):  # RFC 6901 section 3: ~ is followed by 0 or 1
    with pytest.raises(ValueError, match="is no JSON Pointer"):
        FieldHints(fields={pointer: FieldHint()})
    with pytest.raises(ValueError, match="is no JSON Pointer"):
        FieldHints(time_pointer=pointer)


@pytest.mark.parametrize("pointer", ["", "time"])
def test_a_time_pointer_points_at_a_field(pointer):
    with pytest.raises(ValueError, match="must start with /"):
        FieldHints(time_pointer=pointer)
