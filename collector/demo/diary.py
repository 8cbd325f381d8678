"""What the demo knows of its own past, in a file beside its data."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path

SEED = 7
DIARY = "demo.json"
DAY_MS = 86_400_000


@dataclass(slots=True)
class Diary:
    """What the demo knows of its own past.

    Args:
        seed: of the world. anchor_ms: the first start.
        past_from_ms: from where on the past is written; 0 while the newest fortnight is not.
        live_to_ms: up to where the live probes have published; 0 before they have.
    """

    seed: int
    anchor_ms: int
    past_from_ms: int = 0
    live_to_ms: int = 0

    @classmethod
    def open(cls, path: Path, seed: int, now_ms: int) -> "Diary":
        """The diary of an earlier start, or a new one."""
        return cls(**json.loads(path.read_text())) if path.exists() else cls(seed, now_ms)

    def save(self, path: Path) -> None:
        part = path.with_suffix(".part")
        part.write_text(json.dumps(asdict(self)))
        part.replace(path)
