"""MQTT packets byte by byte, and what counts as an acknowledgement."""

from firmware_notes.node import link
from firmware_notes.node.faults import LinkDown
from tests.firmware_notes.node.fakes import refused


class FakeSocket:
    """Only read and write, as a TLS socket of MicroPython has; one byte at a time."""

    def __init__(self, answers=b""):
        self.answers, self.written, self.closed = answers, b"", False

    def write(self, data):
        self.written += data

    def read(self, size):
        part, self.answers = self.answers[:1], self.answers[1:]
        return part

    def close(self):
        self.closed = True


def a_link(answers):
    return link.Link(link.Stream(FakeSocket(answers)))


def test_lengths_agree_with_the_standard():
    # MQTT 3.1.1, table 2.4: the smallest and largest of one to four bytes.
    for size, expected in (
        (0, "00"),
        (127, "7f"),
        (128, "8001"),
        (16383, "ff7f"),
        (16384, "808001"),
        (2097151, "ffff7f"),
        (2097152, "80808001"),
        (268435455, "ffffff7f"),
    ):
        assert link.length(size) == bytes.fromhex(expected)


def test_connect_carries_user_password_and_a_retained_will_at_qos_1():
    found = link.connect_packet("p", "u", "w", ("t", "m"))
    # MQTT 3.1.1, section 3.1: name, level 4, flags user + password + retain + QoS 1 + will + clean.
    head = b"\x10\x19\x00\x04MQTT\x04\xee" + bytes((0, link.KEEPALIVE_S))
    assert found == head + b"\x00\x01p\x00\x01t\x00\x01m\x00\x01u\x00\x01w"


def test_publish_is_at_qos_1():
    # MQTT 3.1.1, section 3.3: 0x32 is PUBLISH at QoS 1, 0x33 retained as well.
    assert link.publish_packet("a/b", "x", 10) == b"\x32\x08\x00\x03a/b\x00\x0ax"
    assert link.publish_packet("a/b", "x", 10, True)[0] == 0x33


def test_a_welcome_is_accepted_after_connect_was_sent():
    # MQTT 3.1.1, section 3.1: CONNECT is the first packet, flags user + password + clean; 3.2: CONNACK, return code 0.
    socket = FakeSocket(b"\x20\x02\x00\x00")
    link.Link(link.Stream(socket)).connect("p", "u", "w")
    head = b"\x10\x13\x00\x04MQTT\x04\xc2" + bytes((0, link.KEEPALIVE_S))
    assert socket.written == head + b"\x00\x01p\x00\x01u\x00\x01w"
    assert (socket.answers, socket.closed) == (b"", False), "the whole welcome was read, and the connection stays open"


def test_a_refusal_says_why():
    for code, word in ((4, "wrong user or password"), (5, "may not connect"), (9, "code 9")):
        greeting = a_link(bytes((0x20, 2, 0, code)))
        assert word in refused(lambda: greeting.connect("p", "u", "w"), LinkDown)  # noqa: B023


def test_something_else_is_not_taken_for_a_broker():
    assert "not a broker" in refused(lambda: a_link(b"\x30\x00").connect("p", "u", "w"), LinkDown)


def test_only_a_puback_acknowledges():
    connection = a_link(b"\xd0\x00\x40\x02\x00\x01")
    assert connection.publish("t", "m") == 1
    assert connection.next_ack() == 1


def test_silence_is_no_acknowledgement():
    assert "closed" in refused(a_link(b"").next_ack, LinkDown)


def test_packet_ids_are_never_0():
    connection = a_link(b"")
    connection.packet_id = 0xFFFE
    assert [connection.publish("t", "m") for _ in range(3)] == [0xFFFF, 1, 2]


def test_goodbye_is_said():
    connection = a_link(b"")
    connection.close()
    assert connection.stream.sock.written == b"\xe0\x00"
    assert connection.stream.sock.closed


def test_a_length_without_end_is_refused():
    assert "no sense" in refused(a_link(b"\x40\xff\xff\xff\xff\xff").next_ack, LinkDown)
