"""What lies between a rind and the air, one row each.

`openness` is how much of the water that a bare rind would give off still leaves: bare is 1. It is our choice, and only
a first guess for the weight model, which widens its interval by it. Two bounds are published: a bare rind passes about
1e-9 to 1e-8 kg m-2 s-1 Pa-1, a film or wax 1e-11 to 1e-10, so films and wax stand near 0.01; Picque et al. 2011 (doi
10.3168/jds.2010-3373) lost 15 % from an unwrapped Camembert and 0.5 to 12 % through four films of 1.6 to 500 g m-2 d-1,
so a breathable wrap lies between 0.03 and 0.8. Everything between those bounds: common practice, no source.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Covering:
    """One kind of covering.

    Args:
        name: as it stands in the book; never changed once released.
        word: what a person reads.
        openness: share of a bare rind's water loss that it lets through, 0..1, for one coat.
        coats: whether it is laid on in coats, each of which lets through `openness` of the one below.
        air_free: whether it keeps the air itself away (then the raw-milk and bag cautions apply).
        hides: whether the rind cannot be seen through it.
    """

    name: str
    word: str
    openness: float
    coats: bool = False
    air_free: bool = False
    hides: bool = False

    def lets_through(self, coats: int = 1) -> float:
        """Share of a bare rind's loss let through by so many coats, 0..1; fewer than one coat is refused."""
        if coats < 1:
            raise ValueError(f"coats of {self.name} must be at least 1, got {coats}")
        return self.openness**coats if self.coats else self.openness


BARE = "bare"

COVERINGS: dict[str, Covering] = {
    row.name: row
    for row in (
        Covering(BARE, "bare", 1.0),
        Covering("ash", "ash", 0.95),
        Covering("leaf", "leaf", 0.6, hides=True),
        Covering("straw", "straw or hay", 0.8, hides=True),
        Covering("herbs", "herbs or spices", 0.9, hides=True),
        Covering("coat", "coat", 0.5, coats=True),
        Covering("oil", "oil", 0.7, coats=True),
        Covering("fat", "fat", 0.5, coats=True),
        Covering("cloth", "cloth", 0.8, hides=True),
        Covering("cloth_fat", "cloth with fat", 0.5, hides=True),
        Covering("wax", "wax", 0.02, air_free=True, hides=True),
        Covering("two_ply", "two-ply paper", 0.4, hides=True),
        Covering("waxed_paper", "waxed paper", 0.25, hides=True),
        Covering("foil", "foil", 0.03, air_free=True, hides=True),
        Covering("breathable_bag", "breathable bag", 0.1, air_free=True),
        Covering("barrier_bag", "barrier bag", 0.005, air_free=True),
        Covering("film", "cling film", 0.05, air_free=True),
        Covering("in_oil", "under oil", 0.0, air_free=True),
        Covering("in_brine", "in brine", 0.0, air_free=True),
    )
}
