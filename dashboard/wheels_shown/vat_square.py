"""*Vat or cave?* as pages show it: the square around one note, or the makes and places of a kind of note. Only reads.

The look-back page shows the same square: `square_shown(db, bout, looked)` and the macro of `parts/vat_square.html`.
"""

from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection

from dashboard import words
from dashboard.household import Household
from dashboard.lookback.compared import MAKE
from dashboard.lookback.trade_experience import AIR_WORDS, PRACTICE, Experience, experience_of, refused_as_air
from dashboard.lookback.vat_or_cave import Answer, Square, about_kind, about_note
from dashboard.lookback.vat_words import Quarter, Said, headline, quarter, reasons, said, unseen_words
from dashboard.rounds.row_words import rind_word
from dashboard.rounds.shelves import Looked
from dashboard.wheels.vat_rows import VatRows, vat_rows
from dashboard.wheels.vat_time import Bout, Span, around, whole
from dashboard.wheels_shown.one import make_words


@dataclass(frozen=True, slots=True)
class Quarters:
    """The square: same make and place, same make elsewhere, other makes here, all the others."""

    same_both: Quarter
    same_make: Quarter
    same_place: Quarter
    neither: Quarter


@dataclass(frozen=True, slots=True)
class VatShown:
    """What is shown, in words.

    Args:
        refused: why this is no question of the air, "" if it is one. time: which time was asked about.
        square: of one note; None for a kind of note. makes, caves: the two comparisons, or all of them.
        others: what else the sick wheels shared. experience: the trade's own words, never part of the evidence.
    """

    headline: str
    reasons: tuple[str, ...]
    refused: str
    time: str
    square: Quarters | None
    makes: tuple[Said, ...]
    caves: tuple[Said, ...]
    others: tuple[Said, ...]
    unseen: str
    experience: Experience | None
    air_word: str
    practice: str = field(default=PRACTICE)


def square_shown(db: Connection, bout: Bout, looked: Looked) -> VatShown:
    """Vat or cave, for the note that a bout began with."""
    span = around(bout, looked.now_at)
    refused = refused_as_air(bout.kind)
    found = vat_rows(db, span)
    answer = about_note(found.rows, bout.wheel_id, air_asked=not refused)
    return _shown(answer, found, looked, refused, note_time(bout, looked.now_at, looked.household))


def kind_shown(db: Connection, kind: str, since_at: datetime, looked: Looked) -> VatShown:
    """Vat or cave, for every note of a kind since a day."""
    refused = refused_as_air(kind)
    found = vat_rows(db, whole(kind, since_at, looked.now_at))
    answer = about_kind(found.rows, air_asked=not refused)
    return _shown(answer, found, looked, refused, kind_time(found.span, looked.household))


def _shown(answer: Answer, found: VatRows, looked: Looked, refused: str, time: str) -> VatShown:
    names = dict(found.names)
    names |= {(MAKE, make.id): make_words(make, looked.household) for make in found.makes}
    names |= {(MAKE, key): f"made {words.long_date(on, looked.household)}" for key, on in found.made_on.items()}
    experience = experience_of(found.span.kind)
    return VatShown(
        headline=headline(answer, air_asked=not refused),
        reasons=reasons(answer),
        refused=refused,
        time=time,
        square=_quarters(answer.square) if answer.square else None,
        makes=tuple(said(one, names) for one in answer.vats),
        caves=tuple(said(one, names) for one in answer.caves),
        others=tuple(said(one, names) for one in answer.others),
        unseen=unseen_words(answer),
        experience=experience,
        air_word=AIR_WORDS[experience.air] if experience else "",
    )


def _quarters(square: Square) -> Quarters:
    return Quarters(
        quarter(square.same_both), quarter(square.same_make), quarter(square.same_place), quarter(square.neither)
    )


def note_time(bout: Bout, now_at: datetime, household: Household) -> str:
    """Which time is asked about, in a sentence."""
    to = words.moment(bout.to_at, now_at, household)
    if bout.clean_known:
        return f"Last seen clean {words.moment(bout.from_at, now_at, household)}, first seen {to}."
    since = words.long_date(bout.from_at, household)
    return f"First seen {to}. Nobody saw it clean before, so all since {since} is looked at."


def kind_time(span: Span, household: Household) -> str:
    """Which time is asked about, in a sentence."""
    return f"All wheels that were there since {words.long_date(span.from_at, household)}."


def kind_word(kind: str, looked: Looked) -> str:
    """What a kind of note is called."""
    return rind_word(kind, looked.own)
