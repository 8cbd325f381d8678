"""Which numbered messages of a probe's boot have been kept, as ranges."""

import sqlite3


class Sequences:
    """Remembers (probe, boot id, sequence number) for ever in a few rows: neighbours merge into one range."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def take(self, probe: str, boot: str, seq: int) -> bool:
        """Note a number; False when it was noted before."""
        below = self._db.execute(
            "SELECT from_seq, to_seq FROM sequence WHERE probe=? AND boot=? AND from_seq<=?"
            " ORDER BY from_seq DESC LIMIT 1",
            (probe, boot, seq),
        ).fetchone()
        if below is not None and below[1] >= seq:
            return False
        self._join(probe, boot, seq, below)
        return True

    def _join(self, probe: str, boot: str, seq: int, below: tuple[int, int] | None) -> None:
        above = self._db.execute(
            "SELECT from_seq, to_seq FROM sequence WHERE probe=? AND boot=? AND from_seq=?",
            (probe, boot, seq + 1),
        ).fetchone()
        first = below[0] if below is not None and below[1] == seq - 1 else seq
        last = above[1] if above is not None else seq
        if above is not None:
            self._db.execute("DELETE FROM sequence WHERE probe=? AND boot=? AND from_seq=?", (probe, boot, seq + 1))
        self._db.execute("INSERT OR REPLACE INTO sequence VALUES (?,?,?,?)", (probe, boot, first, last))
