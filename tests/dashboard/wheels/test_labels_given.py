"""Short codes, each given once."""

from sqlalchemy import Connection, insert

from dashboard.wheels import tables
from dashboard.wheels.codes import short_code
from dashboard.wheels.entries import put
from dashboard.wheels.labels_given import give_label, label_of, subject_of
from tests.dashboard.wheels.builders import OTHER, SHELF, WHEEL, a_wheel, day, new


def test_a_label_is_given_once_and_stays(db: Connection) -> None:
    code = give_label(db, "wheel", WHEEL, day(0))
    assert give_label(db, "wheel", WHEEL, day(9)) == code == label_of(db, WHEEL)
    assert subject_of(db, code) == ("wheel", WHEEL)


def test_two_subjects_never_share_a_code(db: Connection) -> None:
    taken = short_code(SHELF)
    db.execute(insert(tables.label).values(code=taken, of="wheel", subject_id=WHEEL, given_at=day(0)))
    assert give_label(db, "place", SHELF, day(1)) == short_code(SHELF, 1)


def test_a_persons_own_code_is_not_given_to_another(db: Connection) -> None:
    put(db, new(a_wheel(short_code(SHELF)), wheel=OTHER), received_at=day(1))
    assert give_label(db, "place", SHELF, day(1)) == short_code(SHELF, 1)


def test_what_has_no_label_has_none(db: Connection) -> None:
    assert label_of(db, WHEEL) is None
    assert subject_of(db, "ZZZZZZ") is None
