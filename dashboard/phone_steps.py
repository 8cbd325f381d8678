"""What makes a phone ready for the cellar; each step is ticked for each sign-in. A new step is a row here."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PhoneStep:
    """A step.

    Args:
        name: key of the tick in the session.
        how: what to do for it, in plain words.
        by_script: True when phone.js finds out by itself.
    """

    name: str
    words: str
    how: str
    by_script: bool = True


TRUST = (
    "Take the house's certificate onto the phone, then open the pages over the safe address. Without it the phone keeps"
    " nothing for the cellar and takes no warnings."
)
HOME_SCREEN = (
    "iPhone, in Safari: the share sign, then Add to Home Screen. Android, in Chrome: the three dots, then Add to Home"
    " screen. Then open it from there once."
)
ENTRY = (
    "Switch the phone's radio off (flight mode), enter one, and switch it on again: the cellar, tried out at the table."
)
STEPS = (
    PhoneStep("trusted", "The phone trusts this house", TRUST),
    PhoneStep("installed", "rindwatch stands on the home screen", HOME_SCREEN),
    PhoneStep("offline", "It opens without a signal", "Happens by itself a moment after the first two."),
    PhoneStep("entry", "What is entered without a signal arrives", ENTRY),
)
NAMES = frozenset(step.name for step in STEPS)
