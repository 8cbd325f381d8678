"""From what the steps of a channel say to verdicts, with facts that do not hang on where judging was cut; pure."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from collector.readings.model import Millis, Values
from collector.rules.model import Verdict
from collector.rules.spells import Flags, Spell, Steps, find_spells

Told = Callable[[int], dict[str, Any]]

DECIMALS = 6  # facts are for people; the last bits of a sum are not


def no_facts(step: int) -> dict[str, Any]:  # noqa: ARG001 the signature of a Told
    """For rules that tell nothing at one of the two times."""
    return {}


def steps_saying(doubtful: Flags, well: Flags, unknown: Flags) -> Steps:
    """Steps by what they say; what is unknown says nothing else, and what is doubtful is not well."""
    outside = doubtful & ~unknown
    return Steps(outside=outside, inside=well & ~unknown & ~outside, unknown=unknown)


def verdicts(
    name: str,
    start_ms: Millis,
    first: int,
    steps: Steps,
    carried: Verdict | None,
    opening: Told,
    latest: Told = no_facts,
    largest: Mapping[str, Values] | None = None,
) -> list[Verdict]:
    """The spells of a rule without grace, as verdicts.

    Args:
        name: the rule's name.
        start_ms: start of each step [ms], shape (n,), the run-in included.
        first: index of the first judged step.
        steps: what each step says.
        carried: the spell that was open before the first judged step.
        opening: the facts that are settled by the step that opens a spell.
        latest: the facts that are taken from the last step of a spell that is not unknown.
        largest: facts that are the largest value over the steps of a spell, shape (n,) each; NaN is left out.
    Returns:
        Verdicts in order of time, the carried one first. `opened_ms` is the start of the opening step, `cleared_ms`
        the start of the first step that no longer belongs to the spell.
    """
    no_grace = np.zeros(len(start_ms), dtype=np.int64)
    found = find_spells(steps, no_grace, first, carried is not None)
    facts = _Facts(opening, latest, largest or {}, steps.unknown)
    return [_verdict(name, start_ms, first, spell, carried, facts) for spell in found]


class _Facts:
    def __init__(self, opening: Told, latest: Told, largest: Mapping[str, Values], unknown: Flags) -> None:
        self.opening, self.latest, self.largest, self.unknown = opening, latest, largest, unknown

    def over(self, before: dict[str, Any], from_step: int, to_step: int) -> dict[str, Any]:
        """Facts of a spell that covers the steps from, to (excluded), added to what was known before."""
        known = from_step + np.flatnonzero(~self.unknown[from_step:to_step])
        if not len(known):
            return before
        told = before | self.latest(int(known[-1]))
        for name, values in self.largest.items():
            seen = [v for v in (before.get(name), _largest(values[known])) if v is not None]
            told[name] = max(seen) if seen else None
        return {name: _plain(value) for name, value in told.items()}


def _verdict(name: str, start_ms: Millis, first: int, spell: Spell, carried: Verdict | None, facts: _Facts) -> Verdict:
    end = len(start_ms) if spell.cleared is None else spell.cleared
    cleared_ms = None if spell.cleared is None else int(start_ms[spell.cleared])
    if spell.opened is None:
        if carried is None:
            raise ValueError("a spell without an opening must be carried in")
        return Verdict(name, carried.opened_ms, cleared_ms, facts.over(carried.facts, first, end))
    told = facts.over(facts.opening(spell.opened), spell.opened, end)
    return Verdict(name, int(start_ms[spell.opened]), cleared_ms, told)


def _largest(values: Values) -> float | None:
    known = values[~np.isnan(values)]
    return float(known.max()) if len(known) else None


def _plain(value: Any) -> Any:
    """A number as Python has it, rounded, so that it can be kept as JSON; a NaN is not known."""
    if isinstance(value, (float, np.floating)):
        return None if np.isnan(value) else round(float(value), DECIMALS)
    return int(value) if isinstance(value, np.integer) else value
