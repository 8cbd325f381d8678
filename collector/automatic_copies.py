"""When a copy is made, and when one is restored on trial; each in a process of its own."""

import logging
import os
import subprocess
import sys
from datetime import datetime, timedelta

from sqlalchemy import Connection, Engine, delete, insert, select

from collector.backup import second_place
from collector.clock import Clock
from collector.copies import COPY, FAILED, SECOND, TRIAL, sent_to, wanted
from collector.records.columns import from_ms, to_ms
from collector.records.engine import reading
from collector.records.life import Sign, sign, signs
from collector.records.tables import setting
from collector.settings import Settings

log = logging.getLogger(__name__)

NIGHT_HOUR = 3  # local time: our choice, nobody is in the cave
AGAIN_AFTER = timedelta(hours=1)  # a night's copy that failed is tried again by day
TRY_EVERY = timedelta(days=30)
TRY_AGAIN = timedelta(days=1)  # after a trial that failed
ASKED = "copies.asked"
SIGNS = {"copy": (FAILED, COPY, SECOND), "restore": (TRIAL,)}  # left by each command; the first tells that it failed


def ask_for_copy(connection: Connection, now: datetime) -> None:
    """Have the collector make a copy now; inside the caller's transaction."""
    connection.execute(delete(setting).where(setting.c.key == ASKED))
    connection.execute(insert(setting), [{"key": ASKED, "value": to_ms(now)}])


class AutomaticCopies:
    """Makes a copy each night, and by day when the last night was missed or somebody asks; tries one each month.

    Each runs as a process of its own: the keeper of the readings has other duties, and what a copy loads would stay.
    """

    def __init__(self, settings: Settings, records: Engine, clock: Clock) -> None:
        self._settings, self._records, self._clock = settings, records, clock
        self._child: subprocess.Popen[bytes] | None = None
        self._copied_at: datetime | None = None
        self._tried_at: datetime | None = None
        self._doing, self._said = "", dict[str, datetime]()

    def sent_to(self) -> str | None:
        """Where copies are sent on to, "" when nowhere; None when nobody wants any."""
        with reading(self._records) as connection:
            return sent_to(self._settings, second_place.load(connection))

    def step(self) -> None:
        """Start what is due unless the last one still runs."""
        if self._child is not None:
            if self._child.poll() is None:
                return
            if self._child.returncode:
                log.warning("copy_failed code=%d", self._child.returncode)
                self._note_failure(self._child.returncode)
            self._child = None
        command = self._due(self._clock.now())
        if command:
            self._doing, self._said = command[0], self._signs()
            environment = os.environ | {"RINDWATCH_DATA": str(self._settings.data)}
            program = [sys.executable, "-m", "collector.cli", *command, "--quietly"]
            self._child = subprocess.Popen(
                program, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL
            )

    def _signs(self) -> dict[str, datetime]:
        with reading(self._records) as connection:
            return {part: one.at for part, one in signs(connection).items() if part in SIGNS["copy"] + SIGNS["restore"]}

    def _note_failure(self, code: int) -> None:
        """A process that was killed, or broke, has said nothing; the others have left a sign of what went wrong."""
        now_said = self._signs()
        if all(now_said.get(part) == self._said.get(part) for part in SIGNS[self._doing]):
            reason = "it was ended before it was done" if code < 0 else "it broke off; the log says where"
            facts = {"reason": reason} | ({"well": False} if self._doing == "restore" else {})
            sign(self._records, SIGNS[self._doing][0], self._clock.now(), facts)

    def stop(self) -> None:
        """End with the collector; what was half-made is cleared away by the next one."""
        if self._child is not None and self._child.poll() is None:
            self._child.terminate()
            self._child.wait()

    def _due(self, now: datetime) -> list[str]:
        with reading(self._records) as connection:
            second = second_place.load(connection)
            known = signs(connection)
            asked = connection.execute(select(setting.c.value).where(setting.c.key == ASKED)).scalar()
        if not wanted(self._settings, second):
            return []
        if copy_due(now, known.get(COPY), from_ms(int(asked)) if asked else None, self._copied_at):
            self._copied_at = now
            return ["copy"]
        if trial_due(now, known.get(COPY), known.get(TRIAL), self._tried_at):
            self._tried_at = now
            return ["restore", "--try"]
        return []


def copy_due(now: datetime, last: Sign | None, asked_at: datetime | None, began_at: datetime | None) -> bool:
    """Whether a copy is to be made now; pure.

    Args:
        last: sign of the last copy that was made. asked_at: when somebody asked for one on the page.
        began_at: when this process last began one.
    """
    done_at = last.at if last else None
    if asked_at is not None and (done_at is None or done_at < asked_at) and (began_at is None or began_at < asked_at):
        return True
    night = now.astimezone().replace(hour=NIGHT_HOUR, minute=0, second=0, microsecond=0)
    if now < night:
        night -= timedelta(days=1)
    missed = done_at is None or not night <= done_at <= now
    return missed and (began_at is None or not now - AGAIN_AFTER < began_at <= now)


def trial_due(now: datetime, copied: Sign | None, tried: Sign | None, began_at: datetime | None) -> bool:
    """Whether a copy is to be restored on trial now; pure, arguments as for `copy_due`."""
    if copied is None or (began_at is not None and now - TRY_AGAIN < began_at <= now):
        return False
    if tried is None:
        return True
    return not timedelta(0) <= now - tried.at <= (TRY_EVERY if tried.facts.get("well") else TRY_AGAIN)
