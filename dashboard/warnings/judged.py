"""The tally of warnings and the offers after false alarms, out of the records and ready for the page."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from collector.notify.known import Known
from collector.notify.telling import word
from collector.records.facts import Facts, holding
from collector.records.places import load_facts
from collector.records.tables import warning
from collector.records.warnings import CaveWarning
from dashboard import links_to, words
from dashboard.household import Household
from dashboard.warnings.found import since_target_changed
from dashboard.warnings.tally import COUNTED, SIDES, Offer, offer, tally

Counted = tuple[str, str, int, int, int]  # a line of the tally: about, what, times, right, false alarms


@dataclass(frozen=True, slots=True)
class OfferShown:
    """What false alarms suggest: one way for each change, leading to the target with the change filled in."""

    subject: str
    word: str
    false_alarms: int
    ways: tuple[tuple[str, str], ...]


def tally_shown(db: Connection, known: Known, now_at: datetime) -> tuple[Counted, ...]:
    """The tally of the last season."""
    rows = db.execute(select(warning).where(warning.c.withdrawn_at.is_(None), warning.c.opened_at >= now_at - COUNTED))
    ones = [CaveWarning(**row._mapping) for row in rows]
    subjects = {(one.place_id, one.probe): known.subject(one) for one in ones}
    return tuple(
        (subjects[row.place_id, row.probe], word(row.rule), row.times, row.right, row.false) for row in tally(ones)
    )


def offers_for(db: Connection, known: Known, household: Household, now_at: datetime) -> tuple[OfferShown, ...]:
    """The changes that three or more false alarms of a kind suggest."""
    rows = db.execute(
        select(warning)
        .where(warning.c.judged == "false", warning.c.withdrawn_at.is_(None), warning.c.place_id.is_not(None))
        .where(warning.c.rule.in_(SIDES), warning.c.opened_at >= now_at - COUNTED)
    )
    by_kind: dict[tuple[str, str], list[CaveWarning]] = {}
    for row in rows:
        by_kind.setdefault((row.place_id, row.rule), []).append(CaveWarning(**row._mapping))
    if not by_kind:
        return ()
    facts = load_facts(db)
    found = (_offer(facts, place_id, ones, now_at) for (place_id, _), ones in by_kind.items())
    return tuple(_shown(one, known, household) for one in found if one is not None)


def _offer(facts: Facts, place_id: str, ones: list[CaveWarning], now_at: datetime) -> Offer | None:
    own = since_target_changed(facts, place_id, ones)
    return offer(own, holding(facts.targets.get(place_id, []), now_at), now_at)


def _shown(found: Offer, known: Known, household: Household) -> OfferShown:
    ways = []
    if found.grace_min is not None:
        said = f"Wait {words.duration(found.grace_min * 60)} before warning"
        ways.append((said, links_to.targets(found.place_id, {"grace_min": found.grace_min})))
    if found.limit is not None:
        said = f"Move the limit to {_limit(found, household)}"
        ways.append((said, links_to.targets(found.place_id, {found.column: f"{found.limit:g}"})))
    place = known.place_names.get(found.place_id, "")
    return OfferShown(place, word(found.rule), found.false_alarms, tuple(ways))


def _limit(found: Offer, household: Household) -> str:
    if found.column.startswith("temperature"):
        return words.temperature(found.limit, household)
    return words.humidity(found.limit, household)
