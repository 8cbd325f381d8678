"""The log: lines for people, or one JSON object a line for programs that gather logs.

Every line of ours is an event name and fields (`broker_lost reason=%s`), so that both forms come from one call. The
fields of the JSON form are read from the call and not from its text: a value with spaces stays one value.
"""

import json
import logging
import re
import sys
from datetime import UTC, datetime
from typing import Any, Literal

TEXT_FORM = "%(asctime)s %(levelname)s %(name)s %(message)s"
EVENT = re.compile(r"[a-z][a-z0-9_]*\Z")
FIELD = re.compile(r"([a-z][a-z0-9_]*)=(%[-+ #0]*[\d.]*[sdrfgx])\Z")
USER_INFO = re.compile(r"(\w[\w+.-]*://)[^/\s@\"']+@")
LogForm = Literal["text", "json"]


def begin(level: str, form: LogForm) -> None:
    """Log to stderr from now on; called once by each process."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines() if form == "json" else TextLines(TEXT_FORM))
    logging.basicConfig(level=level.upper(), handlers=[handler])
    for noisy in ("alembic", "urllib3"):
        logging.getLogger(noisy).setLevel(logging.WARNING)


def without_secrets(text: str) -> str:
    """A text whose addresses have lost their user and password."""
    return USER_INFO.sub(r"\1***@", text)


class TextLines(logging.Formatter):
    """One line for people."""

    def format(self, record: logging.LogRecord) -> str:
        return without_secrets(super().format(record))


class JsonLines(logging.Formatter):
    """One JSON object a line: at, level, logger, event, and the fields of the event."""

    def format(self, record: logging.LogRecord) -> str:
        line = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
        } | _event(record)
        if record.exc_info:
            line["exception"] = self.formatException(record.exc_info)
        cleaned = {name: without_secrets(value) if isinstance(value, str) else value for name, value in line.items()}
        return json.dumps(cleaned, ensure_ascii=False)


def _event(record: logging.LogRecord) -> dict[str, Any]:
    """The event and its fields; a line that has another form (of a library) is kept as a text."""
    template = record.msg if isinstance(record.msg, str) else ""
    event, *words = template.split() or [""]
    found = [FIELD.match(word) for word in words]
    args = record.args if isinstance(record.args, tuple) else ()
    if not EVENT.match(event) or not all(found) or len(args) != len(words):
        return {"event": event if EVENT.match(event) else "text", "text": record.getMessage()}
    names = [match[1] for match in found if match]
    return {"event": event} | {_own(name): _plain(value) for name, value in zip(names, args, strict=True)}


def _own(name: str) -> str:
    """A field that is called like one of the line's own gets a tail, so that neither is lost."""
    return f"{name}_" if name in ("at", "level", "logger", "event", "exception") else name


def _plain(value: object) -> object:
    return value if isinstance(value, (bool, int, float)) or value is None else str(value)
