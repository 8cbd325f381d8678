"""The round marks a wheel that dries otherwise than its kind, with the reason."""

from dataclasses import asdict

from fastapi.testclient import TestClient
from sqlalchemy import Engine

from collector.records.columns import to_ms
from dashboard.weights.kept import Forecast, keep
from dashboard.weights.pace_words import pace_words, say
from dashboard.wheels.weight.pace import AIR, COVERING, FASTER, NEITHER, SLOWER, Pace, Verdict
from tests.dashboard.book_kept import a_wheel
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.dairy import a_place

USUAL, QUICK = asdict(Pace(0.10, 150.0, 1.0, 60.0)), asdict(Pace(0.19, 290.0, 1.0, 60.0))


def test_reasons_in_words() -> None:
    assert say(Verdict(FASTER, AIR, 1.83)) == "dries 1.8 times as fast as its kind: drier air"
    assert say(Verdict(SLOWER, AIR, 0.5)).endswith("damper air")
    assert say(Verdict(FASTER, COVERING, 1.5)).endswith("less covered")
    assert say(Verdict(SLOWER, COVERING, 0.5)).endswith("more covered")
    assert say(Verdict(FASTER, NEITHER, 2.0)).endswith("neither air nor covering tells why")


def test_the_mark_stands_on_the_round(guest: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place = a_place(db)
        ids = [a_wheel(db, f"26-0{number}", 60, place) for number in range(4)]
        for wheel_id, pace in zip(ids, (USUAL, USUAL, USUAL, QUICK), strict=True):
            facts = {"start_g": 2500.0, "style_id": "s", "pace": pace}
            keep(db, Forecast(wheel_id, to_ms(NOW_AT) + 1, 1.0, 2.0, 3.0, facts), NOW_AT)
        assert list(pace_words(db, NOW_AT)) == [ids[3]]
    page = guest.get("/round").text
    assert page.count("dries 1.9 times as fast as its kind: drier air") == 1
    assert f'href="/wheels/{ids[3]}/weight"' in page
