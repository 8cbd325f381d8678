"""What a probe finds wrong with itself, in words for the page."""

import json

import pytest

from collector.readings.model import ProbeSeen
from dashboard.probes.shown import _says


@pytest.mark.parametrize(
    ("facts", "lines"),
    [
        ({}, ()),
        ({"fault": None, "refused": 0, "dropped": 0}, ()),
        ({"fault": "sht: no answer"}, ("It says: sht: no answer",)),
        ({"refused": 3, "dropped": 9}, ("3 values were not sent, since they cannot be",
                                        "9 readings were lost, since its memory was full")),
    ],
)  # fmt: skip
def test_only_what_is_wrong_is_said(facts: dict[str, object], lines: tuple[str, ...]) -> None:
    assert _says(ProbeSeen("p", "t", 0, 0, 1, "online", 0, None, json.dumps(facts))) == lines
