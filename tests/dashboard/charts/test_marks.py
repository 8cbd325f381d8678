"""What happened, as marks: found by place and time, cut to the chart, named as people name it."""

from datetime import datetime, timedelta

from sqlalchemy import Engine, insert, update

from collector.notify.known import load_known
from collector.notify.telling import word
from collector.records.columns import to_ms
from collector.records.tables import probe_setting, warning
from dashboard.charts.mark import ChartMark, Search
from dashboard.charts.marks import MARK_KINDS, Lane, lanes
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place, a_placement, a_warning

DAY = timedelta(days=1)


def found_in(engine: Engine, place_id: str, from_at: datetime = NOW_AT - DAY, to_at: datetime = NOW_AT) -> list[Lane]:
    with engine.begin() as db:
        return lanes(Search(db, load_known(db, NOW_AT), place_id, to_ms(from_at), to_ms(to_at)))


def test_a_warning_that_lasts_reaches_to_the_charts_end_and_begins_inside_it(engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        warning_id = a_warning(db, "too_dry", hours_ago=48, place_id=place_id)
        a_warning(db, "too_warm", hours_ago=5, for_h=2, place_id=place_id)
    (lane,) = found_in(engine, place_id)
    assert lane.kind.name == "warnings"
    assert lane.marks[0] == ChartMark(to_ms(NOW_AT - DAY), to_ms(NOW_AT), "too dry", f"/warnings/{warning_id}")
    assert (lane.marks[1].at_ms, lane.marks[1].to_ms) == (
        to_ms(NOW_AT - timedelta(hours=5)), to_ms(NOW_AT - timedelta(hours=3)),
    )  # fmt: skip


def test_what_was_before_after_elsewhere_or_taken_back_is_not_there(engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_warning(db, hours_ago=60, for_h=2, place_id=place_id)
        a_warning(db, hours_ago=2, place_id=a_place(db, "Elsewhere"))
        taken_back = a_warning(db, hours_ago=2, place_id=place_id)
        db.execute(update(warning).where(warning.c.id == taken_back).values(withdrawn_at=NOW_AT))
    assert found_in(engine, place_id) == []
    earlier = found_in(engine, place_id, NOW_AT - 3 * DAY, NOW_AT - 2 * DAY)
    assert [len(lane.marks) for lane in earlier] == [1]


def test_a_probes_trouble_stands_apart_under_the_name_that_people_gave_it(engine: Engine) -> None:
    with engine.begin() as db:
        place_id = a_place(db)
        a_placement(db, "p", place_id)
        a_placement(db, "q", a_place(db, "Elsewhere"))
        db.execute(insert(probe_setting), [{"probe": "p", "name": "Old Bess", "time_pointer": "", "time_form": ""}])
        for probe in ("p", "q"):
            a_warning(db, "stuck", hours_ago=3, probe=probe, field="humidity")
    (lane,) = found_in(engine, place_id)
    assert lane.kind == MARK_KINDS["probe_warnings"]
    assert [mark.words for mark in lane.marks] == [f"Old Bess: {word('stuck')}"]
