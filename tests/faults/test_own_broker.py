"""A broker of one's own: TLS with a certificate authority, user and password, MQTT 5 and 3.1.1."""

import datetime as dt
import ipaddress
import shutil
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from collector.checkup import knock
from collector.clock import SystemClock
from collector.intake.address import BrokerAddress, broker_address
from collector.intake.client import Connection
from collector.intake.intake import Intake
from collector.readings.store import SqliteReadings
from collector.settings import Settings
from tests.brokers import MOSQUITTO, answers, free_port, need_mosquitto, wait_for
from tests.faults.conftest import kept


class NoChoices:
    filters = ()
    hints = {}  # noqa: RUF012


def make_certificate(folder: Path) -> None:
    """A certificate for loopback that is its own authority."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "test broker")])
    now = dt.datetime.now(dt.UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(hours=1))
        .not_valid_after(now + dt.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]), False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), True)
        .sign(key, hashes.SHA256())
    )
    (folder / "ca.pem").write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    (folder / "key.pem").write_bytes(private)


@pytest.fixture
def tls_port(tmp_path: Path) -> Iterator[int]:
    need_mosquitto()
    make_certificate(tmp_path)
    port, passwords = free_port(), tmp_path / "passwords"
    tool = shutil.which("mosquitto_passwd") or "/usr/bin/mosquitto_passwd"
    subprocess.run([tool, "-c", "-b", passwords, "cave", "secret"], check=True)
    (tmp_path / "password").write_text("secret\n")
    config = tmp_path / "mosquitto.conf"
    config.write_text(
        f"listener {port} 127.0.0.1\ncertfile {tmp_path}/ca.pem\nkeyfile {tmp_path}/key.pem\n"
        f"allow_anonymous false\npassword_file {passwords}\nuser root\n"
    )
    process = subprocess.Popen([MOSQUITTO, "-c", config], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wait_for(lambda: answers(port))
    yield port
    process.terminate()
    process.wait(10)


def settings(tmp_path: Path, port: int, **more: object) -> Settings:
    values: dict[str, object] = {
        "data": tmp_path,
        "broker": f"127.0.0.1:{port}",
        "broker_user": "cave",
        "broker_password_file": tmp_path / "password",
        "broker_tls": True,
        "broker_ca_file": tmp_path / "ca.pem",
    }
    return Settings(**values | more)  # type: ignore[arg-type]


@pytest.mark.parametrize("version", ["5", "3.1.1"])
def test_readings_come_over_tls(tmp_path: Path, tls_port: int, version: str) -> None:
    chosen, stop = settings(tmp_path, tls_port, mqtt_version=version), threading.Event()
    store = SqliteReadings(chosen.readings_path)
    intake = Intake(store, SystemClock(), NoChoices(), lambda _state, _reason: None)
    thread = threading.Thread(target=Connection(broker_address(chosen), intake).run, args=(stop,))
    thread.start()
    client = Client(CallbackAPIVersion.VERSION2)
    client.username_pw_set("cave", "secret")
    client.tls_set(ca_certs=str(tmp_path / "ca.pem"))
    client.connect("127.0.0.1", tls_port)
    client.loop_start()

    def all_there() -> bool:
        for number in range(300):
            client.publish("rindwatch/p/readings", b'[{"n":"t","u":"Cel","v":1,"bt":1772431%03d}]' % number, qos=1)
        return len(kept(tmp_path, "p")) == 300

    wait_for(all_there, 30, "300 readings over TLS")
    stop.set()
    thread.join()
    store.close()
    client.disconnect()
    client.loop_stop()


# The MQTT library leaves the socket of a refused handshake to the garbage collector.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"broker_ca_file": None}, "certificate"),
        ({"broker_user": "stranger"}, "Not authorized"),
        ({"broker": "127.0.0.1:1"}, "no answer from 127.0.0.1:1"),
    ],
)
def test_check_says_why_the_broker_does_not_let_us_in(
    tmp_path: Path, tls_port: int, change: dict[str, object], reason: str
) -> None:
    address: BrokerAddress = broker_address(settings(tmp_path, tls_port, **change))
    assert reason.lower() in knock(address).lower()


def test_check_finds_nothing_wrong_where_nothing_is(tmp_path: Path, tls_port: int) -> None:
    assert knock(broker_address(settings(tmp_path, tls_port))) == ""
