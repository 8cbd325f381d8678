"""The humidity that suits the wheels of a cave, in words. Only reads: the wheels' part was worked out when kept."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from sqlalchemy import Connection

from dashboard import words
from dashboard.household import Household
from dashboard.weights.around import Around
from dashboard.weights.kept import newest_facts
from dashboard.weights.told import TRIED_PCT
from dashboard.wheels import tables
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.book import Wheel, styles, wheels
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.weight.advice import limits_for
from dashboard.wheels.weight.setting import HIGHEST_PCT, LOWEST_PCT, Setting, Wants, held_pct, suits

STEPS_AN_HOUR = 6


@dataclass(frozen=True, slots=True)
class CaveTold:
    """What is said of a cave.

    Args:
        state, headline: as a card shows them. sentences: beneath. rows: wheel id, code, and the humidity that it wants,
            in words. without: codes of wheels that nothing could be worked out for.
    """

    state: str
    headline: str
    sentences: tuple[str, ...] = ()
    rows: tuple[tuple[str, str, str], ...] = ()
    without: tuple[str, ...] = ()


def cave_told(db: Connection, around: Around, place_id: str, household: Household) -> CaveTold:
    """Which humidity suits the wheels in a place, beside what it has truly held."""
    place = around.facts.places[place_id]
    ids = [place_id, *_shelves(around, place_id)]
    here = _open_to_air(wheels(db, tables.wheel.c.state == "alive", tables.wheel.c.place_id.in_(ids)))
    facts = newest_facts(db, around.now_at)
    own = {style.id: style.sheet for style in styles(db)}
    wanted = {wheel.id: wants(wheel, facts.get(wheel.id, {}), own.get(wheel.style_id or "")) for wheel in here}
    without = tuple(wheel.code or "without a code" for wheel in here if wanted[wheel.id] is None)
    known = [(wheel, want) for wheel in here if (want := wanted[wheel.id]) is not None]
    setting = suits([want for _, want in known])
    held = held_pct(_hourly(around, place_id))
    state, first = headline(setting, held, bool(known), place.name)
    sentences = (_held(held, place.name), _checked(around, place_id, household), *_hopeless(setting))
    rows = tuple((wheel.id, wheel.code or "without a code", range_words(want)) for wheel, want in known)
    return CaveTold(state, first, tuple(one for one in sentences if one), rows, without)


def _shelves(around: Around, place_id: str) -> list[str]:
    """The shelves of a place, and theirs: its air is their air. A box keeps its own."""
    found = [place_id]
    for outer in found:
        inner = (p.id for p in around.facts.places.values() if p.parent_id == outer and p.kind == "shelf")
        found += [shelf_id for shelf_id in inner if shelf_id not in found]
    return found[1:]


def _open_to_air(found: list[Wheel]) -> list[Wheel]:
    """Wheels that the cave's air reaches; what is waxed or bagged asks nothing of it."""
    return [w for w in found if w.covering not in COVERINGS or not COVERINGS[w.covering].air_free]


def wants(wheel: Wheel, facts: Mapping[str, Any], sheet: StyleSheet | None) -> Wants | None:
    """What was worked out for a wheel, beside what its style says today that it may lose."""
    kept = facts.get("wants")
    if not kept:
        return None
    limits = limits_for(sheet.losses, float(facts["start_g"])) if sheet else None
    low_pct, high_pct = (limits.low_pct, limits.high_pct) if limits else (kept["low_pct"], kept["high_pct"])
    much, little = (float(one) for one in kept["loss_pct"])
    code = wheel.code or "without a code"
    return Wants(code, TRIED_PCT, (much, little), float(low_pct), float(high_pct), float(kept["takes_up_pct"]))


def range_words(want: Wants) -> str:
    """The humidity that one wheel wants: "80 to 88 %"."""
    low, high = want.range_pct
    if low >= HIGHEST_PCT:
        return "no humidity will do: it has lost too much already"
    if high <= LOWEST_PCT:
        return "no humidity will do: it cannot lose enough any more"
    if low <= LOWEST_PCT:
        return f"up to {high:.0f} %"
    return f"{low:.0f} to {min(high, HIGHEST_PCT):.0f} %"


