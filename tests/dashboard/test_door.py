"""Who is let in at the doors, and who is shown out when all places are taken; with real sockets."""

import socket
from collections.abc import Iterator

import pytest

from dashboard.door import CROWDING, MOST, OF_ONE_ADDRESS, Door, Visitors


@pytest.fixture
def ends() -> Iterator[list[socket.socket]]:
    """The other ends of what came in; a visitor of ours is closed with its end."""
    kept: list[socket.socket] = []
    yield kept
    for one in kept:
        one.close()


def come(visitors: Visitors, address: str, ends: list[socket.socket]) -> socket.socket | None:
    """One more from an address; None when it is not let in."""
    if not visitors.admits(address):
        return None
    ours, theirs = socket.socketpair()
    ends += [ours, theirs]
    visitors.note(ours, address)
    return ours


def is_shown_out(came: socket.socket | None) -> bool:
    assert came is not None
    came.setblocking(False)
    try:
        return came.recv(1) == b""
    except BlockingIOError:
        return False


def test_one_address_has_its_places_and_no_more(ends: list[socket.socket]) -> None:
    visitors = Visitors()
    came = [come(visitors, "192.0.2.1", ends) for _ in range(OF_ONE_ADDRESS + 5)]
    assert came[OF_ONE_ADDRESS:] == [None] * 5
    assert come(visitors, "192.0.2.2", ends)
    assert not any(is_shown_out(one) for one in came[:OF_ONE_ADDRESS])


def test_who_has_left_takes_no_place(ends: list[socket.socket]) -> None:
    visitors = Visitors()
    for _ in range(3 * OF_ONE_ADDRESS):
        came = come(visitors, "192.0.2.1", ends)
        assert came is not None
        came.close()


def test_a_full_house_shows_out_the_oldest_of_whoever_crowds(ends: list[socket.socket]) -> None:
    visitors = Visitors()
    person = [come(visitors, "192.0.2.200", ends) for _ in range(CROWDING - 2)]
    crowd = [come(visitors, f"192.0.2.{number // OF_ONE_ADDRESS}", ends) for number in range(MOST)]
    assert None not in crowd
    person.append(come(visitors, "192.0.2.200", ends))
    assert not any(is_shown_out(one) for one in person)
    gone = [one for one in crowd if is_shown_out(one)]
    assert gone == crowd[: CROWDING - 1]


def test_where_nobody_crowds_the_oldest_makes_room(ends: list[socket.socket]) -> None:
    visitors = Visitors()
    crowd = [come(visitors, f"2001:db8::{number:x}", ends) for number in range(MOST)]
    assert come(visitors, "192.0.2.200", ends)
    assert [is_shown_out(one) for one in crowd] == [True] + [False] * (MOST - 1)


def test_a_proxy_of_ones_own_stands_for_many(ends: list[socket.socket]) -> None:
    visitors = Visitors(excepted="192.0.2.1")
    assert None not in [come(visitors, "192.0.2.1", ends) for _ in range(2 * OF_ONE_ADDRESS)]
    crowd = [come(visitors, f"198.51.100.{number // OF_ONE_ADDRESS}", ends) for number in range(MOST)]
    assert not any(is_shown_out(one) for one in crowd), "the proxy's take none of the others' places"


def test_a_door_hangs_up_on_who_is_not_admitted() -> None:
    with Door.around(socket.create_server(("127.0.0.1", 0)), Visitors()) as door:
        door.setblocking(True)
        held = [socket.create_connection(door.getsockname()) for _ in range(OF_ONE_ADDRESS + 1)]
        came = [door.accept()[0] for _ in range(OF_ONE_ADDRESS)]
        with pytest.raises(ConnectionAbortedError, match=r"127\.0\.0\.1 has 40 connections open"):
            door.accept()
        assert held[-1].recv(1) == b""
        for one in (*held, *came):
            one.close()
