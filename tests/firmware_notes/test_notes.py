"""The chapters: drawings, tables and quoted words are those of the code, and every link leads somewhere."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from collector.errors import ReadingRejected
from collector.intake.payloads import decode
from collector.intake.timing import Passage, arrival
from collector.rules.trust import CHANNEL_RULES
from firmware_notes import battery_life
from firmware_notes.drawings import draw_wiring
from firmware_notes.drawings.wiring_table import HOOKUPS, Hookup
from firmware_notes.node import check_settings, faults, keep, pack, settings

FOLDER = Path(__file__).parents[2] / "firmware_notes"
CHAPTERS = sorted(FOLDER.glob("*.md"))
NOW_MS = 1_790_000_000_000

# What a device sends so that the reason in troubleshooting.md comes out: topic, payload.
SENDS = {
    "the message is empty": ("cellar/north", b""),
    "neither a SenML pack, nor JSON, nor a number with its quantity in the topic": ("cellar/north", b"warm"),
    "not JSON": ("cellar/north", b'{"temperature": 12.3'),
    "there is no number in the JSON": ("cellar/north", b'{"name": "north"}'),
    "must be a number": ("cellar/north", b'{"temperature": "ERROR"}'),
    "before 2000: the probe's clock is not set": ("cellar/north", b'{"temperature": 12, "ts": 300000000}'),
    "the clock is ahead": ("cellar/north", b'{"temperature": 12, "ts": 1890000000}'),
    "has no time zone": ("cellar/north", b'{"temperature": 12, "time": "2026-09-21T14:13:20"}'),
    "state must be online or offline": ("rindwatch/north/status", b'{"state": "gone"}'),
    "the SenML version must be at most 10": ("rindwatch/north/readings", b'[{"bver": 11, "n": "x", "v": 1}]'),
}


def chapter(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("hookup", HOOKUPS, ids=lambda hookup: hookup.name)
def test_drawings_are_those_of_the_table(hookup: Hookup) -> None:
    stored = (FOLDER / "drawings" / f"{hookup.name}.svg").read_text(encoding="utf-8")
    assert stored == draw_wiring.svg(hookup), "run: python -m firmware_notes.drawings.draw_wiring"


@pytest.mark.parametrize("hookup", HOOKUPS, ids=lambda hookup: hookup.name)
def test_a_drawing_shows_every_pin_and_part(hookup: Hookup) -> None:
    root = ElementTree.fromstring(draw_wiring.svg(hookup))
    shown = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    for wire in hookup.wires:
        assert wire.board_pin in shown
        assert not wire.part_pin or wire.part_pin in shown
        assert wire.colour in shown
    assert all(bridge.value in shown for bridge in hookup.bridges)


def test_pin_tables_are_those_of_the_table() -> None:
    assert chapter("wiring.md") == draw_wiring.with_tables(chapter("wiring.md"))


def test_a_chapter_without_its_marks_is_refused() -> None:
    with pytest.raises(ValueError, match="must hold the marks of sht4x once"):
        draw_wiring.with_tables("# Wiring")


def test_settings_have_the_pins_of_the_table() -> None:
    wired = {wire.setting: wire.board_pin for hookup in HOOKUPS for wire in hookup.wires if wire.setting}
    delivered = {name: f"GPIO{getattr(settings, name)}" for name in dir(settings) if name.startswith("PIN_")}
    assert wired == delivered


def test_no_pin_is_used_for_two_things() -> None:
    used = {(wire.board_pin, wire.setting) for hookup in HOOKUPS for wire in hookup.wires if wire.setting}
    assert len({board_pin for board_pin, _ in used}) == len(used)


def test_every_setting_is_in_the_chapter_or_speaks_for_itself() -> None:
    explained = chapter("node.md") + chapter("wiring.md")
    plain = re.compile(r"PIN_|BATTERY_|LOAD_CELL_|SURFACE_ROM|KEEP_FOLDER|TOPIC_ROOT")
    for name in [name for name in dir(settings) if name[0].isupper() and not plain.match(name)]:
        assert f"`{name}" in explained, name


def test_battery_output_is_the_scripts() -> None:
    found = re.findall(r"<!-- output of battery_life -->\n\n(.*?)\n<!-- end", chapter("parts.md"), flags=re.DOTALL)
    printed = battery_life.table(battery_life.Habit(), battery_life.SLEEP_FRUGAL_MA)
    assert found == ["".join(f"    {line}\n" if line else "\n" for line in printed.splitlines())]


@pytest.mark.parametrize("path", CHAPTERS, ids=lambda path: path.name)
def test_links_lead_somewhere(path: Path) -> None:
    for target in re.findall(r"\]\(([^)]+)\)", path.read_text(encoding="utf-8")):
        file, _, anchor = target.partition("#")
        assert (FOLDER / file).exists(), target
        if anchor:
            headings = re.findall(r"^#+ (.+)$", chapter(file or path.name), flags=re.MULTILINE)
            assert anchor in [heading.lower().replace(" ", "-") for heading in headings], target


def test_the_index_names_every_chapter() -> None:
    named = set(re.findall(r"^\| \[(\w+\.md)\]", chapter("README.md"), flags=re.MULTILINE))
    assert named == {path.name for path in CHAPTERS} - {"README.md"}


@pytest.mark.parametrize("rule", CHANNEL_RULES, ids=lambda rule: rule.name)
def test_whatever_the_page_doubts_has_its_entry(rule: object) -> None:
    assert f"### {rule.word}\n" in chapter("troubleshooting.md")  # type: ignore[attr-defined]


def reasons_for(topic: str, payload: bytes) -> list[str]:
    """Why a message, or a field of it, is set aside."""
    try:
        came = arrival(decode(topic, payload), Passage(topic, NOW_MS))
    except ReadingRejected as rejected:
        return [rejected.reason]
    return [reason for _, reason in came.refused]


def test_every_reason_of_the_chapter_can_come_up() -> None:
    section = chapter("troubleshooting.md").split("## Readings set aside")[1].split("\n## ")[0]
    said = re.findall(r"^\| `([^`]+)` \|", section, flags=re.MULTILINE)
    assert said == list(SENDS)
    for reason, (topic, payload) in SENDS.items():
        assert any(reason in found for found in reasons_for(topic, payload)), reason


def test_faults_in_the_chapter_are_those_of_the_program() -> None:
    source = "".join(path.read_text() for path in (FOLDER / "node").glob("*.py"))
    for said in re.findall(r"^\| `fault`: `([^`]+)`", chapter("troubleshooting.md"), flags=re.MULTILINE):
        assert said.replace("3 tries", "%d tries").replace("2 sensors", "%d sensors") in source, said


def test_flash_holds_as_many_messages_as_the_chapter_says(tmp_path: Path) -> None:
    (said,) = re.findall(r"room for ([\d,]+) messages or more", chapter("node.md"))
    most = int(said.replace(",", ""))
    buffer = keep.Keep(str(tmp_path / "kept"))
    everything = [(quantity, 1) for quantity in range(len(pack.QUANTITIES)) if quantity != pack.WEIGHT]
    message = pack.to_bytes(1, 1, 1, everything)  # A load cell needs a plug, so it is no battery probe's.
    a_segment = buffer.segment_bytes // len(keep.frame(keep.MESSAGE, message))
    assert most <= a_segment * buffer.most_segments < most * 1.1


def test_no_chapter_speaks_of_lithium_chloride_but_to_forbid_it() -> None:
    for path in CHAPTERS:
        for line in path.read_text(encoding="utf-8").splitlines():
            assert "lithium chloride" not in line.lower() or "never" in line.lower(), line


def test_an_impossible_setting_is_told_by_name() -> None:
    class Wrong:
        PROBE = "with space"

    with pytest.raises(faults.BadSettings, match="PROBE must be"):
        check_settings.check(Wrong)
