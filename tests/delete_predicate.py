"""A strict reader of the words by which points are deleted, written from InfluxDB's reference.

Source: InfluxDB 2 documentation, "Delete predicate syntax": it is read as InfluxQL, so a name without quotes must be no
keyword of that language, whatever its case; keywords and escapes from the InfluxQL specification. Stricter than the
database in this: every value is quoted, and a measurement is demanded.
"""

import re

from tests.line_protocol import Malformed

PAIR = re.compile(r'(?:"(\w+)"|(\w+))="((?:[^"\\\n]|\\[n\\"\'])*)"(?: AND |\Z)', re.S)
WORDS = (
    "all alter analyze any as asc begin by cardinality create continuous database databases default delete desc "
    "destinations diagnostics distinct drop duration end every exact explain field for from grant grants group "
    "groups in inf insert into key keys kill limit measurement measurements offset on order password policy "
    "policies privileges queries query read replication resample retention revoke select series set shard shards "
    "show slimit soffset stats subscription subscriptions tag to user users values verbose where with write"
)
KEYWORDS = frozenset(WORDS.split())


def parse(text: str) -> dict[str, str]:
    """Names and values, all of which must hold.

    Raises:
        Malformed: saying what the database could not read.
    """
    found = PAIR.findall(text)
    if rest := PAIR.sub("", text):
        raise Malformed(f"bad logical expression at {rest}")
    if wrong := [bare for _, bare, _ in found if bare.lower() in KEYWORDS]:
        raise Malformed(f"bad tag key {wrong[0]}")
    labels = {quoted or bare: _unescaped(value) for quoted, bare, value in found}
    if "_measurement" not in labels:
        raise Malformed("a measurement must be named")
    return labels


def _unescaped(text: str) -> str:
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] == "n" else found[1], text)
