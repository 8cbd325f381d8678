"""Channels in the records: added, followed from the settings' file, removed with their secrets."""

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from collector.errors import EntryRefused
from collector.notify.channels import (
    add_channel,
    change_channel,
    channel,
    channels,
    file_urls,
    follow_file,
    recipients,
    remove_channel,
)
from collector.records.tables import notify_channel
from tests.collector.notify.builders import House, a_warning

SECRET = "pa55word-of-this-test"


def test_a_webhook_is_given_a_secret_of_its_own(house: House) -> None:
    with house.records.begin() as connection:
        ids = [add_channel(connection, "webhook", "x", {"url": "https://a.example/x"}, house.now) for _ in range(2)]
        secrets = {row.options["secret"] for row in channels(connection) if row.id in ids}
    assert len(secrets) == 2
    assert min(map(len, secrets)) >= 32


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("webhook", {"url": "ftp://a.example/x"}),
        ("webhook", {"url": "https:///x"}),
        ("webhook", {"url": "https://a.example/\nx"}),
        ("webhook", {"url": "http://[::1"}),
        ("webhook", {"url": f"https://a.example/{'x' * 2_000}"}),
        ("heartbeat", {}),
        ("apprise", {"url": "someone@example.org"}),
    ],
)
def test_an_address_that_is_none_is_refused(house: House, kind: str, options: dict[str, Any]) -> None:
    with house.records.begin() as connection, pytest.raises(EntryRefused, match="must look like") as caught:
        add_channel(connection, kind, "x", options, house.now)
    assert caught.value.field == "url"


@pytest.mark.parametrize(("kind", "least"), [("telegram", "warn"), ("mqtt", "loud")])
def test_a_kind_or_severity_that_does_not_exist_is_refused(house: House, kind: str, least: str) -> None:
    with house.records.begin() as connection, pytest.raises(ValueError, match="no channel of kind"):
        add_channel(connection, kind, "x", {}, house.now, least=least)


def test_secrets_do_not_stand_in_what_is_printed(house: House) -> None:
    with house.records.begin() as connection:
        add_channel(connection, "apprise", "x", {"url": f"mailto://{SECRET}@example.org"}, house.now)
        assert SECRET not in repr(channels(connection))


def test_a_removed_channel_loses_its_secrets_and_what_waits_for_it(house: House) -> None:
    mail = house.add_channel()
    house.open(a_warning())
    with house.records.begin() as connection:
        remove_channel(connection, mail, "not wanted any more", house.now)
        assert connection.execute(select(notify_channel.c.options)).scalar() == {}
    house.wait(60)
    assert house.kept[mail].messages == []
    [row] = house.rows()
    assert (row.dropped_at is not None, row.trouble) == (True, "not wanted any more")


def test_a_channel_can_be_renamed_and_switched_off(house: House) -> None:
    mail = house.add_channel()
    with house.records.begin() as connection:
        change_channel(connection, mail, name="kitchen", is_on=False, least="urgent")
        row = channel(connection, mail)
        assert row is not None
        assert (row.name, row.is_on, row.least) == ("kitchen", False, "urgent")
        assert not row.takes("urgent")
        with pytest.raises(ValueError, match="options"):
            change_channel(connection, mail, options={})


def test_the_file_of_addresses_is_followed(house: House, tmp_path: Path) -> None:
    path = tmp_path / "addresses"
    path.write_text(f"# mine\nmailto://{SECRET}@example.org\n\njson://hook.example/{SECRET}\n")
    with house.records.begin() as connection:
        follow_file(connection, path, house.now)
        follow_file(connection, path, house.now)
        assert [row.name for row in channels(connection)] == ["mailto (settings)", "json (settings)"]
        assert SECRET not in str(connection.execute(select(notify_channel)).all())
    path.write_text(f"json://hook.example/{SECRET}\n")
    with house.records.begin() as connection:
        follow_file(connection, path, house.now)
        assert [row.name for row in channels(connection)] == ["json (settings)"]
    path.write_text(f"mailto://{SECRET}@example.org\n")
    with house.records.begin() as connection:
        follow_file(connection, path, house.now)
        assert [row.name for row in channels(connection)] == ["mailto (settings)"]
        assert len(channels(connection, removed=True)) == 2


def test_a_file_that_is_not_there_names_nothing(tmp_path: Path) -> None:
    assert file_urls(tmp_path / "nowhere") == {}
    assert file_urls(None) == {}


def test_a_note_goes_nowhere_and_a_heartbeat_gets_no_warnings(house: House) -> None:
    with house.records.begin() as connection:
        add_channel(connection, "heartbeat", "x", {"url": "https://a.example/x"}, house.now)
        add_channel(connection, "mqtt", "devices", {}, house.now, least="note")
        rows = channels(connection)
    assert recipients(rows, "note", ()) == []
    assert [row.kind for row in recipients(rows, "urgent", ())] == ["mqtt"]
