"""Status messages; the form is our own contract."""

import json

import pytest

from collector.errors import ReadingRejected
from collector.intake.payloads import ProbeStatus, decode

TOPIC = "rindwatch/cellar-1/status"


def test_a_full_status_is_understood():
    said = {"state": "online", "version": "1.2.0", "uptime_s": 86400, "boot": "5f3a", "signal_dbm": -61}
    decoded = decode(TOPIC, json.dumps(said | {"battery_pct": 87, "battery_v": 3.92}).encode())
    assert (decoded.probe, decoded.format, decoded.boot) == ("cellar-1", "status", "5f3a")
    assert decoded.status == ProbeStatus("online", "1.2.0", 86400.0, "5f3a")
    assert [(r.field, r.value, r.unit, r.quantity) for r in decoded.readings] == [
        ("uptime", 86400.0, "s", "uptime"),
        ("signal", -61.0, "dBm", "signal"),
        ("battery", 87.0, "%EL", "battery"),
        ("battery_voltage", 3.92, "V", "battery_voltage"),
    ]


def test_a_last_will_needs_only_its_state():
    decoded = decode(TOPIC, b'{"state":"offline"}')
    assert decoded.status == ProbeStatus("offline")
    assert decoded.readings == decoded.refused == ()


def test_a_wrong_detail_costs_only_itself():
    decoded = decode(TOPIC, b'{"state":"online","version":5,"uptime_s":"long","boot":"\\u0000"}')
    assert decoded.status == ProbeStatus("online")
    assert {field for field, _ in decoded.refused} == {"uptime_s", "version", "boot"}
    assert decoded.refused[0][1] == "must be a number, got text 'long'"


def test_a_probe_that_reports_on_change_says_how_long_it_may_be_silent():
    assert decode(TOPIC, b'{"state":"online","at_latest_every_s":900}').status.at_latest_every_s == 900.0


@pytest.mark.parametrize(("said", "reason"), [("0", "must be 1 to 604800 seconds, got 0"), ("604801", "got 604801"),
    ('"often"', "must be a number, got text 'often'"), ("1e999", "must be a finite number")])  # fmt: skip
def test_a_promise_that_cannot_be_meant_is_refused(said, reason):
    decoded = decode(TOPIC, f'{{"state":"online","at_latest_every_s":{said}}}'.encode())
    assert decoded.status == ProbeStatus("online")
    assert decoded.refused[0][0] == "at_latest_every_s"
    assert reason in decoded.refused[0][1]


@pytest.mark.parametrize("payload", [b"online", b"[]", b'{"state":"asleep"}', b'{"state":["online"]}', b"{}", b"5"])
def test_a_status_without_a_state_is_rejected(payload):
    with pytest.raises(ReadingRejected):
        decode(TOPIC, payload)


def test_a_status_elsewhere_is_plain_json():
    assert decode("cellar/status", b'{"state":"online","uptime_s":5}').format == "json_object"
