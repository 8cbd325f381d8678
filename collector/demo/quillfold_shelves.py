"""The wheels of Quillfold: thirteen months of makes, some thirty wheels and two batches of small cheeses."""

from collector.demo.quillfold_rooms import BOX, CELLAR, COLD_FRIDGE, COUNTER, WASHED_FRIDGE
from collector.demo.shelves import MakePlan, Route
from collector.demo.wheels import Style

TOMME = Style("natural-rind tomme", fresh_k=4.8e-9, settles_d=20.0, activity=0.970)
CHEDDAR = Style("cloth-bound cheddar", fresh_k=5.0e-9, settles_d=30.0, activity=0.955)
ALPINE = Style("alpine", fresh_k=2.8e-9, settles_d=18.0, activity=0.965)
WASHED = Style("washed rind", fresh_k=4.5e-9, settles_d=40.0, activity=0.978, breathes_g_m2_d=3.0)
BLUE = Style("blue", fresh_k=3.6e-9, settles_d=30.0, activity=0.955)
BLOOMY = Style("bloomy", fresh_k=5.0e-9, settles_d=30.0, activity=0.982, breathes_g_m2_d=5.0)
BAGGED = Style("bagged", fresh_k=5.0e-9, settles_d=25.0, activity=0.960)

TO_CELLAR = Route(stays=((0, COUNTER), (2, CELLAR)))
CLOTH = Route(stays=((0, COUNTER), (2, CELLAR)), coverings=((0, "bare"), (1, "cloth with fat")))
TO_WASHED = Route(stays=((0, COUNTER), (1, WASHED_FRIDGE)))
TO_COLD = Route(stays=((0, COUNTER), (2, COLD_FRIDGE)), coverings=((0, "bare"), (56, "foil")))
TO_BOX = Route(stays=((0, COUNTER), (1, BOX), (13, COLD_FRIDGE)), coverings=((0, "bare"), (13, "two-ply paper")))
IN_A_BAG = Route(stays=((0, COUNTER), (4, COLD_FRIDGE)), coverings=((0, "bare"), (4, "breathable bag")))
# Two months on the cellar's shelf, then bagged in the cold fridge.
BAGGED_LATE = Route(
    stays=((0, COUNTER), (2, CELLAR), (62, COLD_FRIDGE)), coverings=((0, "bare"), (62, "breathable bag"))
)

MAKES = (
    MakePlan(398, CHEDDAR, CLOTH, 220, 145, (372, 390)),
    MakePlan(391, TOMME, TO_CELLAR, 205, 100, (121, 160)),
    MakePlan(352, BAGGED, IN_A_BAG, 180, 95, (None,)),
    MakePlan(338, TOMME, TO_CELLAR, 205, 98, (118, 131)),
    MakePlan(301, WASHED, TO_WASHED, 130, 42, (48,)),
    MakePlan(288, ALPINE, TO_CELLAR, 300, 110, (None,)),
    MakePlan(276, TOMME, TO_CELLAR, 200, 100, (97, 143)),
    MakePlan(241, CHEDDAR, CLOTH, 220, 150, (None, None)),
    MakePlan(213, TOMME, TO_CELLAR, 205, 102, (110, 125)),
    MakePlan(187, WASHED, TO_WASHED, 135, 42, (44, 52)),
    MakePlan(158, TOMME, BAGGED_LATE, 205, 100, (None, 140)),
    MakePlan(137, BLUE, TO_COLD, 180, 100, (121, None)),
    MakePlan(103, TOMME, TO_CELLAR, 200, 98, (None, None)),
    MakePlan(91, WASHED, TO_WASHED, 130, 40, (47,)),
    MakePlan(79, ALPINE, TO_CELLAR, 300, 112, (None,)),
    MakePlan(61, TOMME, TO_CELLAR, 205, 100, (None, None)),
    MakePlan(54, BLUE, TO_COLD, 180, 98, (None,)),
    MakePlan(43, WASHED, TO_WASHED, 130, 42, (None, None)),
    MakePlan(31, BLOOMY, TO_BOX, 95, 36, (None,), pieces=14),
    MakePlan(25, TOMME, TO_CELLAR, 205, 100, (None, None)),
    MakePlan(16, WASHED, TO_WASHED, 130, 41, (None, None)),
    MakePlan(9, BLOOMY, TO_BOX, 95, 36, (None,), pieces=12),
    MakePlan(5, TOMME, TO_CELLAR, 205, 101, (None,)),
)
