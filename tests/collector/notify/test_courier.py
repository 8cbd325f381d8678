"""The courier's rounds: the heartbeat, the states, what is told past the outbox, and one whole way out."""

import json
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, select

from collector.clock import SystemClock
from collector.notify.channels import add_channel, channels
from collector.notify.courier import Courier
from collector.notify.making import Maker
from collector.notify.words import Words
from collector.records.engine import open_records
from collector.records.tables import setting
from collector.settings import Settings
from tests.collector.notify.builders import House, a_warning
from tests.collector.notify.servers import mail_server, wait_until, web_server

SECRET = "pa55word-of-this-test"


@pytest.fixture
def records(records_path: Path) -> Iterator[Engine]:
    engine = open_records(f"sqlite:///{records_path}")
    yield engine
    engine.dispose()


def a_courier(records: Engine, folder: Path, **changes: Any) -> Courier:
    values = {"is_well": lambda: True, "distress": lambda: None} | changes
    settings = values.pop("settings", Settings(data=folder))
    return Courier(settings, records, SystemClock(), **values)


def add(records: Engine, kind: str, options: dict[str, Any]) -> str:
    with records.begin() as connection:
        return add_channel(connection, kind, kind, options, SystemClock().now())


def test_the_heart_beats_while_all_is_well(records: Engine, tmp_path: Path) -> None:
    with web_server() as server:
        add(records, "heartbeat", {"url": f"http://127.0.0.1:{server.port}/ping/{SECRET}"})
        a_courier(records, tmp_path).beat()
        assert [(r.method, r.path) for r in server.requests] == [("GET", f"/ping/{SECRET}")]
        a_courier(records, tmp_path, is_well=lambda: False).beat()
        assert len(server.requests) == 1
    with records.connect() as connection:
        [row] = channels(connection)
    assert row.worked_at is not None


def test_a_heartbeat_that_fails_is_shown_without_its_address(records: Engine, tmp_path: Path) -> None:
    with web_server() as server:
        server.status = 503
        add(records, "heartbeat", {"url": f"http://127.0.0.1:{server.port}/ping/{SECRET}"})
        a_courier(records, tmp_path).beat()
    with records.connect() as connection:
        [row] = channels(connection)
    assert row.trouble == "127.0.0.1 answered 503"
    assert row.failing_since_at is not None


def test_distress_is_told_past_the_outbox_and_not_again_for_hours(records: Engine, tmp_path: Path) -> None:
    with web_server() as server:
        add(records, "webhook", {"url": f"http://127.0.0.1:{server.port}/"})
        courier = a_courier(records, tmp_path, distress=lambda: Words("Urgent: rindwatch", "It cannot write."))
        courier.shout()
        courier.shout()
        [request] = server.requests
    assert json.loads(request.body)["title"] == "Urgent: rindwatch"


def test_distress_that_reached_nobody_is_told_again(records: Engine, tmp_path: Path) -> None:
    with web_server() as server:
        server.status = 500
        add(records, "webhook", {"url": f"http://127.0.0.1:{server.port}/"})
        courier = a_courier(records, tmp_path, distress=lambda: Words("Urgent: rindwatch", "It cannot write."))
        courier.shout()
        courier.shout()
        assert len(server.requests) == 2


def test_states_are_shown_when_they_change(house: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shown: list[dict[str, Any]] = []

    class Shows:
        def __init__(self, _settings: Settings) -> None:
            pass

        def __call__(self, _row: Any) -> "Shows":
            return self

        def show(self, states: dict[str, Any]) -> None:
            shown.append(states)

    monkeypatch.setattr("collector.notify.courier.Maker", Shows)
    house.add_channel("mqtt")
    courier = a_courier(house.records, tmp_path)
    courier.show_states()
    courier.show_states()
    house.open(a_warning(opened_at=house.now))
    courier.show_states()
    assert [sorted(states) for states in shown] == [["cellar", "lower"], ["lower"]]
    assert shown[1]["lower"]["all_right"] is False


def test_a_warning_goes_all_the_way_to_an_address_in_the_settings_file(house: House, tmp_path: Path) -> None:
    with mail_server() as server:
        addresses = tmp_path / "addresses"
        addresses.write_text(
            f"mailto://127.0.0.1:{server.port}/?from=cave@example.org&to=keeper@example.org&mode=insecure\n"
        )
        settings = Settings(data=tmp_path, notify_url_file=addresses)
        with house.records.begin() as connection:
            connection.execute(setting.insert().values(key="notify.gather_min", value=0))
        courier = a_courier(house.records, tmp_path, settings=settings)
        courier.follow_settings_file()
        house.clock.set(SystemClock().now())
        house.open(a_warning(opened_at=house.now))
        stop = threading.Event()
        thread = threading.Thread(target=courier.run, args=(stop,))
        thread.start()
        try:
            wait_until(lambda: server.mails, 30)
        finally:
            stop.set()
            thread.join(30)
    assert server.mails[0]["Subject"] == "Lower fridge: too warm"


def test_an_address_whose_line_is_gone_is_told(house: House, tmp_path: Path) -> None:
    from collector.errors import WarningNotSent
    from collector.notify.channels import follow_file

    addresses = tmp_path / "addresses"
    addresses.write_text(f"json://hook.example/{SECRET}\n")
    with house.records.begin() as connection:
        follow_file(connection, addresses, house.now)
        [row] = channels(connection)
    addresses.write_text("")
    with pytest.raises(WarningNotSent, match="not in the settings' file now"):
        Maker(Settings(data=tmp_path, notify_url_file=addresses))(row)


def test_secrets_do_not_reach_the_log(house: House, tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    with web_server() as server:
        server.status = 500
        caplog.set_level("DEBUG")
        options = {"url": f"http://127.0.0.1:{server.port}/{SECRET}", "secret": SECRET}
        add(house.records, "webhook", options)
        house.clock.set(SystemClock().now())
        house.open(a_warning("store_refusing", None, severity="urgent", opened_at=house.now, facts={}))
        deliver_duty = next(d for d in a_courier(house.records, tmp_path).duties() if d.name == "deliver")
        deliver_duty.perform()
        assert len(server.requests) == 1
    assert "message_not_sent" in caplog.text
    assert SECRET not in caplog.text
    with house.records.connect() as connection:
        assert SECRET not in str(connection.execute(select(setting)).all())
