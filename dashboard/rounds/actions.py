"""What one touch of the round means: the value of a button, and the bodies it stands for; pure.

"turned" is a care, "turned+clean" the same with nothing new on the rind, "looked" a look, "left" the missed care left
undone, "shelf_photo" a photo of all that stands there. The page's own script reads the same values.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from collector.errors import EntryRefused

CLEAN = "+clean"
LOOKED, LEFT, SHELF_PHOTO = "looked", "left", "shelf_photo"
_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")


@dataclass(frozen=True, slots=True)
class Action:
    """One touch: a care by name, or LOOKED or LEFT; `clean`: nothing new was seen on the rind."""

    name: str
    clean: bool = False

    def body(self, more: Mapping[str, Any]) -> dict[str, Any]:
        """The body of the entry; `more` is what else the shelf's form says of a care."""
        if self.name == LOOKED:
            return {"kind": "looked"}
        if self.name == LEFT:
            return {"kind": "left_missed"}
        return {"kind": "care", "care": self.name, **({"nothing_new": True} if self.clean else {}), **more}


def read_action(value: str) -> Action:
    """The action of a button's value.

    Raises:
        EntryRefused: no such value.
    """
    name, clean = value.removesuffix(CLEAN), value.endswith(CLEAN)
    if not _NAME.fullmatch(name):
        raise EntryRefused("do", "Use the page's own buttons.")
    return Action(name, clean)
