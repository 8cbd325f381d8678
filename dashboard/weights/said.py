"""What is said of one wheel's weight, in the words of a keeper. The numbers come from `answer`."""

from collections.abc import Sequence

from dashboard import words
from dashboard.household import Household
from dashboard.weights.answer import Answer
from dashboard.weights.around import Around
from dashboard.weights.known import day_of
from dashboard.wheels.kinds.coverings import COVERINGS
from dashboard.wheels.losses import START_WORDS
from dashboard.wheels.weight.advice import Choice
from dashboard.wheels.weight.moisture import (
    STANDARD,
    Composition,
    after_loss,
    fat_class,
    fat_free_moisture_pct,
    fat_in_dry_pct,
    firmness,
)

MOST_LOSS_PCT = 45.0  # beyond it no cheese has water to lose; the number would be a mere lengthening of a line
UNKNOWN_WORTH_SAYING = 0.05
FORMS = {
    "falling": "It dries more slowly the older its rind is, as a bare hard wheel does.",
    "steady": "It dries evenly for the air around it.",
    "breathing": "It loses weight in damp air too: a living rind breathes part of it away.",
}


def lost(pct: float) -> str:
    """A loss in words: "11 %", or what is beyond all sense."""
    if pct > MOST_LOSS_PCT:
        return f"over {MOST_LOSS_PCT:.0f} %"
    text = f"{pct:.1f} %" if pct < 9.95 else f"{pct:.0f} %"
    return text.removeprefix("-") if float(text.split(" ")[0]) == 0 else text


def interval(low: float, high: float) -> str:
    """Both ends of an interval of losses: "9.1 to 13"."""
    return f"{lost(low).removesuffix(' %')} to {lost(high).removesuffix(' %')}"


def headline(answer: Answer, around: Around, household: Household) -> tuple[str, str]:
    """State (good, watch, unknown) and the one sentence that answers."""
    known, limits = answer.known, answer.known.limits
    if limits and answer.loss_low_pct < limits.low_pct and answer.loss_high_pct > limits.high_pct:
        return "unknown", f"The weighings cannot tell yet. {_plain_sentence(answer, household)}"
    if answer.cover is not None and not answer.cover.never:
        return "watch", _cover_sentence(answer, around, household)
    if limits is None:
        return "unknown", _plain_sentence(answer, household)
    if answer.is_too_dry:
        return (
            "watch",
            f"It will be drier than usual. {_plain_sentence(answer, household)}{_move(answer, around, 'or ')}",
        )
    if answer.is_too_damp:
        return "watch", f"It dries too little here. {_plain_sentence(answer, household)}{_move(answer, around, '')}"
    usual = f"{limits.low_pct:g} to {limits.high_pct:g} % is usual for {_size_word(known.start_g, household)}."
    return "good", f"On course. {_plain_sentence(answer, household)} {usual}"


def _plain_sentence(answer: Answer, household: Household) -> str:
    day = words.short_date(day_of(answer.known.due_ms, household), household)
    ends = interval(answer.loss_low_pct, answer.loss_high_pct)
    return f"By {day} it will have lost about {lost(answer.loss_pct)} ({ends})."


def _size_word(start_g: float, household: Household) -> str:
    return f"a wheel of {words.weight(start_g, household)}"


def _cover_sentence(answer: Answer, around: Around, household: Household) -> str:
    cover = answer.cover
    if cover is None:
        raise ValueError("there is no day to cover this wheel on")
    what = cover_words(answer.cover_with)
    move = _move(answer, around, "or ")
    if cover.is_now:
        return f"{what} now: it will be drier than was aimed at in any case.{move}"
    day, first, last = (
        words.short_date(day_of(at, household), household) for at in (cover.on_ms, cover.from_ms, cover.to_ms)
    )
    return f"{what} about {day} ({first} to {last}).{move}"


def cover_words(name: str) -> str:
    """How one says that a wheel is put under a covering."""
    word = COVERINGS[name].word if name in COVERINGS else name.replace("_", " ")
    if name.endswith("_bag"):
        return f"Bag it ({word})"
    return {"wax": "Wax it", "coat": "Coat it", "oil": "Oil it"}.get(name, f"Wrap it in {word}")


def _move(answer: Answer, around: Around, join: str) -> str:
    """The place that would bring it within its limits; or that there is none."""
    better = best_place(answer)
    if better is None:
        if answer.known.limits is None:
            return ""
        return " None of your places would bring it there." if len(answer.places) > 1 else ""
    place = around.place(better.name)
    name = place.name if place else better.name
    text = f"{join}move it to {name} ({lost(better.loss_pct)})."
    return f" {text[:1].upper()}{text[1:]}"


def best_place(answer: Answer) -> Choice | None:
    """The other place that brings the wheel nearest to the middle of its limits, if it comes within them."""
    limits = answer.known.limits
    if limits is None:
        return None
    others = [c for c in answer.places if c.name != answer.known.place_id]
    fitting = [c for c in others if limits.low_pct <= c.loss_pct <= limits.high_pct]
    return min(fitting, key=lambda one: abs(one.loss_pct - limits.aim_pct), default=None)


