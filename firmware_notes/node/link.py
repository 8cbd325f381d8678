"""A small MQTT 3.1.1 publisher: QoS 1 over TLS, user and password, last will, real acknowledgements.

Source: MQTT 3.1.1 (OASIS, 29 October 2014); section numbers stand beside the code. A message counts as
delivered when its PUBACK has come, never before. After any trouble the connection is given up and what
is not acknowledged is published again on the next one, as a clean session asks (4.4).
"""

import struct

from .faults import LinkDown

KEEPALIVE_S = 120
CONNECT, CONNACK, PUBLISH, PUBACK, PINGREQ, PINGRESP, DISCONNECT = 0x10, 0x20, 0x30, 0x40, 0xC0, 0xD0, 0xE0
QOS_1, RETAIN = 0x02, 0x01
REFUSALS = {  # 3.2.2.3
    1: "the broker does not speak MQTT 3.1.1",
    2: "the broker refuses this probe's name",
    3: "the broker is not ready",
    4: "wrong user or password",
    5: "this user may not connect",
}


def text(value):
    """A string with its length in front (1.5.3)."""
    data = value.encode()
    return struct.pack(">H", len(data)) + data


def length(size):
    """A remaining length of one to four bytes (2.2.3)."""
    data = bytearray()
    while True:
        size, low = size >> 7, size & 0x7F
        data.append(low | 0x80 if size else low)
        if not size:
            return bytes(data)


def packet(first, body=b""):
    """A whole control packet."""
    return bytes((first,)) + length(len(body)) + body


def connect_packet(client, user, password, will):
    """CONNECT with a clean session; `will` is (topic, payload), kept by the broker as retained (3.1)."""
    flags = 0x02
    body = text(client)
    if will:
        flags |= 0x04 | QOS_1 << 2 | RETAIN << 5
        body += text(will[0]) + text(will[1])
    if user:
        flags |= 0xC0
        body += text(user) + text(password)
    return packet(CONNECT, text("MQTT") + struct.pack(">BBH", 4, flags, KEEPALIVE_S) + body)


def publish_packet(topic, payload, packet_id, retain=False):
    """PUBLISH at QoS 1 (3.3)."""
    flags = QOS_1 | (RETAIN if retain else 0)
    return packet(PUBLISH | flags, text(topic) + struct.pack(">H", packet_id) + payload.encode())


def open_socket(host, port, timeout_s, ca_der=None, name=None):
    """A connection, by TLS when a certificate authority is given; only what it signed is believed."""
    import socket

    address = socket.getaddrinfo(host, port, 0, socket.SOCK_STREAM)[0]
    plain = socket.socket(address[0], socket.SOCK_STREAM)
    try:
        plain.settimeout(timeout_s)
        plain.connect(address[-1])
        if ca_der is None:
            return plain
        import ssl

        context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        context.verify_mode = ssl.CERT_REQUIRED
        context.load_verify_locations(cadata=ca_der)
        return context.wrap_socket(plain, server_hostname=name or host)
    except Exception:
        plain.close()
        raise


class Stream:
    """Whole reads and writes on a socket; MicroPython's TLS sockets know only read and write."""

    def __init__(self, sock):
        self.sock = sock
        self._write = sock.sendall if hasattr(sock, "sendall") else sock.write
        self._read = sock.recv if hasattr(sock, "recv") else sock.read

    def write(self, data):
        try:
            self._write(data)
        except OSError as error:
            raise LinkDown("sending failed: %s" % error)

    def read(self, size):
        data = b""
        while len(data) < size:
            try:
                part = self._read(size - len(data))
            except OSError as error:
                raise LinkDown("no answer from the broker: %s" % error)
            if not part:
                raise LinkDown("the broker closed the connection")
            data += part
        return data

    def close(self):
        try:
            self.sock.close()
        except OSError:
            pass  # It is gone already.


class Link:
    """One connection to a broker."""

    def __init__(self, stream):
        self.stream = stream
        self.packet_id = 0

    def connect(self, client, user, password, will=None):
        """Greets the broker; LinkDown with its reason when it refuses."""
        self.stream.write(connect_packet(client, user, password, will))
        kind, body = self._receive()
        if kind != CONNACK or len(body) != 2:
            raise LinkDown("not a broker: answered %02x" % kind)
        if body[1]:
            raise LinkDown(REFUSALS.get(body[1], "refused, code %d" % body[1]))

    def publish(self, topic, payload, retain=False):
        """Sends at QoS 1 and returns the packet id that its acknowledgement will name."""
        self.packet_id = self.packet_id % 0xFFFF + 1
        self.stream.write(publish_packet(topic, payload, self.packet_id, retain))
        return self.packet_id

    def next_ack(self):
        """The packet id of the next acknowledgement; waits as long as the socket does."""
        while True:
            kind, body = self._receive()
            if kind == PUBACK and len(body) == 2:
                return struct.unpack(">H", body)[0]
            if kind != PINGRESP:
                raise LinkDown("unexpected answer %02x" % kind)

    def ping(self):
        """Shows the broker that the probe is alive, and the other way round."""
        self.stream.write(packet(PINGREQ))
        kind, _ = self._receive()
        if kind != PINGRESP:
            raise LinkDown("unexpected answer %02x" % kind)

    def close(self):
        """Says goodbye, so that the last will is not sent."""
        try:
            self.stream.write(packet(DISCONNECT))
        except LinkDown:
            pass  # Then the broker notices by itself.
        self.stream.close()

    def _receive(self):
        kind = self.stream.read(1)[0]
        size = shift = 0
        while True:
            byte = self.stream.read(1)[0]
            size |= (byte & 0x7F) << shift
            shift += 7
            if not byte & 0x80:
                break
            if shift > 21:
                raise LinkDown("the broker's answer makes no sense")
        return kind & 0xF0, self.stream.read(size) if size else b""
