import numpy as np
import pytest

from collector.rules.model import Verdict
from collector.rules.trust.verdicts import steps_saying, verdicts

START_MS = np.arange(8, dtype=np.int64) * 600_000


def flags(*steps: int) -> np.ndarray:
    return np.isin(np.arange(8), steps)


def told(step: int) -> dict[str, int]:
    return {"step": step}


def test_a_spell_covers_its_steps() -> None:
    steps = steps_saying(flags(2, 3), flags(0, 1, 5), flags())
    [verdict] = verdicts("r", START_MS, 0, steps, None, lambda step: {"at": step})
    assert (verdict.opened_ms, verdict.cleared_ms, verdict.facts) == (1_200_000, 3_000_000, {"at": 2})


def test_the_latest_fact_is_that_of_the_last_known_step_of_the_spell() -> None:
    steps = steps_saying(flags(1, 2, 3), flags(6), flags(4, 5))
    [verdict] = verdicts("r", START_MS, 0, steps, None, told, told)
    assert verdict.cleared_ms == START_MS[6]
    assert verdict.facts == {"step": 3}


def test_the_largest_fact_is_carried_over_a_cut() -> None:
    values = np.array([0, 5.0, 9.0, np.nan, 2.0, 1.0, 0, 0])
    carried = Verdict("r", 0, None, {"most": 7.5})
    [before] = verdicts(
        "r", START_MS, 4, steps_saying(flags(), flags(6), flags()), carried, told, largest={"most": values}
    )
    assert before.facts == {"most": 7.5}
    [more] = verdicts(
        "r", START_MS, 1, steps_saying(flags(), flags(6), flags()), carried, told, largest={"most": values}
    )
    assert more.facts == {"most": 9.0}


def test_a_step_that_is_doubtful_is_not_well_and_an_unknown_one_says_nothing_else() -> None:
    steps = steps_saying(flags(1, 2), flags(1, 3, 2), flags(2))
    assert np.flatnonzero(steps.outside).tolist() == [1]
    assert np.flatnonzero(steps.inside).tolist() == [3]
    assert np.flatnonzero(steps.unknown).tolist() == [2]


def test_facts_are_plain_numbers() -> None:
    facts = {"a": np.float64(1.23456789), "b": np.int64(3), "c": np.nan, "d": "word", "e": [1]}
    [verdict] = verdicts("r", START_MS, 0, steps_saying(flags(1), flags(), flags()), None, lambda _: facts)
    assert verdict.facts == {"a": 1.234568, "b": 3, "c": None, "d": "word", "e": [1]}
    assert [type(v) for v in verdict.facts.values()][:2] == [float, int]


def test_refuses_a_spell_from_nowhere() -> None:
    with pytest.raises(ValueError, match="first must be from 0 to 8, got 9"):
        verdicts("r", START_MS, 9, steps_saying(flags(), flags(), flags()), None, told)
