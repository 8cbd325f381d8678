"""A probe is checked on a phone while its simulated twin lies in a jar and speaks; an old log is handed over."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import Engine

from collector.clock import SystemClock
from collector.readings.model import Arrival, Sample
from collector.readings.store import SqliteReadings
from collector.records.columns import to_ms
from collector.records.engine import open_records
from dashboard.probes import checking
from tests.browser.walking import Served, picture, serious

pytestmark = pytest.mark.browser
PROBE = "jar-probe"
HOUR_MS = 3_600_000


def speak(served: Served, now_ms: int, minutes_ago: range, humidity: float, drift_k: float = 0) -> None:
    """Let the probe say a humidity, and a temperature that moves by so much a minute; said again, the last holds."""
    store = SqliteReadings(served.settings.readings_path)
    for minute in minutes_ago:
        taken_ms = now_ms - minute * 60_000
        samples = (
            Sample("humidity", taken_ms, humidity + minute % 2 * 0.02, "%RH", "humidity"),
            Sample("temperature", taken_ms, 12.0 - drift_k * minute, "Cel", "temperature"),
        )
        store.add([Arrival(PROBE, f"rindwatch/{PROBE}/readings", taken_ms, samples)])
    store.close()


def closed_two_hours_ago(records: Engine) -> None:
    """The jar's lid, put back in time: nobody waits two hours in a test."""
    with records.begin() as db:
        pending = checking.load(db, PROBE)
        assert pending is not None
        checking.save(db, PROBE, replace(pending, since_ms=pending.since_ms - 2 * HOUR_MS))


def test_a_probe_is_led_through_the_salt_test(owner: Callable[..., Page], served: Served) -> None:
    now_ms, records = to_ms(SystemClock().now()), open_records(served.settings.records_at)
    speak(served, now_ms, range(90, 0, -1), 74.1, drift_k=0.02)
    page = owner()
    page.goto(f"/probes/{PROBE}")
    page.get_by_role("link", name="Check it").click()
    expect(page.get_by_text("Never lithium chloride")).to_be_visible()
    assert serious(page) == []
    picture(page, "check-begin")
    page.get_by_role("button", name="The jar is closed").click()
    closed_two_hours_ago(records)
    page.reload()
    expect(page.get_by_text("The temperature still moves.")).to_be_visible()
    expect(page.get_by_role("button", name="Take this point")).to_have_count(0)
    picture(page, "check-moving")
    speak(served, now_ms, range(90, 0, -1), 74.15)
    # The part asks for itself again; nobody reloads.
    page.get_by_role("button", name="Take this point").click(timeout=25_000)
    expect(page.get_by_text("at 90 take ±4 until a second point")).to_be_visible()
    assert serious(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    picture(page, "check-result")
    page.get_by_role("button", name="Keep the result").click()
    expect(page.get_by_text("checked ").first).to_be_visible()
    page.get_by_role("link", name="Check it").click()
    expect(page.get_by_text("salt in a jar (76 %)")).to_be_visible()
    picture(page, "check-history")
    records.dispose()


def test_an_old_log_is_handed_over_and_confirmed(owner: Callable[..., Page], served: Served) -> None:
    speak(served, to_ms(SystemClock().now()), range(1, 0, -1), 80)
    log = "Date;Temp (°C);Humidity rh\n" + "".join(f"{d}.02.2025 08:00;11,{d % 10};88,2\n" for d in range(10, 28))
    page = owner()
    page.goto("/probes")
    page.get_by_role("link", name="Old logs").click()
    page.get_by_label("The file").set_input_files(
        {"name": "cellar.csv", "mimeType": "text/csv", "buffer": log.encode()}
    )
    page.get_by_role("button", name="Hand it over").click()
    expect(page.get_by_text("temperature 11.0 °C").or_(page.get_by_text("temperature 11 °C")).first).to_be_visible()
    assert serious(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    picture(page, "import-confirm")
    page.get_by_label("Name of the new probe").fill("old-cellar")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_text("On their way in")).to_be_visible()
    assert serious(page) == []
    picture(page, "import-queued")
