"""Sessions are kept by the digest of their token, are seen by their person and ended one by one."""

import hashlib

from sqlalchemy import Engine, insert, select

from collector.clock import ManualClock
from collector.records.tables import person, session
from dashboard.people import sessions


def _person(engine: Engine, clock: ManualClock, name: str) -> str:
    with engine.begin() as db:
        db.execute(insert(person), [{"id": name, "name": name, "role": "owner", "created_at": clock.now()}])
    return name


def test_the_token_itself_is_not_kept(engine: Engine, clock: ManualClock) -> None:
    who = _person(engine, clock, "ann")
    with engine.begin() as db:
        token = sessions.open_session(db, who, "a phone", clock.now())
        kept = db.execute(select(session)).one()
    assert token not in repr(kept)
    assert kept.token_hash == hashlib.sha256(token.encode()).hexdigest()
    assert len(token) >= 43  # 256 bits as base64


def test_a_session_is_found_by_its_token_alone(engine: Engine, clock: ManualClock) -> None:
    who = _person(engine, clock, "ann")
    with engine.begin() as db:
        token = sessions.open_session(db, who, "a phone", clock.now())
    found = sessions.find(engine, token, clock)
    assert found is not None
    assert (found.person.name, found.person.role) == ("ann", "owner")
    assert sessions.find(engine, token + "x", clock) is None
    assert sessions.find(engine, found.id, clock) is None


def test_one_of_two_is_ended_by_its_own_person_only(engine: Engine, clock: ManualClock) -> None:
    ann, bob = _person(engine, clock, "ann"), _person(engine, clock, "bob")
    with engine.begin() as db:
        first, second = (sessions.open_session(db, ann, f"phone {n}", clock.now()) for n in (1, 2))
        one, _two = sorted(sessions.devices(db, ann), key=lambda device: device.device)
        assert not sessions.end(db, bob, one.id)
        assert sessions.end(db, ann, one.id)
        assert not sessions.end(db, ann, one.id)
    assert sessions.find(engine, first, clock) is None
    assert sessions.find(engine, second, clock) is not None


def test_ticks_belong_to_one_phone(engine: Engine, clock: ManualClock) -> None:
    who = _person(engine, clock, "ann")
    with engine.begin() as db:
        for n in (1, 2):
            sessions.open_session(db, who, f"phone {n}", clock.now())
        first, second = sorted(sessions.devices(db, who), key=lambda device: device.device)
        sessions.tick(db, first.id, "trusted")
        sessions.tick(db, first.id, "offline")
        assert sessions.ticks(db, first.id) == {"trusted": True, "offline": True}
        assert sessions.ticks(db, second.id) == {}
        assert sessions.ticks(db, "") == {}
