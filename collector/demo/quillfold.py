"""Quillfold, an invented dairy: the demo's scenario in one value.

Bands are common practice, no source. They are wide enough for probes that nobody has checked.
"""

from collector.demo.quillfold_incidents import DAIRY, INCIDENTS
from collector.demo.quillfold_probes import PROBES
from collector.demo.quillfold_rooms import (
    BOX,
    CELLAR,
    COLD_FRIDGE,
    COUNTER,
    OUTSIDE,
    ROOMS,
    VISITS,
    WASHED_FRIDGE,
)
from collector.demo.quillfold_shelves import MAKES
from collector.demo.scenario import Air, Band, Place, Scenario

PLACES = (
    Place(
        CELLAR,
        "A vaulted cellar under the barn: natural-rind tommes, cloth-bound cheddar and two alpine wheels.",
        temperature_c=Band(9.0, 14.0),
        humidity_pct=Band(85.0, 94.0),
    ),
    Place(
        WASHED_FRIDGE,
        "An old larder fridge on a thermostat, with a wick humidifier: washed rinds.",
        temperature_c=Band(10.5, 13.5),
        humidity_pct=Band(88.0, 97.0),
    ),
    Place(
        BOX,
        "A lidded box in the washed fridge with a damp cloth: small bloomy cheeses until they are wrapped.",
        within=WASHED_FRIDGE,
        temperature_c=Band(10.5, 14.0),
        humidity_pct=Band(88.0, 97.0),
    ),
    Place(
        COLD_FRIDGE,
        "A second fridge, colder: blues in foil, bagged tommes, wrapped bloomy cheeses.",
        temperature_c=Band(5.0, 8.5),
        humidity_pct=Band(80.0, 95.0),
    ),
    Place(
        COUNTER,
        "The counter in the make room where wheels dry off for a day or two; no probe, a dial on the wall.",
        assumed=Air(18.5, 60.0),
    ),
    Place(OUTSIDE, "The north wall of the barn, in the shade."),
)

QUILLFOLD = Scenario(
    name=DAIRY,
    account="An invented home dairy with a cellar, two old fridges and a box.",
    places=PLACES,
    rooms=ROOMS,
    visits=tuple(VISITS.items()),
    probes=PROBES,
    incidents=INCIDENTS,
    makes=MAKES,
    counter=COUNTER,
    outside=OUTSIDE,
)
