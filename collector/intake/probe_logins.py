"""A name and password for each probe at a Mosquitto broker, in the form of its own files."""

import base64
import hashlib
import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from collector.errors import EntryRefused

# As mosquitto_passwd writes them (Mosquitto 2.0): PBKDF2 with SHA-512, "$7$", rounds, salt and key in base64. The
# password below is random and long, so that few rounds do no harm.
ROUNDS, SALT_BYTES, KEY_BYTES = 101, 12, 64
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class ProbeLogin:
    """What the probe is told, and what the broker's two files have to say of it. `password` is kept nowhere."""

    name: str
    password: str
    password_line: str
    access_lines: str


def new_login(name: str) -> ProbeLogin:
    """A new random password for a probe.

    Raises:
        EntryRefused: a name that no topic or file of the broker can hold.
    """
    if not 0 < len(name) <= LONGEST_NAME:
        raise EntryRefused("name", f"name of a probe must have 1 to {LONGEST_NAME} characters, got {len(name)}")
    if name == "-" or not name.isprintable() or set(name) & set("/+#: "):
        raise EntryRefused("name", f"name of a probe must have no blank, colon, / + or #, got {name}")
    password, salt = secrets.token_urlsafe(18), os.urandom(SALT_BYTES)
    key = hashlib.pbkdf2_hmac("sha512", password.encode(), salt, ROUNDS, KEY_BYTES)
    told = "$".join(("$7", str(ROUNDS), *(base64.b64encode(part).decode() for part in (salt, key))))
    access = "\n".join((f"user {name}", *(f"topic write rindwatch/{name}/{last}" for last in ("readings", "status"))))
    return ProbeLogin(name, password, f"{name}:{told}", access)


def put_login(login: ProbeLogin, passwords: Path) -> bool:
    """Write the password's line into the broker's password file in place of an older one; True when there was one.

    The file is written beside and put in its place whole, with the rights that it had.

    Raises:
        EntryRefused: the file cannot be read or written.
    """
    try:
        return _put(login, passwords)
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is no text"
        said = f"--file must name a password file that can be written, got {passwords}: {reason}"
        raise EntryRefused("file", said) from error


def _put(login: ProbeLogin, passwords: Path) -> bool:
    lines = passwords.read_text().splitlines() if passwords.exists() else []
    others = [line for line in lines if line.partition(":")[0] != login.name]
    mode = passwords.stat().st_mode & 0o777 if passwords.exists() else 0o600
    half = passwords.with_name(passwords.name + ".part")
    with open(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode), "w") as file:
        file.write("\n".join([*others, login.password_line]) + "\n")
        file.flush()
        os.fsync(file.fileno())
    half.chmod(mode)
    half.replace(passwords)
    return len(others) < len(lines)
