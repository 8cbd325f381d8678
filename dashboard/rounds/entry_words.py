"""An entry in a line: what happened, in the trade's words and the household's units."""

from collections.abc import Mapping

from dashboard import words
from dashboard.household import Household
from dashboard.rounds.gear_lines import check_words
from dashboard.rounds.style_words import changed_words
from dashboard.wheels.bodies.doings import Chore, TookOut, Weighing
from dashboard.wheels.bodies.sheets import StyleSheet
from dashboard.wheels.kinds.chores import CHORE_KINDS
from dashboard.wheels.model import Entry
from dashboard.wheels.timeline import word_of


def entry_words(entry: Entry, own: Mapping[tuple[str, str], str], household: Household) -> str:
    """What an entry says happened.

    Args:
        entry: as it stands in the book. own: the household's own words by (of, name).
    """
    body = entry.body
    if isinstance(body, Chore):
        kind = CHORE_KINDS.get(body.chore)
        word = own.get(("chore", body.chore)) or (kind.word if kind else body.chore.replace("_", " "))
        return f"{word}, {body.amount_l:g} l" if body.amount_l else word
    if isinstance(body, Weighing):
        return f"{word_of(body, own)} {words.weight(body.scale_g - body.tare_g, household)}"
    if isinstance(body, TookOut) and body.taken_g:
        return f"{word_of(body, own)} of {words.weight(body.taken_g, household)}"
    if isinstance(body, StyleSheet):
        return changed_words(body, household) or word_of(body, own)
    return ", ".join(check_words(entry, household)) or word_of(body, own)
