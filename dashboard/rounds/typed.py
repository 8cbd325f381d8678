"""What the forms of an entry say, as bodies of the book; pure. The page's own script makes the same of the same form.

Each kind of form is a row in FORMS; a field is a row in it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from collector.errors import EntryRefused
from dashboard.forms import of_field
from dashboard.household import Household
from dashboard.moments_typed import for_picker, habits, moment_typed
from dashboard.typed_air import temperature_c
from dashboard.wheels.days_typed import parse_day
from dashboard.wheels.measures import PERCENT, PH, VOLUME, parse, parse_weight_g
from dashboard.words import temperature_number

Texts = Mapping[str, str]
WEIGHT_UNITS = {"g": "g", "kg": "kg", "lb": "lb and oz", "oz": "oz"}


@dataclass(frozen=True, slots=True)
class Asked:
    """What a field's reader needs: what was typed, how the household writes things, and what time it is."""

    texts: Texts
    household: Household
    now_at: datetime

    def text(self, name: str) -> str:
        return self.texts.get(name, "").strip()

    @property
    def unit(self) -> str:
        """The unit of bare weights: what the keypad was set to, else the household's."""
        unit = self.text("unit")
        return unit if unit in WEIGHT_UNITS else "oz" if self.household.weight_unit == "lb" else "g"


Reader = Callable[[Asked, str], Any]


def _words(asked: Asked, name: str) -> Any:
    return asked.text(name)


def _number(asked: Asked, name: str) -> Any:
    text = asked.text(name)
    if not text.isascii() or not text.isdigit() or len(text) > 5:
        raise EntryRefused(name, f"Give a whole number, got {text[:20]}.")
    return int(text)


def _flag(asked: Asked, name: str) -> Any:  # noqa: ARG001
    return True


def grams(asked: Asked, name: str) -> Any:
    """A weight [g] as it was typed; a bare number is in the keypad's unit."""
    return _measured(name, lambda: parse_weight_g(asked.text(name), asked.unit))


def _percent(asked: Asked, name: str) -> Any:
    return _measured(name, lambda: parse(asked.text(name), PERCENT, "%"))


def _acidity(asked: Asked, name: str) -> Any:
    return _measured(name, lambda: parse(asked.text(name), PH, "ph"))


def _litres(asked: Asked, name: str) -> Any:
    return _measured(name, lambda: parse(asked.text(name), VOLUME, "l"))


def _warmth(asked: Asked, name: str) -> Any:
    return temperature_c(asked.text(name), asked.household, name)


def _day(asked: Asked, name: str) -> Any:
    found: date = _measured(name, lambda: parse_day(asked.text(name), habits(asked.household, asked.now_at)))
    return found.isoformat()


def _moment(asked: Asked, name: str) -> Any:
    return moment_typed(asked.text(name), asked.household, asked.now_at, name).isoformat()


def _measured(name: str, read: Callable[[], Any]) -> Any:
    try:
        return read()
    except EntryRefused as refused:
        raise of_field(name, refused) from refused


@dataclass(frozen=True, slots=True)
class FormKind:
    """The fields of a kind of form: by the form's name the body's, with its reader."""

    fields: Mapping[str, tuple[str, Reader]]


def _same(reader: Reader, *names: str) -> dict[str, tuple[str, Reader]]:
    return {name: (name, reader) for name in names}


