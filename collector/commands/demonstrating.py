"""`rindwatch demo`: an invented dairy whose probes publish over real MQTT, with nothing else to install."""

import os
import shutil
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from collector.settings import Settings

FOLDER = Path("rindwatch-demo-data")
LOOPBACK = "127.0.0.1"


@click.command()
@click.option("--fresh", is_flag=True, help="Forget the demo's data and begin anew.")
@click.option("--phone", is_flag=True, help="Open it to the house network, behind a one-time link for the phone.")
@click.option("--speed", default=1.0, type=click.FloatRange(1, 100_000), help="Live the last two days so much faster.")
@click.option("--folder", default=FOLDER, show_default=True, type=click.Path(path_type=Path), help="Its data.")
def demo(fresh: bool, phone: bool, speed: float, folder: Path) -> None:
    """Show a whole cave, simulated: probes, warnings, a year of history."""
    folder = folder.absolute()
    if fresh and folder.exists():
        _forget(folder)
    with _claimed(folder):
        os.environ |= _environment(folder, phone)
        from collector.demo.run import run

        run(Settings(), phone=phone, speed=speed)


def _forget(folder: Path) -> None:
    """Remove an earlier demo, and only that."""
    if not (folder / "demo.json").exists():
        click.echo(f"{folder} holds no demo; it was left as it is", err=True)
        sys.exit(2)
    with _claimed(folder):
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _claimed(folder: Path) -> Iterator[None]:
    """One demo at a time in a folder: the databases of one that runs must not be taken from under it."""
    from filelock import FileLock, Timeout

    folder.mkdir(parents=True, exist_ok=True)
    lock = FileLock(folder / "demo.lock")
    try:
        lock.acquire(timeout=0)
    except Timeout:
        click.echo(f"a demo runs in {folder}; end that one first, or name another --folder", err=True)
        sys.exit(2)
    try:
        yield
    finally:
        lock.release()


def _environment(folder: Path, phone: bool) -> dict[str, str]:
    """The settings of a demo: its own folder, loopback only, ports that are free."""
    listen = "0.0.0.0" if phone else LOOPBACK  # noqa: S104
    return {
        "RINDWATCH_DATA": str(folder),
        "RINDWATCH_RECORDS_URL": "",
        "RINDWATCH_BROKER": "",
        "RINDWATCH_INFLUX_URL": "",  # invented readings belong into nobody's database
        "RINDWATCH_LISTEN": listen,
        "RINDWATCH_MQTT_PORT": str(_free_port(1883)),
        "RINDWATCH_HTTP_PORT": str(_free_port(int(os.environ.get("RINDWATCH_HTTP_PORT", "8000")))),
        "RINDWATCH_SIGN_IN": "required" if phone else "open-on-loopback",
        "RINDWATCH_LOG_LEVEL": os.environ.get("RINDWATCH_LOG_LEVEL", "warning"),
    }


def _free_port(wanted: int) -> int:
    """The wanted port, or another one when it is taken."""
    for port in (wanted, 0):
        with socket.socket() as probe:
            try:
                probe.bind((LOOPBACK, port))
            except OSError:
                continue
            return int(probe.getsockname()[1])
    return wanted


@click.command(hidden=True)
@click.option("--speed", default=1.0)
@click.pass_obj
def demo_probes(settings: Settings, speed: float) -> None:
    """The demo's probes; started by the demo."""
    from collector.demo.live import LiveProbes
    from collector.intake.address import broker_address
    from collector.supervisor import end_with_supervisor, stop_on_signals

    stop = stop_on_signals()
    end_with_supervisor(stop)
    LiveProbes(settings, broker_address(settings), speed).run(stop)
