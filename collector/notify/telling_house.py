"""What the rules of the vigil say beside their word: silence, the network, the disk, the clock, copies; pure, total."""

from collections.abc import Callable, Mapping

from collector.notify import facts
from collector.notify.household import clock_time, duration, moment, stretch, temperature
from collector.notify.known import Known
from collector.records.warnings import CaveWarning

Say = Callable[[CaveWarning, Known], list[str]]


def _silent_now(warning: CaveWarning, known: Known) -> list[str]:
    usual_s = facts.real(warning.facts, "usual_s")
    heard_at = facts.since(warning)
    usual = f"; it usually speaks every {duration(usual_s)}" if usual_s else ""
    return [f"last heard {moment(heard_at, warning.found_at, known.household)}{usual}"]


def _over(_warning: CaveWarning, _known: Known) -> list[str]:
    return []


def _count(warning: CaveWarning, name: str) -> str:
    number = facts.real(warning.facts, name)
    if number is None or number < 1:
        return ""
    return "1 probe" if number == 1 else f"{number:.0f} probes"


def _nothing_heard_now(warning: CaveWarning, _known: Known) -> list[str]:
    probes = _count(warning, "probes")
    return [f"nothing from {probes} (power or network)" if probes else "power or network"]


def _outage_was(warning: CaveWarning, known: Known) -> list[str]:
    """After an outage: how long nothing was heard, and how each place took it."""
    from_at, to_at = facts.time_of(warning.facts, "from_ms"), facts.time_of(warning.facts, "to_ms")
    now = warning.cleared_at or warning.found_at
    gap = ""
    if from_at and to_at:
        gap = f"nothing heard {stretch(from_at, to_at, now, known.household)} (power or network)"
    elif warning.facts.get("caught_up") is True:
        gap = "the probes kept what they measured and have sent it since"
    places = [_place_took_it(row, known) for row in facts.rows(warning.facts, "places")]
    return [part for part in (gap, *places) if part]


def _place_took_it(row: dict[str, object], known: Known) -> str:
    name = known.place_names.get(facts.text(row, "place_id"), "")
    back, last = facts.real(row, "back_c"), facts.real(row, "last_c")
    if not name or back is None or last is None:
        return ""
    said = f"{name} came back at {temperature(back, known.household)}"
    turned_at = facts.time_of(row, "turned_ms")
    course = facts.text(row, "course")
    if course in ("cooling", "warming") and turned_at is not None:
        return f"{said}, {course} again since {clock_time(turned_at, known.household)}"
    if course in ("cooling", "warming"):
        return f"{said}, now {temperature(last, known.household)} and {course}"
    return f"{said}, steady" if course == "steady" else said


def _broker_now(warning: CaveWarning, _known: Known) -> list[str]:
    probes = _count(warning, "probes")
    return [f"so nothing can be heard from {probes}; they keep what they can" if probes else "so nothing can be heard"]


def _disk_now(warning: CaveWarning, _known: Known) -> list[str]:
    free, days = facts.real(warning.facts, "free_bytes"), facts.real(warning.facts, "days_left")
    left = f"at this pace it lasts about {days:.0f} days" if days is not None else ""
    return [part for part in (f"{_bytes(free)} free" if free is not None else "", left) if part]


def _bytes(number: float) -> str:
    return f"{number / 1e9:.1f} GB" if number >= 1e9 else f"{number / 1e6:.0f} MB"


def _disk_was(warning: CaveWarning, _known: Known) -> list[str]:
    free = facts.real(warning.facts, "free_bytes")
    return [f"{_bytes(free)} free again"] if free is not None else []


def _clock_says(warning: CaveWarning, known: Known) -> list[str]:
    by_s, kind = facts.real(warning.facts, "by_s"), facts.text(warning.facts, "kind")
    at = facts.time_of(warning.facts, "at_ms") or warning.opened_at
    if by_s is None:
        return []
    if kind == "jump":
        way = "ahead" if by_s > 0 else "back"
        return [f"it went {way} by {duration(by_s)} at {moment(at, warning.found_at, known.household)}"]
    return [f"it is about {duration(by_s)} behind what it or the probes said"] if kind == "behind" else []


def _probe_clock_now(warning: CaveWarning, _known: Known) -> list[str]:
    by_s = facts.real(warning.facts, "by_s")
    return [f"by about {duration(by_s)}"] if by_s is not None else []


def _copy_now(warning: CaveWarning, known: Known) -> list[str]:
    last_at = facts.time_of(warning.facts, "last_ms")
    if last_at is None:
        return ["no copy has been made yet"]
    return [f"the newest is of {moment(last_at, warning.found_at, known.household)}"]


def _second_store_now(warning: CaveWarning, known: Known) -> list[str]:
    state = {"away": "it does not answer", "shut": "it does not let us in"}.get(facts.text(warning.facts, "kind"))
    if warning.facts.get("never") is True:
        return ["it has not been complete yet", state or "it is being filled"]
    at = moment(facts.since(warning), warning.found_at, known.household)
    return [f"it has everything up to {at}", state or "it is catching up"]


def _copy_not_sent_now(warning: CaveWarning, known: Known) -> list[str]:
    last_at = facts.time_of(warning.facts, "last_ms")
    if last_at is None:
        return ["no copy has reached it yet"]
    return [f"the newest there is of {moment(last_at, warning.found_at, known.household)}"]


def _collector_now(warning: CaveWarning, known: Known) -> list[str]:
    since = moment(facts.since(warning), warning.found_at, known.household)
    return [f"no sign of it since {since}, so nothing is watched"]


TELLERS: Mapping[str, tuple[Say, Say]] = {
    "probe_silent": (_silent_now, _over),
    "nothing_heard": (_nothing_heard_now, _outage_was),
    "broker_lost": (_broker_now, _outage_was),
    "store_refusing": (_over, _over),
    "disk_low": (_disk_now, _disk_was),
    "clock_astray": (_clock_says, _clock_says),
    "probe_clock": (_probe_clock_now, _over),
    "copy_old": (_copy_now, _over),
    "copy_failed": (_copy_now, _over),
    "copy_not_sent": (_copy_not_sent_now, _over),
    "trial_failed": (_over, _over),
    "second_store_behind": (_second_store_now, _over),
    "collector_silent": (_collector_now, _over),
}
