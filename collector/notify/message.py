"""What goes out of the house: one message, and the port that every channel stands behind."""

from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any, Protocol


@dataclass(frozen=True, slots=True)
class Message:
    """One message for one channel, ready to be sent.

    Args:
        id: the same at every try, so that a message sent twice can be told to be one.
        kind: opened, cleared, corrected, reopened, reminder, several, evening or test.
        severity: note, warn or urgent.
        title, body: plain text.
        created_at: when it was written.
        link: absolute address of the page that it is about, "" when nobody said what phones call this machine.
        thread: id of the message that it goes on from, "" for a first one.
        problems: the warnings that it speaks of, as plain values for machines.
    """

    id: str
    kind: str
    severity: str
    title: str
    body: str
    created_at: datetime
    link: str = ""
    thread: str = ""
    problems: tuple[dict[str, Any], ...] = ()

    @property
    def text(self) -> str:
        """The body with the link beneath it, for channels that carry nothing but text."""
        return f"{self.body}\n{self.link}" if self.link else self.body

    def as_json(self) -> dict[str, Any]:
        """Values that JSON can carry."""
        return asdict(self) | {"created_at": self.created_at.isoformat()}

    @classmethod
    def from_json(cls, values: dict[str, Any]) -> "Message":
        """The message that `as_json` was made of.

        Raises:
            ValueError: a value is missing.
        """
        missing = {f.name for f in fields(cls)} - set(values)
        if missing:
            raise ValueError(f"a message needs {', '.join(sorted(missing))}")
        at = datetime.fromisoformat(values["created_at"])
        return cls(**values | {"created_at": at, "problems": tuple(values["problems"])})


class Channel(Protocol):
    """A way to a person or a machine.

    `send` returns once the other side has taken the message.

    Raises:
        WarningNotSent: it did not, or nobody knows; the text holds no secret.
    """

    def send(self, message: Message) -> None: ...
