"""Runs the demo: broker, collector, dashboard and the simulated probes, and says where to look."""

import logging
import os
import subprocess
import sys
import threading
import time
import urllib.request
from datetime import UTC, datetime
from pathlib import Path
from threading import Event
from urllib.error import URLError

import click

from collector.demo.diary import DAY_MS, DIARY, SEED, Diary
from collector.demo.history import is_whole
from collector.demo.quillfold import QUILLFOLD
from collector.demo.settling import settle
from collector.prepare import make_folders, prepare_apart
from collector.records.columns import from_ms, to_ms
from collector.records.engine import open_records
from collector.settings import Settings
from collector.supervisor import Part, running, stop_on_signals, supervise

log = logging.getLogger(__name__)

READY_WITHIN_S = 60
BOOK_TRIES = 3
YEAR_LOOK_S = 2.0


def run(settings: Settings, *, phone: bool, speed: float) -> None:
    """Run until told to stop."""
    stop = stop_on_signals()
    logging.getLogger().setLevel(settings.log_level.upper())
    click.echo("Setting the invented dairy up ...")
    make_folders(settings)
    diary = Diary.open(settings.data / DIARY, SEED, to_ms(datetime.now(UTC)))
    diary.save(settings.data / DIARY)
    # The probes compute their past for seconds and need no database: they begin while it is prepared.
    early = [
        Part("broker", ["-m", "collector.cli", "broker"]),
        Part("probes", ["-m", "collector.cli", "demo-probes", "--speed", str(speed)]),
    ]
    with running(early):
        _settle_in(settings, diary)
        later = [
            Part("collector", ["-m", "collector.cli", "collect"]),
            Part("dashboard", ["-m", "collector.cli", "dashboard"], quiet=True),
        ]
        follows = threading.Thread(target=_follow_up, args=(settings.data, stop, phone), name="book")
        follows.start()
        supervise([*early, *later], stop)
    follows.join()


def _settle_in(settings: Settings, diary: Diary) -> None:
    prepare_apart(settings)
    records = open_records(settings.records_at)
    with records.begin() as connection:
        settle(connection, QUILLFOLD, from_ms(diary.anchor_ms))
    records.dispose()


def _follow_up(data: Path, stop: Event, phone: bool) -> None:
    """The address first, the wheel book after it, and what the whole year tells last: all want the processor."""
    _say_where(data, stop, phone)
    if not stop.is_set():
        _write_book(stop)
    while not stop.wait(YEAR_LOOK_S):
        if _has_year(data):
            code = _run_to_end("weight --keep --try-past", stop)
            if code:
                log.warning("weights_not_kept code=%d", code)
            return


def _write_book(stop: Event) -> None:
    """The wheel book is the dashboard's, so a process of its own writes it, once, while the pages already answer.

    What was cut off goes on where it was: every entry has an id that another try makes again.
    """
    for number in range(BOOK_TRIES):
        code = _run_to_end("demo-book", stop)
        if not code:
            return
        log.warning("book_cut_off code=%d try=%d", code, number + 1)


def _run_to_end(command: str, stop: Event) -> int:
    """What a command of ours ended with; 0 when it was told to stop."""
    process = subprocess.Popen([sys.executable, "-m", "collector.cli", *command.split()], stdout=subprocess.DEVNULL)
    while process.poll() is None:
        if stop.wait(0.5):
            process.terminate()
            process.wait()
            return 0
    return process.returncode


def _say_where(data: Path, stop: Event, phone: bool) -> None:
    """Print the address once the pages answer and the newest fortnight is there."""
    address = f"http://127.0.0.1:{os.environ['RINDWATCH_HTTP_PORT']}/"
    deadline = time.monotonic() + READY_WITHIN_S
    while not stop.is_set() and time.monotonic() < deadline:
        if _answers(address + "healthz") and _has_fortnight(data):
            break
        stop.wait(0.2)
    if stop.is_set():
        return
    if phone:
        _show_phone_link()
    click.echo(f"\n  {QUILLFOLD.name} is at  {address}\n\nA year of history fills in behind. Ctrl+C ends it.")


def _show_phone_link() -> None:
    """The one-time link for the phone, as text and as a square for its camera."""
    import segno

    command = [sys.executable, "-m", "collector.cli", "person", "reset"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    click.echo(said)
    segno.make(said.split()[-1], error="m").terminal(compact=True)


def _answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(address, timeout=2) as answer:  # noqa: S310 # nosec B310
            return bool(answer.status == 200)
    except (URLError, OSError):
        return False


def _has_year(data: Path) -> bool:
    """True once the whole past is written and no log of it waits."""
    diary = Diary.open(data / DIARY, SEED, 0)
    return is_whole(diary) and not any((data / "import").glob("demo-*.jsonl"))


def _has_fortnight(data: Path) -> bool:
    """True once the diary says that the fortnight is written and no log of it waits."""
    diary = Diary.open(data / DIARY, SEED, 0)
    return bool(diary.past_from_ms) and _waits_for_nothing_new(data, diary)


def _waits_for_nothing_new(data: Path, diary: Diary) -> bool:
    newest_day = diary.past_from_ms // DAY_MS
    waiting = [int(path.stem.split("-")[2]) for path in (data / "import").glob("demo-*.jsonl")]
    return not any(day > newest_day for day in waiting)
