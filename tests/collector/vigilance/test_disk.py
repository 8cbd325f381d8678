"""How long the disk lasts. The thresholds are the project's own choice; no outside source."""

import pytest

from collector.vigilance.disk import Disk, DiskUse, days_left
from collector.vigilance.findings import HOUSE, Handed, View
from tests.collector.notify.builders import NOON, a_warning

DAY_MS, GB = 86_400_000, 1_000_000_000


def view(is_open: bool = False) -> View:
    before = {("disk_low", HOUSE): a_warning("disk_low", None)} if is_open else {}
    return View(NOON, Handed(True), {}, before)


def test_a_disk_lasts_as_long_as_its_usual_pace_lets_it() -> None:
    samples = [(n * DAY_MS, 100 * GB - n * 2 * GB) for n in range(8)]
    assert days_left(samples, 86 * GB) == pytest.approx(43)


def test_one_day_of_copying_is_no_pace() -> None:
    free = [100, 99, 98, 60, 59, 58, 57]
    samples = [(n * DAY_MS, room * GB) for n, room in enumerate(free)]
    assert days_left(samples, 57 * GB) == pytest.approx(57)


@pytest.mark.parametrize("samples", [[], [(0, GB)], [(n * DAY_MS, 9 * GB - n * GB) for n in range(5)]])
def test_few_days_tell_nothing(samples: list[tuple[int, int]]) -> None:
    assert days_left(samples, GB) is None


def test_a_disk_that_is_not_filling_lasts_without_end() -> None:
    assert days_left([(n * DAY_MS, GB + n) for n in range(9)], GB) is None


@pytest.mark.parametrize(
    ("free", "total", "is_open", "low"),
    [
        (499_000_000, 100 * GB, False, True),
        (501_000_000, 100 * GB, False, False),
        (550_000_000, 100 * GB, True, True),
        (601_000_000, 100 * GB, True, False),
        (60_000_000, GB, False, False),
        (49_000_000, GB, False, True),
    ],
)
def test_low_is_half_a_gigabyte_or_a_twentieth_of_a_small_disk(free: int, total: int, is_open: bool, low: bool) -> None:
    look = Disk(lambda: DiskUse(free, total)).look(view(is_open))
    assert bool(look.found) is low
