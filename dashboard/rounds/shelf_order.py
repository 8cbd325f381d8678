"""Where wheels stand on their shelf, in the person's own order; pure."""

from collections.abc import Mapping, Sequence

GAP = 1_000  # room between two wheels, so that one put between them moves nobody else
MOST = 100_000  # the highest position that the book keeps


def put_before(order: Sequence[tuple[str, int | None]], wheel_id: str, before: str | None) -> Mapping[str, int]:
    """The positions that change when a wheel is put before another one.

    Args:
        order: the shelf's wheels with their positions, in the order in which they stand.
        wheel_id: the wheel that is put. before: the wheel that it comes to stand before; None: at the end.
    Returns:
        New positions by wheel id: one where there is room, all that must move where there is none.
    Raises:
        ValueError: a wheel that is not on the shelf.
    """
    known = dict(order)
    if wheel_id not in known or (before is not None and before not in known):
        raise ValueError(f"wheel {wheel_id if wheel_id not in known else before} is not on this shelf")
    if wheel_id == before:
        return {}
    rest = [own for own, _position in order if own != wheel_id]
    at = len(rest) if before is None else rest.index(before)
    own = _between(known.get(rest[at - 1]) if at else 0, known.get(rest[at]) if at < len(rest) else MOST)
    if own is not None and all(known[one] is not None for one in rest):
        return {} if known[wheel_id] == own else {wheel_id: own}
    return _anew([*rest[:at], wheel_id, *rest[at:]], known)


def _between(low: int | None, high: int | None) -> int | None:
    """A whole number between two, near the lower one; None where there is no room."""
    if low is None or high is None or high - low < 2:
        return None
    return min(low + GAP, (low + high) // 2)


def _anew(order: Sequence[str], known: Mapping[str, int | None]) -> Mapping[str, int]:
    step = max(1, min(GAP, MOST // (len(order) + 1)))
    positions = {wheel_id: (number + 1) * step for number, wheel_id in enumerate(order)}
    return {wheel_id: position for wheel_id, position in positions.items() if known[wheel_id] != position}
