"""A thumb on the round: counts its touches, and reads what the book holds."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Page, expect
from sqlalchemy import select

from collector.records.engine import open_records, reading
from collector.settings import Settings
from dashboard.wheels import tables

COUNT = """
window.touches = 0;
addEventListener("pointerdown", (event) => {
  if (!event.target.closest("[data-key]")) window.touches++;
}, true);
"""
WAIT_S = 20.0


def counting(page: Page) -> Callable[[], int]:
    """Counts touches from now on; the digits of a number are not counted, since paper has them too."""
    page.evaluate(COUNT)
    return lambda: int(page.evaluate("window.touches"))


def type_keys(page: Page, digits: str) -> None:
    for digit in digits:
        page.locator(f'dialog[open] [data-key="{digit}"]').tap()


def listen(page: Page) -> None:
    """Count what the page says it saved; before the page is opened."""
    page.add_init_script(
        "window.saves = 0; document.addEventListener('outbox', (e) => saves += e.detail.kind === 'saved');"
    )


@contextmanager
def kept(page: Page, times: int = 1) -> Iterator[None]:
    """What is done inside is saved on the phone, and then sent."""
    before = int(page.evaluate("window.saves"))
    yield
    until(lambda: int(page.evaluate("window.saves")) >= before + times, "nothing was saved")
    all_sent(page)


def all_sent(page: Page) -> None:
    """Wait until nothing waits on the phone any more."""
    until(lambda: waiting_count(page) == 0, "something still waits on the phone")


def until(is_so: Callable[[], bool], otherwise: str, wait_s: float = WAIT_S) -> None:
    """Ask again and again; the page's policy lets no test poll from inside it."""
    deadline = time.monotonic() + wait_s
    while not is_so():
        assert time.monotonic() < deadline, otherwise
        time.sleep(0.05)


def waiting_count(page: Page) -> int:
    return int(page.evaluate("() => rindwatch.store.waiting().then((all) => all.length)"))


def book(settings: Settings, **wanted: Any) -> list[dict[str, Any]]:
    """The book's entries that have these values, in the order of their ids."""
    engine = open_records(settings.records_at)
    query = select(tables.entry).order_by(tables.entry.c.id)
    for name, value in wanted.items():
        query = query.where(tables.entry.c[name] == value)
    with reading(engine) as db:
        found = [dict(row) for row in db.execute(query).mappings()]
    engine.dispose()
    return found


def line(page: Page, wheel_id: str) -> Any:
    """The line of a wheel."""
    found = page.locator(f"#w-{wheel_id}")
    expect(found).to_be_visible()
    return found
