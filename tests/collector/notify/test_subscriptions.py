"""What a browser hands us when it subscribes."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.errors import EntryRefused
from collector.notify.channels import channel, channels, remove_channel
from collector.notify.push_keys import TEST_CA
from collector.notify.subscriptions import checked_subscription, subscribe, subscribed
from tests.collector.notify.builders import House
from tests.collector.notify.phone import Phone, base64url

ENDPOINT = "https://push.example.net/send/abc"
GOOD = Phone().subscription(ENDPOINT)


def changed(**changes: Any) -> dict[str, Any]:
    keys = {**GOOD["keys"], **{name: value for name, value in changes.items() if name in ("p256dh", "auth")}}
    return {"endpoint": changes.get("endpoint", ENDPOINT), "keys": keys}


def test_what_a_browser_gives_is_taken() -> None:
    found = checked_subscription(GOOD)
    assert (found.endpoint, found.p256dh, found.auth) == (ENDPOINT, GOOD["keys"]["p256dh"], GOOD["keys"]["auth"])


@pytest.mark.parametrize(
    ("endpoint", "why"),
    [
        ("http://push.example.net/x", "begin with https"),
        ("https://user@push.example.net/x", "begin with https"),
        ("https://push.example.net/\nx", "begin with https"),
        (f"https://push.example.net/{'x' * 2_000}", "begin with https"),
        ("", "begin with https"),
        ("https://[::1", "begin with https"),
        ("https://192.168.1.1/x", "open internet"),
        ("https://127.0.0.1/x", "open internet"),
        ("https://[fd00::1]/x", "open internet"),
        ("https://localhost/x", "open internet"),
        ("https://router/x", "open internet"),
        ("https://nas.local/x", "open internet"),
        ("https://cave.home.arpa/x", "open internet"),
    ],
)
def test_an_endpoint_in_the_house_or_without_tls_is_refused(endpoint: str, why: str) -> None:
    with pytest.raises(EntryRefused, match=why):
        checked_subscription(changed(endpoint=endpoint))


def test_a_test_may_run_its_push_service_in_the_house(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(TEST_CA, "/somewhere/ca.pem")
    assert checked_subscription(changed(endpoint="https://127.0.0.1/x")).endpoint == "https://127.0.0.1/x"


@pytest.mark.parametrize(
    "keys",
    [
        {"p256dh": ""},
        {"p256dh": base64url(b"\4" + bytes(64))},  # a point that does not lie on the curve
        {"p256dh": base64url(bytes(65))},
        {"auth": base64url(bytes(15))},
        {"auth": "$$$"},
    ],
)
def test_keys_that_no_browser_made_are_refused(keys: dict[str, str]) -> None:
    with pytest.raises(EntryRefused, match="keys"):
        checked_subscription(changed(**keys))


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(max_size=30),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(st.sampled_from(["endpoint", "keys", "p256dh", "auth", "x"]), inner, max_size=4)
        ),
    )
)
def test_anything_else_is_refused_in_words(values: object) -> None:
    with pytest.raises(EntryRefused):
        checked_subscription(values)


def test_a_phone_that_subscribes_again_is_one_channel(house: House) -> None:
    me = house.add_person("me")
    with house.records.begin() as connection:
        first, second = (
            subscribe(connection, checked_subscription(GOOD), house.now, person_id=me, device=device, origin=origin)
            for device, origin in (("phone", "https://cave.home.arpa"), ("the phone", "https://cave.example.org"))
        )
        assert first == second == subscribed(connection, ENDPOINT)
        [row] = channels(connection)
    assert (row.name, row.person_id, row.options["origin"]) == ("the phone", me, "https://cave.example.org")
    assert row.options["contact"] == "https://cave.example.org"


def test_a_phone_that_was_dropped_can_come_back(house: House) -> None:
    with house.records.begin() as connection:
        own = subscribe(
            connection, checked_subscription(GOOD), house.now, person_id=None, device="", origin="http://localhost"
        )
        remove_channel(connection, own, "gone", house.now)
        assert subscribed(connection, ENDPOINT) is None
        again = subscribe(
            connection, checked_subscription(GOOD), house.now, person_id=None, device="", origin="http://localhost"
        )
        row = channel(connection, again)
    assert again == own
    assert row is not None
    assert row.removed_at is None
    assert row.options["contact"].startswith("mailto:")