def _hourly(around: Around, place_id: str) -> list[float]:
    """Hourly means of what was measured over the last month; nothing assumed."""
    course = around.month_air(place_id).humidity_pct
    measured = np.where(course.known > 0, course.mean, np.nan)
    whole = len(measured) // STEPS_AN_HOUR * STEPS_AN_HOUR
    by_hour = measured[:whole].reshape(-1, STEPS_AN_HOUR)
    known = ~np.isnan(by_hour)
    count = known.sum(axis=1)
    means = np.where(known, by_hour, 0.0).sum(axis=1)[count > 0] / count[count > 0]
    return [float(one) for one in means]


def headline(setting: Setting, held: tuple[float, float] | None, any_known: bool, name: str) -> tuple[str, str]:
    """State and sentence: what suits, beside what this place (of a name) has held; `any_known` of its wheels."""
    if not any_known:
        return "unknown", "No wheel here was weighed often enough to say which humidity suits."
    if setting.middle_pct is not None and setting.low_pct is not None and setting.high_pct is not None:
        ends = f"{setting.low_pct:.0f} to {setting.high_pct:.0f}"
        answer = f"About {setting.middle_pct:.0f} % ({ends}) {_whom(setting)}."
        return _beside_held(setting.low_pct, setting.high_pct, held, answer, name)
    if setting.want_damper and setting.want_drier:
        damper, drier = _listed(setting.want_damper), _listed(setting.want_drier)
        word = "wants" if len(setting.want_damper) == 1 else "want"
        return "watch", f"No one humidity suits most: {damper} {word} it damper than {drier}. Move or cover some."
    return "watch", "No humidity will do for the wheels here: cover them, or move them."


def _beside_held(
    low_pct: float, high_pct: float, held: tuple[float, float] | None, answer: str, name: str
) -> tuple[str, str]:
    """The answer beside what the cave has truly held: it may not be able to do it."""
    if held is None:
        return "unknown", answer
    if high_pct < held[0] or low_pct > held[1]:
        return (
            "bad",
            f"{answer} {_upper(name)} has not shown that it can: it stays between {held[0]:.0f} and {held[1]:.0f} %.",
        )
    middle = sum(held) / 2
    if not low_pct <= middle <= high_pct:
        return "watch", f"{answer} Now it is {'damper' if middle > high_pct else 'drier'} than that most of the time."
    return "good", answer


def _upper(name: str) -> str:
    return name[:1].upper() + name[1:]


def _whom(setting: Setting) -> str:
    """Whom a setting suits: all, or all but those that are named with what they want."""
    others = []
    for codes, what in ((setting.want_damper, "damper"), (setting.want_drier, "drier")):
        if codes:
            others.append(f"{_listed(codes)}, which {'wants' if len(codes) == 1 else 'want'} it {what}")
    if not others:
        return "suits the wheels here"
    return f"suits all but {' and '.join(others)}: move or cover what stands out"


def _listed(codes: tuple[str, ...], most: int = 4) -> str:
    shown = ", ".join(codes[:most])
    return shown if len(codes) <= most else f"{shown} and {len(codes) - most} more"


def _held(held: tuple[float, float] | None, name: str) -> str:
    if held is None:
        return f"The humidity of {name} was not measured in the last month."
    return f"{_upper(name)} held {held[0]:.0f} to {held[1]:.0f} % in the last month, nine hours in ten."


def _checked(around: Around, place_id: str, household: Household) -> str:
    if not around.is_measured(place_id):
        return ""
    checked_at: datetime | None = around.checked_at(place_id)
    u_pct = around.probe_u_pct(place_id)
    when = f"checked {words.long_date(checked_at, household)}" if checked_at else "not checked yet"
    return f"Its probe is good to ± {u_pct:.0f} points ({when}): set it by that probe, and let the wheels tell."


def _hopeless(setting: Setting) -> tuple[str, ...]:
    if not setting.hopeless:
        return ()
    return (f"Left out, since no humidity will do for them: {_listed(setting.hopeless)}.",)
