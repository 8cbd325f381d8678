"""Values kept with the facts that they were made from: other facts, and they are made anew.

Nothing here can be out of date: whoever asks brings the facts as they are now, and gets what was kept only where they
are the same. It pays where comparing is cheaper than making, as for a line of a list in words.
"""

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Value = TypeVar("Value")
MOST = 5_000  # values of one kind; a household has some hundred wheels


class KeptByFacts(Generic[Value]):
    """One value a name, the last that was made."""

    def __init__(self) -> None:
        self._kept: dict[Hashable, tuple[tuple[object, ...], Value]] = {}

    def get(self, name: Hashable, facts: tuple[object, ...], make: Callable[[], Value]) -> Value:
        """What was kept under a name for these very facts, else what `make` makes of them.

        Args:
            facts: everything that `make` looks at; the same objects are told quickly.
        """
        known = self._kept.get(name)
        if known is not None and known[0] == facts:
            return known[1]
        value = make()
        if len(self._kept) >= MOST:
            self._kept.clear()
        self._kept[name] = (facts, value)
        return value
