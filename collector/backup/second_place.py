"""The second place of the automatic copies: a folder, or another machine by rsync, scp or rclone.

What a page may set is a kind and an address, never a command line: whoever got at the page could run programs here.
A command of one's own is a setting of the machine, RINDWATCH_COPY_COMMAND. No shell takes part in either.
"""

import re
import shlex
import subprocess
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, delete, insert, select

from collector.errors import EntryRefused, StoreUnavailable
from collector.records.tables import setting

KIND, WHERE = "copies.second_kind", "copies.second_where"
KINDS = {
    "": "no second place",
    "folder": "a folder: another disk, or a share that is mounted here",
    "rsync": "another machine by rsync",
    "scp": "another machine by scp",
    "rclone": "a store that rclone knows",
}
PATIENCE_S = 6 * 3_600  # our choice: a first copy of many photos over a slow line
# A host or user that began with a dash would be read as an option; rclone's connection strings can name a command.
REMOTE = re.compile(r"(?:[A-Za-z0-9_][\w.-]*@)?[A-Za-z0-9][\w.-]*:[^\x00-\x1f:]*")
RCLONE = re.compile(r"[A-Za-z0-9_][\w .-]*:[^\x00-\x1f:]*")
SSH = "ssh -o BatchMode=yes -o ConnectTimeout=30"


@dataclass(frozen=True, slots=True)
class SecondPlace:
    """Where copies go too; kind "" is nowhere."""

    kind: str = ""
    where: str = ""

    def __bool__(self) -> bool:
        return bool(self.kind)

    @property
    def folder(self) -> Path | None:
        return Path(self.where) if self.kind == "folder" else None


def checked(kind: str, where: str) -> SecondPlace:
    """A second place as typed.

    Raises:
        EntryRefused: no such kind, or an address that cannot be one; says what it must look like.
    """
    where = where.strip()
    if kind not in KINDS:
        raise EntryRefused("kind", "Take one of the choices.")
    if not kind:
        return SecondPlace()
    if kind == "folder":
        if not where.startswith("/"):
            raise EntryRefused("where", "A folder must begin with /, like /mnt/usb/rindwatch.")
        return SecondPlace(kind, where)
    form, example = (RCLONE, "mybox:rindwatch") if kind == "rclone" else (REMOTE, "keeper@nas:rindwatch")
    if not form.fullmatch(where) or len(where) > 300:
        raise EntryRefused("where", f"It must look like {example}.")
    return SecondPlace(kind, where)


def load(connection: Connection) -> SecondPlace:
    """The place that the person chose; one that this version cannot take is none."""
    rows = connection.execute(select(setting.c.key, setting.c.value).where(setting.c.key.in_([KIND, WHERE])))
    found = {row.key: row.value for row in rows}
    try:
        return checked(str(found.get(KIND, "")), str(found.get(WHERE, "")))
    except EntryRefused:
        return SecondPlace()


def save(connection: Connection, place: SecondPlace) -> None:
    """Keep the choice, inside the caller's transaction."""
    connection.execute(delete(setting).where(setting.c.key.in_([KIND, WHERE])))
    connection.execute(insert(setting), [{"key": KIND, "value": place.kind}, {"key": WHERE, "value": place.where}])


def arguments(place: SecondPlace, file: Path) -> list[str]:
    """The program and its arguments that send a file there."""
    where = place.where
    if place.kind == "rsync":
        return ["rsync", "--times", "--rsh", SSH, "--", str(file), where.rstrip("/") + "/"]
    if place.kind == "scp":
        return ["scp", "-B", "-p", "-o", "ConnectTimeout=30", "--", str(file), where.rstrip("/") + "/"]
    if place.kind == "rclone":
        inside = where if where.endswith((":", "/")) else f"{where}/"
        return ["rclone", "copyto", "--", str(file), f"{inside}{file.name}"]
    raise ValueError(f"kind must be rsync, scp or rclone, got {place.kind!r}")


def own_arguments(command: str, file: Path) -> list[str]:
    """A command of the machine's settings, split as a shell would, the file put where {file} stands or at the end."""
    words = shlex.split(command)
    if any("{file}" in word for word in words):
        return [word.replace("{file}", str(file)) for word in words]
    return [*words, str(file)]


def run(words: list[str], patience_s: float = PATIENCE_S) -> None:
    """Run a program without a shell until it has sent the file.

    Raises:
        StoreUnavailable: it is not here, took too long, or said that it failed; the reason is its last line.
    """
    try:
        done = subprocess.run(
            words, stdin=subprocess.DEVNULL, capture_output=True, text=True, errors="replace", timeout=patience_s,
            check=False,
        )  # fmt: skip
    except FileNotFoundError as error:
        raise StoreUnavailable("the second place", 0, f"the program {words[0]} is not installed here") from error
    except (OSError, subprocess.TimeoutExpired) as error:
        raise StoreUnavailable("the second place", 0, f"{words[0]} did not end well: {error}"[:300]) from error
    if done.returncode:
        said = (done.stderr.strip() or done.stdout.strip() or "it said nothing").splitlines()[-1][:200]
        raise StoreUnavailable("the second place", 0, f"{words[0]} failed with {done.returncode}: {said}")
