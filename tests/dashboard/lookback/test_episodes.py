"""Episodes and the permutation test, against counting every case and against SciPy's Monte Carlo test."""

from itertools import pairwise, product

import numpy as np
import pytest
from scipy.stats import monte_carlo_test

from dashboard.lookback.episodes import Case, core_of, episodes_of, evidence
from dashboard.lookback.exposures import HOUR_MS, Hours
from dashboard.lookback.windows import DAY_MS, Window, stretches


def windows(*spans):
    return [Window(round(a * DAY_MS), round(b * DAY_MS)) for a, b in spans]


def test_notes_of_one_spell_are_one_episode_narrowed_down():
    (only,) = episodes_of(windows((0, 10), (4, 12), (5, 11)))
    assert only.window == windows((5, 10))[0]
    assert only.notes == (0, 1, 2)


def test_notes_far_apart_are_episodes_in_order_of_time():
    found = episodes_of(windows((50, 60), (0, 10), (2, 9)))
    assert [e.notes for e in found] == [(1, 2), (0,)]


def test_notes_that_overlap_a_little_go_with_the_larger_group():
    (only,) = episodes_of(windows((0, 10), (1, 11), (8, 20)))
    assert only.window == windows((1, 10))[0]
    assert only.notes == (0, 1, 2)


def test_no_two_episodes_ever_overlap():
    drawn = np.random.default_rng(6)
    for _ in range(50):
        spans = [(a, a + length) for a, length in zip(drawn.uniform(0, 90, 9), drawn.uniform(2, 20, 9), strict=True)]
        found = episodes_of(windows(*spans))
        assert sorted(note for one in found for note in one.notes) == list(range(9))
        assert all(a.window.to_ms <= b.window.from_ms for a, b in pairwise(found))


def test_the_core_is_where_most_windows_lie():
    assert core_of(windows((0, 4), (3, 8), (3, 6))) == windows((3, 4))[0]
    with pytest.raises(ValueError, match="at least one"):
        core_of([])


def a_case(place, at_h, hours, name="too_damp_h", rows=None):
    pool = stretches(hours, 24 * HOUR_MS)
    own = stretches(hours, 24 * HOUR_MS, int(hours.start_ms[at_h]))
    return Case(place, own, pool, np.ones(len(pool), dtype=bool) if rows is None else rows)


def a_record(seed, days=60, **named):
    drawn = np.random.default_rng(seed)
    n = days * 24
    by_name = named or {"too_damp_h": np.clip(np.repeat(drawn.normal(size=days), 24), 0, 1)}
    return Hours(HOUR_MS * np.arange(n, dtype=np.int64), np.ones(n), by_name)


