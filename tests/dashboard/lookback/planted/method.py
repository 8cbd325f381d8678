"""Hands a planted cave to the look-back, as the product does with a household's own."""

from dashboard.lookback.episodes import Case, episodes_of, evidence
from dashboard.lookback.exposures import Limits, hours_of
from dashboard.lookback.sightings import Sighting
from dashboard.lookback.windows import DAY_MS, against, stretches, window_before
from tests.dashboard.lookback.planted.air import BAND_PCT, WARMEST_C
from tests.dashboard.lookback.planted.marking import Answer
from tests.dashboard.lookback.planted.worlds import World

LEAST_OWN_KNOWN = 0.6


def look_back(world: World, draws: int = 999) -> Answer:
    """What the look-back puts first, and whether it says that it stands out."""
    limits = Limits(BAND_PCT[1], BAND_PCT[0], WARMEST_C)
    hours = hours_of(world.grid_ms, world.temperature_c, world.humidity_pct, world.known, limits)
    record_d = float(world.grid_ms[-1] - world.grid_ms[0]) / DAY_MS
    cases = []
    windows = [window_before(n.clean_ms, n.seen_ms, n.short_d, n.long_d) for n in world.notes]
    for episode in episodes_of(windows):
        window = episode.window
        pool = stretches(hours, window.to_ms - window.from_ms)
        own = stretches(hours, window.to_ms - window.from_ms, window.from_ms)
        if len(own) and own.known[0] >= LEAST_OWN_KNOWN:
            told = tuple(
                Sighting(windows[i], n.clean_ms, n.seen_ms, n.short_d, n.long_d)
                for i, n in ((i, world.notes[i]) for i in episode.notes)
            )
            cases.append(Case("cave", own, pool, against(pool, window, record_d).rows, told))
    found = evidence(cases, draws=draws)
    return Answer("", stands_out=False) if found is None else Answer(found.names[0], found.stands_out)
