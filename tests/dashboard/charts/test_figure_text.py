"""A figure may stand inside a page, whatever its names are."""

import json

import pytest

from dashboard.charts.figure_text import figure_json

NASTY = "</script><script>alert(1)</script>&<!-- \u2028"


def test_nothing_in_a_figure_can_end_its_tag() -> None:
    text = figure_json({"data": [{"name": NASTY}]})
    assert not set("<>&\u2028") & set(text)
    assert json.loads(text)["data"][0]["name"] == NASTY


def test_refuses_a_number_that_json_cannot_say() -> None:
    with pytest.raises(ValueError, match="JSON"):
        figure_json({"data": [{"y": [float("nan")]}]})
