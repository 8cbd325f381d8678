"""The look-back on a few planted caves; the whole table is `python -m tests.bench.bench_planted`."""

from functools import partial

from tests.dashboard.lookback.planted.marking import mark
from tests.dashboard.lookback.planted.method import look_back

QUICK = partial(look_back, draws=199)


def test_the_planted_cause_is_mostly_named_first():
    marks = [mark(QUICK, kind, 365, 5, range(6)) for kind in ("damp", "sweat", "swing")]
    assert sum(row.named_first for row in marks) >= 14


def test_it_seldom_cries_wolf_where_no_air_was_to_blame():
    marks = [mark(QUICK, kind, 365, 5, range(10)) for kind in ("chance", "vat")]
    assert sum(row.falsely for row in marks) <= 4


def test_one_episode_never_stands_out():
    assert mark(QUICK, "sweat", 365, 1, range(8)).stood_out == 0
