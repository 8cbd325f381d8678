"""A login of its own for each probe, held against a real Mosquitto: in, only as itself, and out after a rotation."""

import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from collector.cli import main
from collector.errors import EntryRefused
from collector.intake.probe_logins import new_login, put_login
from collector.settings import Settings
from tests.brokers import MOSQUITTO, answers, free_port, need_mosquitto, wait_for

ACL = Path(__file__).parents[3] / "collector/container/acl"


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[tuple[int, Path, subprocess.Popen[bytes]]]:
    """Mosquitto with a password file and the very acl file of compose.yaml."""
    need_mosquitto()
    passwords, port = tmp_path / "passwords", free_port()
    put_login(new_login("collector"), passwords)
    config = tmp_path / "mosquitto.conf"
    config.write_text(
        f"listener {port} 127.0.0.1\nallow_anonymous false\nuser root\npassword_file {passwords}\nacl_file {ACL}\n"
    )
    process = subprocess.Popen([MOSQUITTO, "-c", str(config)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wait_for(lambda: answers(port), what="mosquitto")
    yield port, passwords, process
    process.terminate()
    process.wait(10)


def comes_in(port: int, user: str, password: str) -> Client | None:
    """A connected client, or None when the broker refused it."""
    client, said = Client(CallbackAPIVersion.VERSION2), list[bool]()
    client.on_connect = lambda _client, _data, _flags, reason, _properties: said.append(not reason.is_failure)
    client.username_pw_set(user, password)
    client.connect("127.0.0.1", port)
    client.loop_start()
    wait_for(lambda: said, what="an answer of the broker")
    if said[0]:
        return client
    client.loop_stop()
    return None


def read_again(process: subprocess.Popen[bytes], port: int, user: str, password: str, *, good: bool) -> Client | None:
    """Let the broker read its files again, and wait until that login is good or is not."""
    process.send_signal(signal.SIGHUP)
    found: list[Client | None] = []

    def settled() -> bool:
        found.append(comes_in(port, user, password))
        return (found[-1] is not None) is good

    wait_for(settled, what="the broker reads its files")
    return found[-1]


@pytest.mark.mosquitto
def test_a_probe_publishes_as_itself_only_and_not_after_a_rotation(
    broker: tuple[int, Path, subprocess.Popen[bytes]],
) -> None:
    port, passwords, process = broker
    watcher_login, first = new_login("collector"), new_login("cellar-1")
    put_login(watcher_login, passwords)
    assert not put_login(first, passwords)
    probe = read_again(process, port, "cellar-1", first.password, good=True)
    watcher = comes_in(port, "collector", watcher_login.password)
    assert probe is not None
    assert watcher is not None
    heard: list[str] = []
    watcher.on_message = lambda _client, _data, message: heard.append(message.topic)
    watcher.subscribe("#", qos=1)
    for topic in ("rindwatch/fridge/readings", "other/topic", "rindwatch/cellar-1/readings"):
        probe.publish(topic, b"1", qos=1).wait_for_publish(10)
    wait_for(lambda: "rindwatch/cellar-1/readings" in heard, what="the probe's own message")
    assert heard == ["rindwatch/cellar-1/readings"]
    second = new_login("cellar-1")
    assert put_login(second, passwords)
    assert read_again(process, port, "cellar-1", first.password, good=False) is None
    assert comes_in(port, "cellar-1", second.password) is not None


@pytest.mark.parametrize("name", ["", "-", "a/b", "a:b", "a b", "+", "#", "a\nb", "x" * 61])
def test_a_name_that_opens_more_than_its_own_topic_is_refused(name: str) -> None:
    with pytest.raises(EntryRefused, match="name of a probe"):
        new_login(name)


def test_the_password_file_keeps_its_rights_and_the_others(tmp_path: Path) -> None:
    passwords = tmp_path / "passwords"
    put_login(new_login("fridge"), passwords)
    assert passwords.stat().st_mode & 0o777 == 0o600
    passwords.chmod(0o640)
    for _ in range(2):
        put_login(new_login("cellar-1"), passwords)
    assert passwords.stat().st_mode & 0o777 == 0o640
    assert [line.partition(":")[0] for line in passwords.read_text().splitlines()] == ["fridge", "cellar-1"]


@pytest.mark.parametrize(
    ("where", "reason"), [("nowhere/passwords", "No such file or directory"), ("binary", "it is no text")]
)
def test_a_password_file_that_cannot_be_is_named_and_no_password_told(tmp_path: Path, where: str, reason: str) -> None:
    (tmp_path / "binary").write_bytes(b"\xff\xfe")
    path = tmp_path / where
    done = CliRunner().invoke(main, ["probe", "login", "shelf", "--file", str(path)])
    assert (done.exit_code, done.exception.__class__) == (1, SystemExit)
    assert f"--file must name a password file that can be written, got {path}: {reason}" in done.output
    assert "password: " not in done.output


def test_the_commands_say_plainly_what_the_embedded_broker_cannot(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RINDWATCH_DATA", str(tmp_path))
    told = CliRunner().invoke(main, ["probe", "login", "cellar-1"])
    assert told.exit_code == 1
    assert "cannot hold a probe to its own topics" in told.output
    before = Settings(data=tmp_path).secret("probe-password").get_secret_value()
    told = CliRunner().invoke(main, ["probe", "rotate"])
    assert told.exit_code == 0
    after = Settings(data=tmp_path).secret("probe-password").get_secret_value()
    assert after != before
    assert after in told.output


def test_the_command_writes_the_file_and_tells_the_password_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RINDWATCH_DATA", str(tmp_path))
    passwords = tmp_path / "passwords"
    told = CliRunner().invoke(main, ["probe", "login", "cellar-1", "--file", str(passwords)])
    assert told.exit_code == 0
    assert "topic write rindwatch/cellar-1/readings" in told.output
    password = next(line for line in told.output.splitlines() if line.startswith("password: ")).split()[1]
    assert password not in passwords.read_text()
