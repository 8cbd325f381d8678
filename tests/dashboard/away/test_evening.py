"""The line of each evening: done, not done; once a day, also across restarts."""

from datetime import timedelta

from sqlalchemy import Engine, select

from collector.clock import ManualClock
from collector.notify.away import Away, keep_away
from collector.notify.channels import add_channel
from collector.records.columns import new_id
from collector.records.engine import reading
from collector.records.tables import outbox, person
from dashboard.away.evening import EveningLine, day_words
from dashboard.wheels.bodies.doings import Care, RindNote
from dashboard.wheels.bodies.sheets import PlanLine, StyleSheet
from tests.dashboard.book_kept import a_style, a_wheel, enter
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place

TODAY = NOW_AT.date()


def lines(engine: Engine) -> list[tuple[str, str]]:
    with reading(engine) as db:
        rows = db.execute(select(outbox.c.title, outbox.c.body).where(outbox.c.kind == "evening"))
        return [(row.title, row.body) for row in rows]


def somebody_is_away(engine: Engine) -> None:
    with engine.begin() as db:
        ids = [new_id(), new_id()]
        for person_id, name in zip(ids, ("Owner", "Neighbour"), strict=True):
            db.execute(person.insert().values(id=person_id, name=name, role="owner", created_at=NOW_AT))
        add_channel(db, "apprise", "Phone", {"url": "mailto://x"}, NOW_AT, person_id=ids[0])
        keep_away(db, Away(TODAY, TODAY + timedelta(days=1), ids[1], ids[0]))


def a_shelf(engine: Engine) -> list[str]:
    with engine.begin() as db:
        place_id, style_id = a_place(db, "Upper board"), a_style(db)
        plan = (PlanLine(care="turned", every_d=1),)
        enter(db, StyleSheet(name="tomme", plan=plan), 300, style_id=style_id)
        return [a_wheel(db, code, 21, place_id, style_id=style_id) for code in ("W1", "W2", "W3")]


def test_the_line_says_what_was_done_what_was_not_and_what_is_new(engine: Engine) -> None:
    first, second, third = a_shelf(engine)
    with engine.begin() as db:
        enter(db, Care(care="turned"), 1, wheel_id=third)  # so it is due on this very day, not late
        for wheel_id in (first, second):
            enter(db, Care(care="turned"), 0.1, wheel_id=wheel_id)
        enter(db, RindNote(note="blue_spots"), 0.1, wheel_id=first)
    with reading(engine) as db:
        words = day_words(db, TODAY, NOW_AT)
    assert words.title == "This evening: 2 done, 1 not done"
    assert words.body.splitlines()[:2] == ["Done: turned 2.", "Not done: turn W3."]
    assert words.body.splitlines()[2].startswith("New: ")
    assert words.body.endswith("on W1.")


def test_a_day_on_which_all_was_done_and_one_without_anything_say_so(engine: Engine) -> None:
    with reading(engine) as db:
        assert day_words(db, TODAY, NOW_AT).title == "This evening: nothing was due"
    for wheel_id in a_shelf(engine):
        with engine.begin() as db:
            enter(db, Care(care="turned"), 0.1, wheel_id=wheel_id)
    with reading(engine) as db:
        words = day_words(db, TODAY, NOW_AT)
    assert (words.title, words.body) == (
        "This evening: all 3 done",
        "Done: turned 3.\nEverything that was due is done.",
    )


def test_it_comes_once_a_day_also_when_the_dashboard_starts_anew(engine: Engine) -> None:
    somebody_is_away(engine)
    clock = ManualClock(NOW_AT)
    told = []
    for _ in range(24 * 4):
        if EveningLine(engine, clock).step():  # each look by a dashboard that has just started
            told.append(f"{clock.now():%d %H:%M}")
        clock.advance(timedelta(minutes=30))
    assert told == ["12 20:10", "13 20:10"]
    assert len(lines(engine)) == 2


def test_without_anybody_away_nothing_is_written(engine: Engine) -> None:
    clock = ManualClock(NOW_AT + timedelta(hours=7))
    assert not EveningLine(engine, clock).step()
    assert lines(engine) == []