def sentences(answer: Answer, around: Around, household: Household) -> list[str]:
    """What stands beneath the headline."""
    found = [_few(answer), _against_last_three(answer), _in_target(answer), _after_covering(answer)]
    found += [
        _unknown(answer),
        probe_words(answer, around, household),
        FORMS[answer.known.fit.form] if _tells(answer) else "",
    ]
    if not answer.known.due_is_ready:
        found.append("No ready day is known: its style or its day of making is missing, so 60 days are looked ahead.")
    return [one for one in found if one]


def _tells(answer: Answer) -> bool:
    return not answer.known.fit.is_plain


def _few(answer: Answer) -> str:
    if _tells(answer):
        return ""
    count = len(answer.known.fit.used)
    weighed = "Only one weighing" if count == 1 else f"Only {count} weighings"
    return f"{weighed}: a plain line is drawn, and it is not sure. Weigh it each week for a month."


def _against_last_three(answer: Answer) -> str:
    if answer.last_three_pct is None:
        return ""
    apart = answer.loss_pct - answer.last_three_pct
    if abs(apart) < 1:
        return f"Your last three stood at about the same at this age ({lost(answer.last_three_pct)})."
    return (
        f"Staying here it dries about {abs(apart):.0f} {'point' if round(abs(apart)) == 1 else 'points'} "
        f"{'more' if apart > 0 else 'less'} than your last three at this age ({lost(answer.last_three_pct)})."
    )


def _in_target(answer: Answer) -> str:
    if answer.in_target is None:
        return ""
    course = answer.in_target.course
    middle, low, high = (answer.known.loss_pct(float(g[-1])) for g in (course.middle_g, course.high_g, course.low_g))
    return f"In the air that this place should have it would be {lost(middle)} ({interval(low, high)})."


def _after_covering(answer: Answer) -> str:
    if answer.cover is None or answer.cover.never:
        return ""
    course = answer.cover.course
    middle, low, high = (answer.known.loss_pct(float(g[0])) for g in (course.middle_g, course.high_g, course.low_g))
    return f"Covered on that day it will have lost {lost(middle)} ({interval(low, high)}) by its ready day."


def _unknown(answer: Answer) -> str:
    share = 1 - answer.known.past.known_share
    if share < UNKNOWN_WORTH_SAYING:
        return ""
    return f"There are no readings for {100 * share:.0f} % of its time here; that makes the answer wider."


def probe_words(answer: Answer, around: Around, household: Household) -> str:
    """How well the air of its place is known."""
    place = around.place(answer.known.place_id)
    if place is None:
        return "Nobody said where it stands, so its air is a guess."
    if not around.is_measured(place.id):
        return f"The air of {place.name} is assumed, not measured."
    if not around.has_own_probe(place.id):
        return (
            f"{place.name} has no probe of its own: the air of the room around it stands in, which widens the answer."
        )
    checked_at = around.checked_at(place.id)
    said = f"checked {words.long_date(checked_at, household)}" if checked_at else "not checked yet"
    return (
        f"Humidity there is known to ± {around.probe_u_pct(place.id):.0f} points ({said}), and stretches as long as "
        f"the time to come differed by ± {answer.spread_pct:.0f}."
    )


def odd_words(answer: Answer, household: Household) -> list[str]:
    """The weighings that did not fit, each with what it likely was."""
    weighings = answer.known.fit.weighings
    return [
        f"{words.long_date(day_of(int(weighings.at_ms[odd.index]), household), household)}: "
        f"{words.weight(float(weighings.weight_g[odd.index]), household)} is {words.weight(abs(odd.grams), household)} "
        f"too {'heavy' if odd.grams > 0 else 'light'}, {odd.words}."
        for odd in answer.known.fit.odd
    ]


def start_words(answer: Answer, household: Household) -> str:
    """What loss is counted from."""
    start = answer.known.book.history.start
    if start is None:
        return ""
    on = words.long_date(start.at, household)
    return f"Loss counts from: {START_WORDS[start.name]}, {on}, {words.weight(start.net_g, household)}."


def moisture_words(answer: Answer, start: Composition | None) -> list[str]:
    """Moisture at the ready day and the Codex's words, where a starting moisture was given."""
    if start is None or answer.loss_high_pct >= start.moisture_pct:
        return []
    middle, dry, damp = (after_loss(start, one) for one in (answer.loss_pct, answer.loss_high_pct, answer.loss_low_pct))
    found = [
        f"Moisture by its ready day about {middle.moisture_pct:.0f} % ({dry.moisture_pct:.0f} to "
        f"{damp.moisture_pct:.0f}), from {start.moisture_pct:g} % at its start; nothing but water is reckoned as lost."
    ]
    fat_free, in_dry = fat_free_moisture_pct(middle), fat_in_dry_pct(middle)
    if fat_free is not None and in_dry is not None:
        classes = " or ".join(firmness(fat_free)) or "outside all its classes"
        found.append(
            f"{STANDARD}: {classes} ({fat_free:.0f} % moisture without its fat), {fat_class(in_dry)} "
            f"({in_dry:.0f} % of the dry matter)."
        )
    return found


def choice_rows(choices: Sequence[Choice], names: dict[str, str]) -> list[tuple[str, str, str]]:
    """Name, loss and interval of each choice."""
    return [(names.get(c.name, c.name), lost(c.loss_pct), interval(c.low_pct, c.high_pct)) for c in choices]
