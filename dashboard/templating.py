"""Templates, bound to one household's units, zone and date form."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from dashboard import words
from dashboard.household import Household
from dashboard.static_files import Assets

FOLDER = Path(__file__).parent / "templates"
FOR_HOUSEHOLD: tuple[Callable[..., str], ...] = (
    words.temperature, words.temperature_step, words.temperature_number, words.humidity, words.weight,
    words.clock_time, words.long_date, words.short_date,
)  # fmt: skip


class Templates:
    """Renders templates; keeps the compiled ones of the household that was shown last."""

    def __init__(self, assets: Assets) -> None:
        self._assets = assets
        self._last: tuple[Household, Environment] | None = None

    def environment(self, household: Household) -> Environment:
        last = self._last
        if last is None or last[0] != household:
            last = (household, _environment(household, self._assets))
            self._last = last
        return last[1]

    def render(self, template: str, household: Household, **names: Any) -> str:
        return self.environment(household).get_template(template).render(**names)

    def macro(self, template: str, name: str, household: Household) -> Callable[..., Markup]:
        """One macro of a template, for parts that are kept from page to page; it sees its arguments alone."""
        written: Callable[..., Markup] = getattr(self.environment(household).get_template(template).module, name)
        return written


def _environment(household: Household, assets: Assets) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(FOLDER), autoescape=True, undefined=StrictUndefined, auto_reload=False,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    for function in FOR_HOUSEHOLD:
        environment.filters[function.__name__] = _bound(function, household)
    environment.filters["moment"] = lambda at, now_at: words.moment(at, now_at, household)
    environment.filters["ago"] = words.ago
    environment.filters["duration"] = words.duration
    environment.globals["static"] = assets.url
    environment.globals["household"] = household
    return environment


def _bound(function: Callable[..., str], household: Household) -> Callable[..., str]:
    """A filter of the value alone: the household is filled in by name."""
    return partial(function, household=household)
