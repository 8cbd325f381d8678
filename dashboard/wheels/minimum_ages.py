"""The youngest age at which a cheese may be sold, by the federal standards of the United States; pure.

21 CFR part 133. Local rules come first, everywhere. A row marked `read` was read in a copy of the standard; the others
are as remembered and say so on the page.
"""

import calendar
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

WARMTH_C = 1.67  # 35 degF: the coldest at which those days count


@dataclass(frozen=True, slots=True)
class MinimumAge:
    """One standard: its section, its cheese, the cure, whether only raw milk needs it, and whether it was read."""

    section: str
    cheese: str
    count: int
    unit: Literal["days", "months"]
    raw_only: bool
    read: bool = True

    def ends_on(self, made_on: date) -> date:
        """The first date on which the cure is over, if it was warm enough throughout."""
        if self.unit == "days":
            return made_on + timedelta(days=self.count)
        months = made_on.month - 1 + self.count
        year, month = made_on.year + months // 12, months % 12 + 1
        return date(year, month, min(made_on.day, calendar.monthrange(year, month)[1]))

    @property
    def words(self) -> str:
        """ "60 days at 35 °F or more" or "6 months at 35 °F or more"."""
        return f"{self.count} {self.unit} at 35 °F (1.7 °C) or more"

    @property
    def source(self) -> str:
        return f"21 CFR {self.section}" + ("" if self.read else " (as remembered, not read)")


def _raw(section: str, cheese: str, read: bool = True) -> MinimumAge:
    return MinimumAge(section, cheese, 60, "days", raw_only=True, read=read)


MINIMUM_AGES: dict[str, MinimumAge] = {
    row.section: row
    for row in (
        MinimumAge("133.102", "asiago fresh, asiago soft", 60, "days", raw_only=False),
        MinimumAge("133.103", "asiago medium", 6, "months", raw_only=False),
        MinimumAge("133.104", "asiago old", 12, "months", raw_only=False),
        MinimumAge("133.106", "blue", 60, "days", raw_only=False),
        _raw("133.108", "brick", read=False),
        MinimumAge("133.111", "caciocavallo siciliano", 90, "days", raw_only=False),
        _raw("133.113", "cheddar"),
        _raw("133.118", "colby", read=False),
        _raw("133.138", "edam", read=False),
        MinimumAge("133.141", "gorgonzola", 90, "days", raw_only=False),
        _raw("133.142", "gouda"),
        _raw("133.144", "granular, stirred curd"),
        MinimumAge("133.148", "hard grating", 6, "months", raw_only=False),
        MinimumAge("133.149", "gruyere", 90, "days", raw_only=False),
        _raw("133.150", "hard"),
        _raw("133.152", "limburger", read=False),
        _raw("133.153", "monterey, monterey jack", read=False),
        _raw("133.160", "muenster", read=False),
        MinimumAge("133.165", "parmesan, reggiano", 10, "months", raw_only=False),
        _raw("133.181", "provolone", read=False),
        _raw("133.182", "soft ripened"),
        MinimumAge("133.183", "romano", 5, "months", raw_only=False),
        MinimumAge("133.184", "roquefort, sheep's milk blue", 60, "days", raw_only=False, read=False),
        MinimumAge("133.185", "samsoe", 60, "days", raw_only=False, read=False),
        _raw("133.187", "semisoft", read=False),
        MinimumAge("133.195", "swiss, emmentaler", 60, "days", raw_only=False),
    )
}
GENERAL = MINIMUM_AGES["133.150"]
"""What is shown for a style without a section of its own."""