FORMS: dict[str, FormKind] = {
    "weighing": FormKind(
        {"weight": ("scale_g", grams), **_same(_flag, "wet", "insisted"), **_same(_words, "start", "text"),
         **_same(_number, "pieces")}
    ),
    "care": FormKind(
        {**_same(_words, "care", "with_what", "text"), **_same(_number, "side"), **_same(_flag, "nothing_new"),
         "salt": ("salt_g", grams)}
    ),
    "looked": FormKind(_same(_words, "text")),
    "took_out": FormKind(
        {**_same(_words, "what", "text"), "taken": ("taken_g", grams), "before": ("before_g", grams),
         "after": ("after_g", grams)}
    ),
    "rind_note": FormKind(
        {**_same(_words, "note", "where", "text"), **_same(_number, "how_much", "how_bad"), **_same(_flag, "gone"),
         "first_seen": ("first_seen_on", _day), "last_clean": ("last_clean_at", _moment)}
    ),
    "tasting": FormKind(
        {**_same(_words, "appearance", "texture", "aroma", "flavour", "next_time", "tasters", "text"),
         **_same(_number, "salt", "acid", "bitter", "strength", "moist", "verdict")}
    ),
    "note": FormKind(_same(_words, "text")),
    "chore": FormKind({**_same(_words, "chore", "text"), "amount": ("amount_l", _litres)}),
    "gear_check": FormKind(
        {**_same(_percent, "strength_pct"), **_same(_acidity, "ph"), **_same(_warmth, "temperature_c"),
         **_same(grams, "salt_added_g", "checked_with_g", "showed_g"), **_same(_words, "text"),
         **_same(_flag, "boiled", "scalded", "renewed")}
    ),
}  # fmt: skip


SHAPES: dict[str, FormKind] = {
    "moved": FormKind(_same(_words, "spot", "text")),
    "covered": FormKind(
        {**_same(_words, "covering", "text"), **_same(_number, "coats"), "before": ("before_g", grams),
         "after": ("after_g", grams)}
    ),
    "cut": FormKind({**_same(_words, "rest", "to_whom", "text"), "rest_g": ("rest_g", grams)}),
    "lifted": FormKind({**_same(_words, "code", "text"), **_same(_number, "pieces"), "weight": ("weight_g", grams)}),
    "counted": FormKind({**_same(_words, "text"), **_same(_number, "pieces")}),
    "ended": FormKind(
        {**_same(_words, "how", "to_whom", "reason", "text"), **_same(_number, "pieces"), "amount": ("amount_g", grams)}
    ),
    "left_missed": FormKind(_same(_words, "text")),
    "shelf_photo": FormKind(_same(_words, "text")),
}  # fmt: skip
"""What is entered on pages of its own, or by a touch, is corrected by these fields."""


def body_of(kind: str, asked: Asked) -> dict[str, Any]:
    """The body that a form says; a blank field says nothing.

    Args:
        kind: one of FORMS or SHAPES. asked: what was typed.
    Raises:
        EntryRefused: a field that cannot be read; names the form's field.
    """
    form = FORMS.get(kind) or SHAPES[kind]
    said = {of: read(asked, name) for name, (of, read) in form.fields.items() if asked.text(name)}
    return {"kind": kind, **said}


def texts_of(kind: str, body: Mapping[str, Any], household: Household) -> dict[str, str]:
    """A body as its form shows it: `body_of` the other way round.

    Args:
        kind: one of FORMS or SHAPES. body: as JSON keeps it.
    """
    form = FORMS.get(kind) or SHAPES[kind]
    shown = {name: (body.get(of), _SHOWN.get(read, _plain)) for name, (of, read) in form.fields.items()}
    return {name: show(value, household) for name, (value, show) in shown.items() if value not in (None, "", False)}


def _plain(value: Any, household: Household) -> str:  # noqa: ARG001
    return "yes" if value is True else f"{value:.10g}" if isinstance(value, float) else str(value)


def _grams(value: Any, household: Household) -> str:  # noqa: ARG001
    # Three figures behind the point can be read in two ways, and are refused when they are typed.
    text = f"{value:.10g}"
    return f"{text}0 g" if len(text.partition(".")[2]) == 3 else f"{text} g"


_SHOWN: dict[Reader, Callable[[Any, Household], str]] = {
    grams: _grams,
    _warmth: lambda value, household: temperature_number(value, household),
    _moment: lambda value, household: for_picker(datetime.fromisoformat(value), household),
}


def done_at(asked: Asked, name: str = "when") -> tuple[datetime, bool]:
    """When it was done, and whether the person typed that; blank is now."""
    return moment_typed(asked.text(name), asked.household, asked.now_at, name), bool(asked.text(name))
