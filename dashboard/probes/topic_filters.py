"""Which topics of other devices are listened to.

A filter follows MQTT 3.1.1 (OASIS, 2014), section 4.7: levels between slashes, "+" for any one level, "#" at the end
for all that follow. https://docs.oasis-open.org/mqtt/mqtt/v3.1.1/os/mqtt-v3.1.1-os.html#_Toc398718106
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select

from collector.errors import EntryRefused
from collector.intake.address import OWN_TOPICS
from collector.records.tables import topic_filter

FIELD = "filter"
LONGEST = 200
EVERYTHING = "#"


@dataclass(frozen=True, slots=True)
class Filter:
    text: str
    added_at: datetime


def filters(db: Connection) -> list[Filter]:
    rows = db.execute(select(topic_filter).order_by(topic_filter.c.filter))
    return [Filter(row.filter, row.added_at) for row in rows]


def checked(text: str) -> str:
    """A filter as typed, without the blanks around it.

    Raises:
        EntryRefused: it is no filter, or one that is never meant; says what is wrong with which part.
    """
    text = text.strip()
    if not text:
        raise EntryRefused(FIELD, "Type the topic that the device publishes on.")
    if len(text) > LONGEST:
        raise EntryRefused(FIELD, f"A topic may have at most {LONGEST} characters here; this has {len(text)}.")
    if not text.isprintable():
        raise EntryRefused(FIELD, "A topic must not have characters in it that cannot be shown.")
    if text.startswith("$"):
        raise EntryRefused(FIELD, f"Topics that begin with $ are the broker's own, got {text}.")
    _check_levels(text)
    if matches(OWN_TOPICS, text.replace("+", "x").replace("#", "x")):
        raise EntryRefused(FIELD, f"{text} is heard already: everything below rindwatch/ is.")
    return text


def _check_levels(text: str) -> None:
    levels = text.split("/")
    for number, level in enumerate(levels, 1):
        if "#" in level and (level != "#" or number < len(levels)):
            raise EntryRefused(FIELD, f"# stands alone, at the very end, after a slash; got {level} in {text}.")
        if "+" in level and level != "+":
            raise EntryRefused(FIELD, f"+ stands alone between slashes; got {level} in {text}.")


def is_wide(text: str) -> bool:
    """Whether a filter hears more than the devices that one has in mind: all topics, or all of a first level."""
    levels = text.split("/")
    return levels[0] in ("#", "+") or text == EVERYTHING


def matches(pattern: str, topic: str) -> bool:
    """Whether a topic falls under a filter; both are well-formed."""
    own, other = pattern.split("/"), topic.split("/")
    for number, level in enumerate(own):
        if level == "#":
            # "#" takes in its parent too, but never a topic of the broker's own.
            return not (number == 0 and topic.startswith("$"))
        if number >= len(other) or (level not in ("+", other[number])):
            return False
    return len(own) == len(other)


def add(db: Connection, text: str, now_at: datetime) -> bool:
    """Listen to one more; False when it is listened to already."""
    if any(own.text == text for own in filters(db)):
        return False
    db.execute(insert(topic_filter), [{"filter": text, "added_at": now_at}])
    return True


def remove(db: Connection, text: str) -> bool:
    """Listen to it no more; what was heard stays."""
    return db.execute(delete(topic_filter).where(topic_filter.c.filter == text)).rowcount > 0
