"""Correcting what a field measures and in which unit, and changing the sensor, each from a date on."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from sqlalchemy import Connection

from collector.air.channel import UNCHECKED_U
from collector.calibration.history import sensor_changed
from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.facts import FieldSetting, holding
from collector.records.places import add_fact, load_facts
from dashboard import links_to
from dashboard.amounts import meanings_offered, quantities_and_units, quantity_word, unit_word
from dashboard.forms import Form
from dashboard.probes.choices import choice
from dashboard.probes.doing import Asked, Doing, DoingPage
from dashboard.probes.placing import SINCE, since_typed
from dashboard.visit import Visit

AS_UNDERSTOOD, LEFT_OUT = "", "ignore"


@dataclass(frozen=True, slots=True)
class FieldPage(DoingPage):
    template: ClassVar[str] = "probe_field.html"
    field: str
    taken_for: str
    meanings: Mapping[str, str]
    since: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SensorPage(DoingPage):
    template: ClassVar[str] = "probe_sensor.html"
    since: Mapping[str, str]


def show_field(visit: Visit, probe: str, field: str, form: Form | None) -> FieldPage:
    with visit.looking() as db:
        facts, called = load_facts(db), choice(db, probe).name or probe
    channels = visit.readings.channels() if visit.readings else []
    heard = next((c for c in channels if (c.probe, c.field) == (probe, field)), None)
    taken_for = quantity_word(heard.quantity) if heard else ""
    said = f"{taken_for}, {unit_word(heard.unit)}" if heard and taken_for else "nothing known"
    chosen = holding(facts.field_settings.get((probe, field), []), visit.now_at)
    default = {"meaning": _meaning(chosen), "since": "first"}
    return FieldPage(
        f"What {field} is", links_to.probe(probe), called, f"{links_to.probe(probe)}/field", form or Form(default),
        field, said, {AS_UNDERSTOOD: f"As it was understood: {said}", LEFT_OUT: "Nothing to keep: leave it out",
                      **meanings_offered({default["meaning"]})}, SINCE,
    )  # fmt: skip


def _meaning(chosen: FieldSetting | None) -> str:
    if chosen is None or chosen.quantity is None:
        return LEFT_OUT if chosen is not None and chosen.ignored else AS_UNDERSTOOD
    return f"{chosen.quantity}|{chosen.unit}"


def save_field(db: Connection, asked: Asked) -> str:
    """Keep what a person said of a field; the readings stay as they came."""
    meaning = asked.texts.get("meaning", AS_UNDERSTOOD)
    if meaning not in (AS_UNDERSTOOD, LEFT_OUT) and meaning not in quantities_and_units():
        raise EntryRefused("meaning", "Take one of the meanings in the list.")
    since_at = since_typed(asked.texts, asked.household, asked.by.now_at, asked.first_at)
    quantity, _, unit = meaning.partition("|") if "|" in meaning else ("", "", "")
    add_fact(
        db,
        FieldSetting(
            new_id(), since_at, asked.by.now_at, asked.probe, asked.field, quantity or None, unit, meaning == LEFT_OUT,
            by=asked.by.name,
        ),
    )  # fmt: skip
    return f"{asked.field}: {quantities_and_units().get(meaning, 'left out' if meaning else 'as understood')}."


def show_sensor(visit: Visit, probe: str, _field: str, form: Form | None) -> SensorPage:
    with visit.looking() as db:
        called = choice(db, probe).name or probe
    since = {key: words for key, words in SINCE.items() if key != "first"}
    return SensorPage(
        "The sensor was changed", links_to.probe(probe), called, f"{links_to.probe(probe)}/sensor",
        form or Form({"since": "now"}), since,
    )  # fmt: skip


def save_sensor(db: Connection, asked: Asked) -> str:
    """What was found out about the old sensor holds no longer; the new one counts as not checked."""
    if asked.texts.get("since") == "first":
        raise EntryRefused("since", "Say from when on.")
    since_at = since_typed(asked.texts, asked.household, asked.by.now_at, asked.first_at)
    fields = [name for probe, name in load_facts(db).calibrations if probe == asked.probe]
    for name, quantity in asked.measures.items():
        if quantity in UNCHECKED_U or name in fields:
            doubt = UNCHECKED_U.get(quantity or "", 0.0)
            add_fact(db, sensor_changed(new_id(), asked.probe, name, since_at, asked.by.now_at, doubt, asked.by.name))
    return "Noted. The new sensor counts as not checked."


DOINGS = (Doing("field", save_field, show_field), Doing("sensor", save_sensor, show_sensor))