def terms_of(case, name="too_damp_h"):
    """What a case laid at its own place, then at each window of its pool, gives to the score, by the sentences in
    `evidence` and `spells_of`, one loop at a time: for each kind of spell (rows) the logarithm of the mixture."""
    value, starts = case.pool.record.by_name[name], [int(ms) // HOUR_MS for ms in case.pool.start_ms]
    hours, rows = case.pool.length_ms // HOUR_MS, []
    for span in (24, 72, 168):
        padded = [*value, *[value.mean()] * span]
        over = np.array([np.mean(padded[h : h + span]) for h in range(len(value))])
        for level in (0.3, 0.6, 0.8, 0.9, 0.95):
            usual = np.quantile(over, level)
            above = np.array([max(one - usual, 0.0) for one in over])
            there = np.array([above[h : h + hours].mean() for h in [int(case.own.start_ms[0]) // HOUR_MS, *starts]])
            density = there / there[1:].mean() if there.any() else np.ones(len(there))
            rows.append(np.log(0.25 + 0.75 * density))
    return np.array(rows)


def score(terms):
    """Of the terms of all cases together: the mean over the kinds of spell."""
    return np.log(np.mean(np.exp(terms), axis=0))


def three_cases():
    return [a_case(f"cave {i}", at, a_record(i)) for i, at in enumerate((240, 700, 1100))]


def test_the_p_value_is_that_of_counting_every_way_to_lay_the_episodes():
    cases = three_cases()
    one, two, three = (terms_of(case) for case in cases)
    own = score(one[:, 0] + two[:, 0] + three[:, 0])
    thinned = (terms[:, 1::6] for terms in (one, two, three))
    every = score(np.array([sum(parts) for parts in product(*(terms.T for terms in thinned))]).T)
    found = evidence(cases, draws=4000, seed=5)
    assert found is not None
    assert found.scores[0] == pytest.approx(own, abs=1e-9)
    assert found.p == pytest.approx((every >= own - 1e-9).mean(), abs=0.03)


def test_the_p_value_is_that_of_a_monte_carlo_test_of_scipy():
    cases = three_cases()
    each = [terms_of(case) for case in cases]

    def drawn(size):
        rng = np.random.default_rng(8)
        return np.stack([rng.integers(1, terms.shape[1], size[0]) for terms in each], axis=1)

    def statistic(sample, axis):
        places = np.moveaxis(np.asarray(sample), axis, -1)
        return score(sum(terms[:, places[..., i]] for i, terms in enumerate(each)))

    theirs = monte_carlo_test(np.zeros(3, dtype=int), drawn, statistic, n_resamples=4000, alternative="greater").pvalue
    found = evidence(cases, draws=4000, seed=5)
    assert found is not None
    assert found.p == pytest.approx(float(theirs), abs=0.03)


def test_looking_at_many_exposures_is_paid_for():
    drawn = np.random.default_rng(3)
    noise = {n: drawn.normal(size=1440).clip(0) for n in ("sweat_h", "too_dry_h", "too_warm_h", "swing_pct")}
    damp = np.clip(np.repeat(drawn.normal(size=60), 24), 0, 1)
    records = [a_record(i, **{"too_damp_h": damp, **noise}) for i in range(3)]
    cases = [
        a_case(f"cave {i}", at, record) for i, (at, record) in enumerate(zip((240, 700, 1100), records, strict=True))
    ]
    alone, many = evidence(cases, ("too_damp_h",)), evidence(cases)
    assert alone is not None
    assert many is not None
    at = many.names.index("too_damp_h")
    assert many.p_of[at] >= alone.p


def test_episodes_of_one_place_never_lie_upon_each_other():
    # Three damp days in a row among sixty: alone each could take the best, together they cannot.
    damp = np.zeros(1440)
    damp[720:792] = 1.0
    record = a_record(0, too_damp_h=damp)
    cases = [a_case("cave", at, record) for at in (720, 744, 768)]
    found = evidence(cases, draws=2000)
    assert found is not None
    assert found.scores[0] > 0
    assert found.p < 0.01 or found.together


def test_episodes_that_crowd_are_also_moved_all_together():
    season = np.repeat(np.sin(np.linspace(0, 2 * np.pi, 360)).clip(0), 24)
    record = a_record(0, 360, too_damp_h=season)
    crowd = [a_case("cave", at * 24, record) for at in (90, 105, 120, 135)]
    spread = [a_case("cave", at * 24, record) for at in (20, 130, 240, 350)]
    crowded, apart = evidence(crowd), evidence(spread)
    assert crowded is not None
    assert apart is not None
    assert crowded.together
    assert not apart.together
    # They share a season and nothing else: moved one by one they would cry wolf.
    assert crowded.p > 0.05


def test_two_episodes_never_stand_out():
    damp = np.zeros(1440)
    damp[240:264] = damp[700:724] = 1.0
    found = evidence([a_case("cave", at, a_record(0, too_damp_h=damp)) for at in (240, 700)])
    assert found is not None
    assert not found.stands_out


def test_without_room_or_readings_nothing_is_said():
    assert evidence([]) is None
    few = np.zeros(237, dtype=bool)
    few[:5] = True
    assert evidence([a_case("cave", 240, a_record(0), rows=few)]) is None
    gone = a_case("cave", 240, a_record(0, too_damp_h=np.full(1440, np.nan)))
    assert evidence([gone]) is None


def test_the_same_seed_gives_the_same_answer():
    assert evidence(three_cases(), seed=3) == evidence(three_cases(), seed=3)
