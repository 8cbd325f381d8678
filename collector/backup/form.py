"""What stands in a backup: a zip with the parts and, as its last entry, a manifest with their checksums. Pure."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

FORM = 1  # of the file; a newer one is refused with a clear word
MANIFEST = "manifest.json"
READINGS, RECORDS, PHOTOS, SECRETS = "readings.sqlite3", "records.sqlite3", "photos", "secrets"
SETTINGS_FILE = "settings.txt"

Content = tuple[int, str]
"""Of one table: the number of its rows and a digest of what is in them."""


@dataclass(frozen=True, slots=True)
class Part:
    """One file inside the backup: its path in the data folder, size and SHA-256."""

    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds.

    Args:
        form: of the file. made_at: aware UTC. version: of rindwatch that wrote it. secrets: whether they are in it.
        contents: of each database, by part and table.
    """

    form: int
    made_at: datetime
    version: str
    secrets: bool
    parts: tuple[Part, ...]
    contents: Mapping[str, Mapping[str, Content]]

    @property
    def photos(self) -> int:
        return sum(part.name.startswith(f"{PHOTOS}/") for part in self.parts)

    def rows(self, database: str, table: str) -> int:
        """How many rows a table had; 0 where it is not in the backup."""
        return self.contents.get(database, {}).get(table, (0, ""))[0]


def to_json(manifest: Manifest) -> str:
    """The manifest as the file has it."""
    return json.dumps(asdict(manifest) | {"made_at": manifest.made_at.isoformat()}, indent=1)


def from_json(text: str) -> Manifest:
    """The manifest that a file has.

    Raises:
        ValueError: it is not of this form, or names a part that could leave the folder.
    """
    told: Any = json.loads(text)
    try:
        parts = tuple(Part(str(p["name"]), int(p["bytes"]), str(p["sha256"])) for p in told["parts"])
        contents = {
            database: {table: (int(found[0]), str(found[1])) for table, found in tables.items()}
            for database, tables in told["contents"].items()
        }
        made_at = datetime.fromisoformat(told["made_at"])
        manifest = Manifest(int(told["form"]), made_at, str(told["version"]), bool(told["secrets"]), parts, contents)
    except (KeyError, TypeError, AttributeError, IndexError) as error:
        raise ValueError(f"it lacks {error}") from error
    for part in parts:
        if not is_safe(part.name):
            raise ValueError(f"it names the part {part.name[:80]!r}, which could leave the folder")
    return manifest


def is_safe(name: str) -> bool:
    """Whether a part's name stays inside the folder that it is unpacked into."""
    return bool(name) and "\0" not in name and all(step not in ("", ".", "..") for step in name.split("/"))
