"""What can be done to a probe: each thing is a form of its own, a row in the table of its page, and one function."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from dashboard.forms import Form
from dashboard.household import Household
from dashboard.probes.placing import By
from dashboard.visit import Shown, Visit


@dataclass(frozen=True, slots=True)
class Asked:
    """What somebody asked to be done.

    Args:
        probe: its name. texts: the form's. first_at: when the probe's first reading was taken.
        field: which of its fields is meant, "" for all of it. measures: what each of its fields is taken for now.
    """

    probe: str
    texts: Mapping[str, str]
    household: Household
    by: By
    first_at: datetime
    field: str
    measures: Mapping[str, str | None]


@dataclass(frozen=True, slots=True)
class Doing:
    """One thing to do.

    Args:
        name: in the address. show: the form, filled in as given or, with None, as things stand; None: it needs none.
        save: does it and says so. Raises EntryRefused.
    """

    name: str
    save: Callable[[Connection, Asked], str]
    show: Callable[[Visit, str, str, Form | None], Shown] | None = None


@dataclass(frozen=True, slots=True)
class DoingPage:
    """What every form about a probe has: the page's title, the probe's path and name, where to post."""

    title: str
    probe_path: str
    called: str
    action: str
    form: Form
