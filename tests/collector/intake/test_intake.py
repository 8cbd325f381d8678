"""From a message to an acknowledgement: nothing is acknowledged that is not kept."""

from contextlib import suppress
from datetime import timedelta

import pytest
from paho.mqtt.client import MQTTMessage

from collector.clock import ManualClock
from collector.errors import StoreUnavailable
from collector.intake.intake import MARKER_TOPIC, TOLD, Intake
from collector.intake.payloads import PackRecord, encode_senml
from tests.builders import START_AT, START_MS
from tests.contract.faulty_store import FaultyStore
from tests.contract.memory_store import MemoryStore


class NoChoices:
    filters = ("cellar/#",)
    hints = {}  # noqa: RUF012


def a_pack(minute: float, value: float = 12.0) -> bytes:
    return encode_senml([PackRecord("temperature", value, "Cel")], base_time_s=START_MS / 1_000 + minute * 60)


def a_message(packet_id: int, payload: bytes, topic: str = "rindwatch/cellar-1/readings", qos: int = 1) -> MQTTMessage:
    message = MQTTMessage(packet_id, topic.encode())
    message.payload, message.qos = payload, qos
    return message


def an_intake(store: object) -> Intake:
    return Intake(store, ManualClock(START_AT + timedelta(hours=2)), NoChoices(), lambda _state, _reason: None)  # type: ignore[arg-type]


def taken(store: MemoryStore) -> set[int]:
    return {(taken_ms - START_MS) // 60_000 for _, _, taken_ms in store.readings}


@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("fail_at", range(1, 6))
def test_no_acknowledged_reading_is_lost(fail_at: int, when: str) -> None:
    kept, acknowledged = MemoryStore(), []
    intake = an_intake(FaultyStore(kept, fail_at=fail_at, when=when))
    for minute in range(5):
        intake.take(a_message(minute + 1, a_pack(minute)))
        with suppress(StoreUnavailable):
            acknowledged += [packet_id - 1 for packet_id, _ in intake.commit()]
    assert set(acknowledged) <= taken(kept)
    acknowledged += [packet_id - 1 for packet_id, _ in intake.commit()]
    assert acknowledged == list(range(5))
    assert taken(kept) == set(range(5))
    assert len(kept.readings) == 5


def test_acknowledgements_go_out_in_order_of_arrival() -> None:
    intake = an_intake(MemoryStore())
    for packet_id in (7, 3, 9, 1):
        intake.take(a_message(packet_id, a_pack(packet_id)))
    assert intake.commit() == [(7, 1), (3, 1), (9, 1), (1, 1)]
    assert intake.commit() == []


@pytest.mark.parametrize("payload", [b"", b"\x00", b"[", b"\xff\xfe", b"NaN", b"x" * 500_000])
def test_a_payload_that_cannot_be_read_is_kept_with_its_reason_and_acknowledged(payload: bytes) -> None:
    store = MemoryStore()
    intake = an_intake(store)
    intake.take(a_message(1, payload))
    intake.take(a_message(2, a_pack(4)))
    assert intake.commit() == [(1, 1), (2, 1)]
    assert taken(store) == {4}
    assert len(store.rejects) == 1
    assert store.rejects[0].reason


def test_a_fault_of_ours_in_one_payload_does_not_stop_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    store = MemoryStore()
    intake = an_intake(store)
    with monkeypatch.context() as broken:
        broken.setattr("collector.intake.intake.decode", lambda *_: 1 / 0)
        intake.take(a_message(1, a_pack(1)))
    intake.take(a_message(2, a_pack(2)))
    assert intake.commit() == [(1, 1), (2, 1)]
    assert store.rejects[0].reason == "could not be read: ZeroDivisionError"
    assert taken(store) == {2}


def test_what_was_not_acknowledged_is_left_to_the_broker() -> None:
    store = MemoryStore()
    intake = an_intake(store)
    intake.take(a_message(1, a_pack(1)))
    intake.lost("the connection broke")
    assert intake.commit() == []
    assert taken(store) == set()


def test_a_number_handed_over_twice_is_kept_once() -> None:
    """A plain number tells no time; its acknowledgement was lost with the connection."""
    store = MemoryStore()
    clock = ManualClock(START_AT)
    intake = Intake(store, clock, NoChoices(), lambda _state, _reason: None)
    for packet_id, number in enumerate((b"12.1", b"12.2", b"12.2"), 1):
        clock.advance(timedelta(seconds=10))
        intake.take(a_message(packet_id, number, "cellar/temperature"))
    intake.commit()
    intake.lost("the connection broke")
    intake.connected(session_present=True)
    assert intake.patience_s > 0
    for packet_id, number in enumerate((b"12.2", b"12.2", b"12.4"), 1):  # two again, under new packet ids, one new
        clock.advance(timedelta(seconds=10))
        intake.take(a_message(packet_id, number, "cellar/temperature"))
    assert [packet_id for packet_id, _ in intake.commit()] == [1, 2, 3]
    assert [value for value, _ in store.readings.values()] == [12.1, 12.2, 12.2, 12.4]
    assert intake.patience_s == 0


def test_what_we_say_ourselves_is_no_reading() -> None:
    store = MemoryStore()
    intake = an_intake(store)
    intake.take(a_message(1, b'{"temperature": 12.1}', "rindwatch/-/state/lower"))
    intake.take(a_message(2, b"12.1", "rindwatch/-/event"))
    assert intake._pending == []
    assert list(intake.commit()) == [(1, 1), (2, 1)]


def test_our_own_marker_is_no_reading_and_ends_the_queue() -> None:
    store = MemoryStore()
    intake = an_intake(store)
    intake.connected(session_present=True)
    topic, payload = intake.marker()
    intake.take(a_message(1, b"12.1", "cellar/temperature"))
    intake.take(a_message(2, payload, topic))
    intake.take(a_message(3, b"12.3", "cellar/humidity"))
    assert topic == MARKER_TOPIC
    assert [a.samples[0].mark.name for a in intake._pending] == ["TIME_OF_ARRIVAL|AT_THE_LATEST", "TIME_OF_ARRIVAL"]


def test_the_log_names_what_is_set_aside_once_a_topic_and_on_one_line(caplog: pytest.LogCaptureFixture) -> None:
    """Whoever has a probe on the bench watches the log; a stranger must neither fill it nor write lines into it."""
    intake = an_intake(MemoryStore())
    for packet_id, topic in enumerate(["rindwatch/cellar-1/readings", "rindwatch/a\nforged line/readings"] * 3):
        intake.take(a_message(packet_id + 1, b"not json", topic))
    lines = [line for line in caplog.messages if line.startswith("message_set_aside")]
    assert len(lines) == 2
    assert "'rindwatch/cellar-1/readings' reason=" in lines[0]
    assert not any("\n" in line for line in lines)


def test_endless_topics_do_not_fill_the_log(caplog: pytest.LogCaptureFixture) -> None:
    intake = an_intake(MemoryStore())
    for number in range(TOLD + 50):
        intake.take(a_message(number + 1, b"not json", f"rindwatch/cellar-{number}/readings"))
    assert len(caplog.messages) == TOLD
