"""Whose air it is, how sure, and how old, in plain words."""

from collections.abc import Mapping
from datetime import date, datetime

from collector.air.channel import TYPED_PREFIX
from collector.air.model import Origin
from collector.calibration.history import NEW_SENSOR
from collector.records.columns import from_ms
from dashboard import words
from dashboard.air_now import AirNow, Now
from dashboard.household import Household

Names = Mapping[str, str]
CHECKED_COVERAGE = 2.0  # GUM (JCGM 100:2008), 6.3: a coverage of about 95 %


def whose(now: Now, probe_names: Names, place_names: Names) -> str:
    """Where a value comes from: "by probe cellar-front, which speaks for this place"; "" where nothing is known."""
    probes = sorted({reading.channel.probe for reading in now.readings})
    match now.origin:
        case Origin.LEAD:
            return f"by probe {called(probes[0], probe_names)}, which speaks for this place" if probes else ""
        case Origin.MEDIAN:
            one = f"by probe {called(probes[0], probe_names)}" if probes else ""
            return one if len(probes) < 2 else f"the middle of {len(probes)} probes"
        case Origin.TYPED:
            return f"typed, {called(probes[0], probe_names)}" if probes else "typed"
        case Origin.PARENT:
            return f"not measured here, as in {place_names.get(now.place_id, 'the room')} around it"
        case Origin.ASSUMED:
            return "assumed, not measured"
    return ""


def whose_air(air: AirNow, probe_names: Names, place_names: Names) -> str:
    """Where temperature and humidity come from, said once where it is the same."""
    of_temperature = whose(air.temperature_c, probe_names, place_names)
    of_humidity = whose(air.humidity_pct, probe_names, place_names)
    if of_temperature == of_humidity or not of_humidity:
        return of_temperature
    if not of_temperature:
        return of_humidity
    return f"temperature {of_temperature}; humidity {of_humidity}"


def called(probe: str, names: Names) -> str:
    """A probe by the name that people gave it; a person's instrument by its own."""
    if probe.startswith(TYPED_PREFIX):
        return probe.rsplit("/", 1)[-1]
    return names.get(probe) or probe


def checked_on(now: Now, household: Household) -> date | None:
    """When the probes behind a value were last checked, the longest ago of them; None when one never was."""
    if not _is_checked(now):
        return None
    made = [reading.piece.calibration for reading in now.readings if reading.piece.calibration is not None]
    return min(check.known_from_at.astimezone(household.zone).date() for check in made)


def reach(now: Now, uncertainty: float | None = None) -> float:
    """The "±" that a person reads, 0 where nothing is known of it.

    Of a checked probe it is twice the standard uncertainty, as where it was checked. What stands for an unchecked one,
    typed or assumed, are limits as data sheets and people give them, and shown as they are.

    Args:
        uncertainty: of something derived from the value, None for the value's own.
    """
    own = now.uncertainty if uncertainty is None else uncertainty
    if own != own:
        return 0.0
    return CHECKED_COVERAGE * own if _is_checked(now) else own


def _is_checked(now: Now) -> bool:
    """Whether every probe behind a value was checked; the uncertainty of a new sensor is a data sheet's limit."""
    checks = [reading.piece.calibration for reading in now.readings]
    return bool(checks) and all(check is not None and check.method != NEW_SENSOR for check in checks)


def humidity(now: Now, household: Household) -> str:
    """A humidity with how sure it is and when its probe was checked: "87 % ± 3, not checked yet"."""
    if now.value is None or not now.readings:
        return words.humidity(now.value, household) + (f" ± {reach(now):.0f}" if now.value is not None else "")
    return words.humidity(now.value, household, reach(now), checked_on(now, household))


def sure_temperature(reach_k: float, household: Household) -> str:
    """How sure a temperature is: "± 0.3", in the household's degrees."""
    return f"± {words.temperature_step(reach_k, household).split(' ')[0]}"


def read_at(air: AirNow) -> datetime | None:
    """When the newest reading of the place's air was taken."""
    return None if air.newest_ms is None else from_ms(air.newest_ms)
