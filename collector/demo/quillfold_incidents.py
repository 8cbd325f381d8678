"""What goes wrong at Quillfold: the fortnight before the first start, the year before that, and the time to come."""

from collector.demo.incidents import IncidentKind, IncidentPlan
from collector.demo.quillfold_rooms import CELLAR, COLD_FRIDGE, WASHED_FRIDGE

DAIRY = "Quillfold"
CELLAR_BACK_PROBE = "cellar-back"
COLD_FRIDGE_PROBE = "cold-fridge"

# What lies ahead comes again every six weeks, for a year.
AHEAD_EVERY_D = 42
AHEAD_TIMES = 9


# Empty after a morning on which nobody filled it, and filled again on a later round: rounds are at 06:40 UTC.
def _dry(place: str, days_back: int, days: int, account: str) -> IncidentPlan:
    return IncidentPlan(IncidentKind.HUMIDIFIER_DRY, place, days_back, 7.0, days * 24 - 0.5, account, ramp_h=10.0)


def _ajar(place: str, days_back: int, account: str) -> IncidentPlan:
    return IncidentPlan(IncidentKind.DOOR_AJAR, place, days_back, 20.5, 9.75, account)


def _power_cut(days_back: int, account: str) -> IncidentPlan:
    return IncidentPlan(IncidentKind.POWER_CUT, DAIRY, days_back, 2.0 + 1 / 6, 3.5, account)


def _stuck(probe: str, place: str, days_back: int, account: str) -> IncidentPlan:
    return IncidentPlan(IncidentKind.PROBE_STUCK, place, days_back, 5.0, 24.0, account, probe=probe)


def _damp(days_back: int, account: str) -> IncidentPlan:
    return IncidentPlan(IncidentKind.DAMP_SPELL, CELLAR, days_back, 9.0, 14 * 24.0, account, ramp_h=12.0)


def _failing(place: str, days_back: int, account: str) -> IncidentPlan:
    days = 21.0
    return IncidentPlan(
        IncidentKind.COOLER_FAILING,
        place,
        days_back,
        10.0,
        days * 24,
        account,
        strength=0.93,
        ramp_h=days * 24,
    )


RECENT = (
    IncidentPlan(
        IncidentKind.HUMIDIFIER_DRY,
        WASHED_FRIDGE,
        1,
        2.0,
        76.5,
        "The washed fridge's humidifier ran out of water yesterday and nobody has noticed.",
        ramp_h=16.0,
    ),
    _ajar(WASHED_FRIDGE, 4, "The washed fridge stood ajar overnight, a board was in the way of the door."),
    _power_cut(6, "The power was out from 02:10 to 05:40 UTC."),
    _dry(CELLAR, 10, 2, "The cellar's humidifier stood dry for two days, the keeper was at a market."),
    _stuck(CELLAR_BACK_PROBE, CELLAR, 13, "The probe at the back of the cellar sent the same values for a day."),
)

THIS_YEAR = (
    _ajar(COLD_FRIDGE, 33, "The cold fridge stood ajar overnight."),
    _failing(COLD_FRIDGE, 66, "The cold fridge's compressor lost its gas over three weeks, then was mended."),
    _dry(WASHED_FRIDGE, 82, 2, "The washed fridge's humidifier stood dry over a weekend."),
    _dry(CELLAR, 101, 3, "The cellar's humidifier stood dry over a long weekend."),
    _damp(124, "The cellar's drain backed up and its floor stood wet for a fortnight."),
    _ajar(CELLAR, 149, "The cellar door stood ajar overnight."),
    _stuck(COLD_FRIDGE_PROBE, COLD_FRIDGE, 171, "The cold fridge's probe sent the same values for a day."),
    _power_cut(203, "The power was out before dawn for three and a half hours."),
    _dry(WASHED_FRIDGE, 226, 2, "The washed fridge's humidifier stood dry for two days."),
    _damp(262, "The cellar's floor stood wet for a fortnight after rain."),
    _failing(WASHED_FRIDGE, 318, "The washed fridge's compressor weakened over three weeks, then was replaced."),
    _dry(CELLAR, 344, 2, "The cellar's humidifier stood dry for two days."),
    _ajar(WASHED_FRIDGE, 361, "The washed fridge stood ajar overnight."),
)


def _ahead(again: int) -> tuple[IncidentPlan, ...]:
    later = again * AHEAD_EVERY_D
    return (
        _ajar(COLD_FRIDGE, -6 - later, "The cold fridge stood ajar overnight."),
        _dry(CELLAR, -12 - later, 2, "The cellar's humidifier stood dry for two days."),
        _power_cut(-19 - later, "The power was out before dawn for three and a half hours."),
        _stuck(CELLAR_BACK_PROBE, CELLAR, -25 - later, "The probe at the back of the cellar was stuck for a day."),
        _dry(WASHED_FRIDGE, -33 - later, 2, "The washed fridge's humidifier stood dry for two days."),
    )


INCIDENTS = RECENT + THIS_YEAR + tuple(plan for again in range(AHEAD_TIMES) for plan in _ahead(again))
