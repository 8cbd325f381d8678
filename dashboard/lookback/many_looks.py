"""Paying for many looks: Benjamini and Hochberg's adjustment; pure."""

from collections.abc import Sequence


def benjamini_hochberg(p: Sequence[float]) -> list[float]:
    """Adjusted p-values: rejecting those up to q keeps the share of false ones among them at q.

    Args:
        p: p-values, 0 <= p <= 1, in any order.
    Returns:
        One adjusted value for each, in the same order, at most 1; an empty list for none.
    Raises:
        ValueError: a value outside that range, NaN too.
    Source: Benjamini and Hochberg 1995, J. R. Statist. Soc. B 57:289-300.
    """
    for value in p:
        if not 0 <= value <= 1:
            raise ValueError(f"p must be from 0 to 1, got {value:g}")
    order = sorted(range(len(p)), key=lambda i: p[i], reverse=True)
    adjusted, least = [1.0] * len(p), 1.0
    for place, i in enumerate(order):
        least = min(least, p[i] * len(p) / (len(p) - place))
        adjusted[i] = least
    return adjusted
