"""Every example of the contract, read out of the Markdown and decoded by the collector's decoder."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from collector.intake.payloads import Decoded, FieldHint, FieldHints, WireReading, decode
from collector.intake.payloads.envelope import PAYLOAD_LIMIT, RECORD_LIMIT, TOPIC_LIMIT
from collector.intake.timing import Passage, arrival
from collector.quantities import QUANTITIES
from collector.readings.model import Mark
from firmware_notes.node import pack

CONTRACT = (Path(__file__).parents[2] / "firmware_notes" / "contract.md").read_text(encoding="utf-8")
HEAD = "| field | value | unit | what | taken |"


@dataclass(frozen=True, slots=True)
class Example:
    name: str
    topic: str
    payload: bytes
    text: str

    @property
    def rows(self) -> list[list[str]]:
        """The table beneath the example, without its head."""
        lines = [line for line in self.text.splitlines() if line.startswith("|")]
        assert not lines or lines[0] == HEAD
        return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]

    @property
    def hints(self) -> FieldHints | None:
        """What a person pointed at, if the example says so."""
        found = re.findall(r"`(/[^`]*)` is (\w+) in (\S+?)[;.]", self.text)
        fields = {pointer: FieldHint(quantity, unit) for pointer, quantity, unit in found}
        return FieldHints(fields, others=False) if fields else None


def examples() -> list[Example]:
    parts = re.split(r"^### Example: ", CONTRACT, flags=re.MULTILINE)[1:]
    found = []
    for part in parts:
        text = part.split("\n## ")[0]
        (topic,) = re.findall(r"^Topic `(.+)`$", text, flags=re.MULTILINE)
        (payload,) = re.findall(r"```json\n(.*?)```", text, flags=re.DOTALL)
        found.append(Example(text.splitlines()[0], topic, payload.encode(), text))
    return found


EXAMPLES = examples()


def decoded(example: Example) -> Decoded:
    return decode(example.topic, example.payload, example.hints)


def taken(reading: WireReading) -> str:
    """When a reading was taken, in the table's words."""
    if reading.time.absolute_ms is not None:
        return datetime.fromtimestamp(reading.time.absolute_ms / 1000, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    if not reading.time.relative_ms:
        return "on arrival"
    return f"{-reading.time.relative_ms // 1000} s before arrival"


def as_rows(readings: Sequence[WireReading]) -> list[list[str]]:
    return [[r.field, f"{r.value:g}", r.unit, r.quantity or "", taken(r)] for r in readings]


def test_there_are_examples_of_every_kind() -> None:
    assert len(EXAMPLES) == 10
    assert {decoded(example).format for example in EXAMPLES} == {
        "senml_json",
        "status",
        "json_object",
        "plain_number",
    }


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_the_table_is_what_comes_out(example: Example) -> None:
    found = decoded(example)
    assert found.refused == ()
    assert as_rows(found.readings) == example.rows


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_boot_id_and_number_are_what_the_text_says(example: Example) -> None:
    found = decoded(example)
    said = re.findall(r"by boot id `(\w+)` and number `(\d+)`", example.text)
    assert said == ([(found.boot, str(found.seq))] if found.seq is not None else [])


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_the_state_is_what_the_text_says(example: Example) -> None:
    found = decoded(example).status
    said = re.findall(r"^State `(\w+)`(?:, at the latest every `(\d+)` s)?\.$", example.text, flags=re.MULTILINE)
    if found is None:
        assert said == []
    else:
        every_s = found.at_latest_every_s
        assert said == [(found.state, "" if every_s is None else f"{every_s:g}")]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_only_a_bound_is_kept_as_a_bound(example: Example) -> None:
    samples = arrival(decoded(example), Passage(example.topic, 1_790_000_600_000)).samples
    bounds = {bool(sample.mark & Mark.AT_THE_LATEST) for sample in samples}
    assert bounds <= {example.name == "a time that can only be bounded"}


def test_every_name_and_unit_of_the_list_is_known() -> None:
    (listed,) = re.findall(r"\*\*Names\.\*\*(.*?)\n- \*\*", CONTRACT, flags=re.DOTALL)
    said = dict(re.findall(r"`(\w+)`\s+\(([^),]+)[,)]", listed))
    assert said.pop("door") == "`vb`"
    assert said == {name: QUANTITIES[name].unit for name in said}
    assert {name for name, unit, _ in pack.QUANTITIES if unit} <= set(said)


def test_the_limits_are_the_decoders() -> None:
    for limit in (PAYLOAD_LIMIT, RECORD_LIMIT, TOPIC_LIMIT):
        assert f"{limit:,}" in CONTRACT.split("## Limits")[1]
