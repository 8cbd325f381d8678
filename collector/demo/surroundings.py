"""What stands around the demo's rooms and follows the weather by itself: the make room, the soil, the vault above.

None of them keeps a state of its own: each is the season and the slow weather, damped and late. So a room can be
started at any date without knowing what went before.
"""

from dataclasses import dataclass

import numpy as np

from collector.demo.noise import FloatArray, TimeArray, turn, wander
from collector.demo.vapour import saturated_kg_m3
from collector.demo.weather import DAY_MS, HOUR_MS, MEAN_C, SPELLS, mild_c, season

# The make room is heated in winter and open in summer: it keeps a fifth of what the weather does outside.
MAKE_ROOM_C = 19.0
MAKE_ROOM_FOLLOWS = 0.2
MAKE_ROOM_DAY_C = 0.8
MAKE_ROOM_WARMEST_HOUR_UTC = 16.0
# People, the sink and a simmering vat add water to the air, less when the windows stand open; beyond this share
# the panes run.
MAKE_ROOM_ADDS_KG_M3 = 1.9e-3
SUMMER_TAKES = 0.6
MAKE_ROOM_MOST_HUMID = 0.82
# How far the dew point of the air that comes in lies below the mild outside temperature, in winter and in summer.
FRESH_WINTER_K, FRESH_SUMMER_K, FRESH_SPREAD_K = 2.5, 6.5, 1.5
# Soil behind the cellar's walls, two to three metres down; and the earth on the vault, thinner and quicker.
SOIL_MEAN_C, SOIL_SEASON_C, SOIL_LATE_MS, SOIL_FOLLOWS = 11.4, 1.5, 65 * DAY_MS, 0.04
VAULT_MEAN_C, VAULT_SEASON_C, VAULT_LATE_MS, VAULT_FOLLOWS = 11.3, 2.6, 35 * DAY_MS, 0.12
EARTH_WAITS_MS = 5 * DAY_MS


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Make room [degC, kg/m3 of vapour], soil and vault [degC] at the same times."""

    make_room_c: FloatArray
    make_room_kg_m3: FloatArray
    soil_c: FloatArray
    vault_c: FloatArray


def surroundings(seed: int, at_ms: TimeArray) -> Surroundings:
    """The surroundings of the rooms, a pure function of seed and time.

    Args:
        seed: the world's seed, 0 to 2**64 - 1.
        at_ms: times [ms since 1970, UTC], in order.
    Returns:
        The surroundings at those times.
    Raises:
        ValueError: a seed outside its range.
    """
    mild = mild_c(seed, at_ms)
    day = turn(at_ms / DAY_MS - MAKE_ROOM_WARMEST_HOUR_UTC / 24)
    busy = wander(seed, "make room", at_ms, 5 * HOUR_MS)
    room_c = MAKE_ROOM_C + MAKE_ROOM_FOLLOWS * (mild - MEAN_C) + MAKE_ROOM_DAY_C * day + 0.4 * busy
    summer = 0.5 + 0.5 * season(at_ms)
    dryness_k = FRESH_WINTER_K + (FRESH_SUMMER_K - FRESH_WINTER_K) * summer
    dryness_k = dryness_k + FRESH_SPREAD_K * wander(seed, "make room/dry", at_ms, 30 * HOUR_MS)
    added = MAKE_ROOM_ADDS_KG_M3 * (1 + 0.3 * busy) * (1 - SUMMER_TAKES * summer)
    fresh = saturated_kg_m3(mild - dryness_k) + added
    vapour = np.minimum(fresh, MAKE_ROOM_MOST_HUMID * saturated_kg_m3(room_c))
    name, knot_ms, spread_c = SPELLS[0]
    late = spread_c * wander(seed, name, at_ms - EARTH_WAITS_MS, knot_ms)
    soil = SOIL_MEAN_C + SOIL_SEASON_C * season(at_ms, SOIL_LATE_MS) + SOIL_FOLLOWS * late
    vault = VAULT_MEAN_C + VAULT_SEASON_C * season(at_ms, VAULT_LATE_MS) + VAULT_FOLLOWS * late
    return Surroundings(room_c, vapour, soil, vault)
