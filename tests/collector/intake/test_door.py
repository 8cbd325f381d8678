"""What the embedded broker's door reads of a caller, and who gets a place; the door itself: tests/faults."""

import asyncio

import anyio
import pytest

from collector.intake import door
from collector.intake.door import LONGEST_CONNECT, Hall, bound, first_packet_bytes, keep_open
from collector.intake.places import Places, Waiting, plain
from tests.brokers import answers, free_port
from tests.own_loop import with_own_loop


@pytest.mark.parametrize(
    ("begun", "bytes_"),
    [(b"", None), (b"\x10", None), (b"\x10\x00", 2), (b"\x10\x7f", 129), (b"\x10\x80\x01", 131), (b"\x10\x80", None)],
)
def test_the_length_of_the_first_packet_is_read_as_it_comes(begun: bytes, bytes_: int | None) -> None:
    # MQTT 3.1.1, table 2.4: one byte counts up to 127 (0x7F), two begin at 128 (0x80, 0x01).
    assert first_packet_bytes(begun) == bytes_


@pytest.mark.parametrize(
    ("begun", "said"),
    [
        (b"\x30\x02", "must be CONNECT"),
        (b"\x10\xff\xff\x7f", f"at most {LONGEST_CONNECT} bytes, got 2097151"),  # table 2.4: the most of three bytes
        (b"\x10\xff\xff\xff\xff", "at most four bytes"),
    ],
)
def test_what_no_probe_sends_first_is_refused(begun: bytes, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        first_packet_bytes(begun)


def test_an_address_gets_its_places_and_no_more_and_leaves_some_for_others() -> None:
    places = Places(of_one=2, of_all=3)
    assert [places.take("192.0.2.1") for _ in range(3)] == [True, True, False]
    assert [places.take("192.0.2.2") for _ in range(2)] == [True, False]
    assert all(places.take("127.0.0.1") for _ in range(9))
    places.give_back("192.0.2.1")
    assert places.take("192.0.2.3")


def test_where_too_many_wait_the_first_has_to_go() -> None:
    waiting = Waiting[str](most=2)
    assert [waiting.join(name) for name in ("first", "second")] == [None, None]
    assert waiting.join("third") == "first"
    waiting.leave("second")
    waiting.leave("first")
    assert waiting.join("fourth") is None


@pytest.mark.parametrize(
    ("written", "address"),
    [("::ffff:192.0.2.1", "192.0.2.1"), ("fe80::1%eth0", "fe80::1"), ("192.0.2.1", "192.0.2.1")],
)
def test_an_address_has_one_spelling(written: str, address: str) -> None:
    # RFC 4291, 2.5.5.2: IPv4 in an IPv6 address.
    assert plain(written) == address


@with_own_loop
async def test_a_caller_who_does_not_say_who_it_is_has_to_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door, "CONNECT_WITHIN_S", 0.2)
    held, over = bound("127.0.0.1", 0), asyncio.Event()
    async with anyio.create_task_group() as group:
        group.start_soon(keep_open, held, Hall(free_port()), over)
        with anyio.fail_after(10):
            while not answers(held.getsockname()[1]):
                await asyncio.sleep(0.01)
        reader, writer = await asyncio.open_connection(*held.getsockname())
        writer.write(b"\x10\x10\x00")
        with anyio.fail_after(10), pytest.raises((ConnectionError, asyncio.IncompleteReadError)):
            await reader.readexactly(1)
        writer.close()
        over.set()
