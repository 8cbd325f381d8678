"""A phone that means harm: what another site makes it send, what it sends again after it was signed out, forged names.

Beside these: sent twice, another photo under one id, oversized, interrupted and no photo at all in
tests/dashboard/api/test_photos.py and test_entries.py; pixel bombs in tests/dashboard/wheels/test_photos.py.
"""

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine, func, select

from collector.records.columns import new_id
from dashboard.wheels import tables
from tests.dashboard.api import test_entries as entries
from tests.dashboard.api import test_photos as photos


def kept(engine: Engine) -> tuple[int, int]:
    """How many entries and photos there are."""
    with engine.connect() as db:
        counts = [
            db.execute(select(func.count()).select_from(table)).scalar_one() for table in (tables.entry, tables.photo)
        ]
    return counts[0], counts[1]


@pytest.mark.parametrize(
    "headers",
    [{"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": "http://192.168.7.20:9"},
     {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}],
    ids=str,
)  # fmt: skip
def test_another_site_sends_neither_entry_nor_photo(
    helper: TestClient, engine: Engine, headers: dict[str, str]
) -> None:
    helper.headers.pop("origin", None)
    helper.headers.update(headers)
    assert entries.send(helper, entries.turned()).status_code == 403
    assert photos.send(helper, new_id(), photos.a_photo()).status_code == 403
    assert kept(engine) == (0, 0)


def test_what_was_sent_is_no_good_again_once_the_phone_is_signed_out(helper: TestClient, engine: Engine) -> None:
    cookies, entry = dict(helper.cookies), entries.turned()
    assert entries.send(helper, entry).status_code == 201
    assert helper.post("/sign-out").status_code == 303
    helper.cookies.update(cookies)
    assert entries.send(helper, entry).status_code == 401
    assert entries.send(helper, entries.turned()).status_code == 401
    assert photos.send(helper, new_id(), photos.a_photo()).status_code == 401
    assert kept(engine) == (1, 0)


def test_nobody_enters_under_another_name_or_time_of_receipt(helper: TestClient, engine: Engine) -> None:
    answer = entries.send(helper, entries.turned(who="Keeper", received_at="2020-01-01T00:00:00Z"))
    with engine.connect() as db:
        rows = db.execute(select(tables.entry.c.who, tables.entry.c.received_at)).all()
    assert answer.status_code in {201, 422}
    assert all(row.who.startswith("The helper") and row.received_at.year == 2026 for row in rows)
