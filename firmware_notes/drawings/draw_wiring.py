"""Draws the wiring as SVG and writes the pin tables into wiring.md, both from wiring_table.py.

Run from the repository: python -m firmware_notes.drawings.draw_wiring
"""

from __future__ import annotations

import re
from pathlib import Path
from xml.sax.saxutils import escape

from firmware_notes.drawings.wiring_table import HOOKUPS, Bridge, Hookup, Wire

FOLDER = Path(__file__).parent
NOTES = FOLDER.parent / "wiring.md"

WIDTH = 750
BOARD_LEFT, BOARD_RIGHT = 20, 190
PART_LEFT, PART_RIGHT = 560, 730
TOP, ROW, BOTTOM = 96, 56, 30
BRIDGE_LEFT, BRIDGE_STEP = 290, 100
BOW = 11
FONT = 'font-family="DejaVu Sans, Arial, sans-serif"'
LINE = 'fill="none" stroke="#202020" stroke-width="2"'
COLOURS = {"red": "#c02020", "black": "#202020", "blue": "#1f5fbf", "green": "#1d7a35", "yellow": "#b08600"}


def row_y(row: int) -> int:
    return TOP + row * ROW


def text(x: float, y: float, said: str, *, size: int = 16, anchor: str = "start", weight: str = "normal") -> str:
    return (
        f'<text x="{x}" y="{y}" {FONT} font-size="{size}" font-weight="{weight}" '
        f'text-anchor="{anchor}" fill="#202020">{escape(said)}</text>'
    )


def box(left: int, right: int, rows: int, title: str) -> list[str]:
    height = (rows - 1) * ROW + 2 * BOTTOM + 22
    return [
        f'<rect x="{left}" y="{TOP - BOTTOM - 22}" width="{right - left}" height="{height}" rx="10" '
        'fill="#f4f1ea" stroke="#202020" stroke-width="2"/>',
        text((left + right) / 2, TOP - BOTTOM, title, anchor="middle", weight="bold"),
    ]


def pin(x: int, y: int) -> str:
    return f'<circle cx="{x}" cy="{y}" r="5" fill="#ffffff" stroke="#202020" stroke-width="2"/>'


def wire(row: int, drawn: Wire, bridges: tuple[Bridge, ...]) -> list[str]:
    """The wire, its pins and its colour's name: nobody needs to tell the colours apart."""
    y = row_y(row)
    end = PART_LEFT if drawn.part_pin else last_bridge_x(row, bridges)
    parts = [
        f'<line x1="{BOARD_RIGHT}" y1="{y}" x2="{end}" y2="{y}" stroke="{COLOURS[drawn.colour]}" stroke-width="4"/>',
        pin(BOARD_RIGHT, y),
        text(BOARD_RIGHT - 14, y + 6, drawn.board_pin, anchor="end"),
        text(BOARD_RIGHT + 14, y - 9, drawn.colour, size=13),
    ]
    if drawn.part_pin:
        parts += [pin(PART_LEFT, y), text(PART_LEFT + 14, y + 6, drawn.part_pin)]
    return parts


def last_bridge_x(row: int, bridges: tuple[Bridge, ...]) -> int:
    """Where a wire ends that leads to no part: at the last resistor or capacitor on it."""
    touching = [at for at, bridge in enumerate(bridges) if row in (bridge.upper, bridge.lower)]
    return bridge_x(max(touching))


def bridge_x(number: int) -> int:
    return BRIDGE_LEFT + number * BRIDGE_STEP


def bridge(number: int, drawn: Bridge) -> list[str]:
    """A resistor or capacitor between two wires, with a dot where it is joined."""
    x, upper, lower = bridge_x(number), row_y(drawn.upper), row_y(drawn.lower)
    middle = lower - ROW // 2
    half = 14 if drawn.kind == "resistor" else 4
    body = (
        f'<rect x="{x - 7}" y="{middle - half}" width="14" height="{2 * half}" fill="#ffffff" '
        'stroke="#202020" stroke-width="2"/>'
        if drawn.kind == "resistor"
        else f'<path d="M{x - 14} {middle - half}H{x + 14}M{x - 14} {middle + half}H{x + 14}" '
        'stroke="#202020" stroke-width="3" fill="none"/>'
    )
    dots = [f'<circle cx="{x}" cy="{y}" r="5" fill="#202020"/>' for y in (upper, lower)]
    return [
        *leads(x, drawn.upper, middle - half),
        upright(x, middle + half, lower),
        body,
        *dots,
        text(x + 17, middle + 5, drawn.value, size=13),
    ]


def leads(x: int, row: int, until: int) -> list[str]:
    """The line down from a wire, in a bow round each wire that it crosses without touching."""
    parts, start = [], row_y(row)
    while (crossed := row_y(row := row + 1)) < until:
        parts.append(upright(x, start, crossed - BOW))
        start = crossed + BOW
        parts.append(f'<path d="M{x} {crossed - BOW}a{BOW} {BOW} 0 0 1 0 {2 * BOW}" {LINE}/>')
    return [*parts, upright(x, start, until)]


def upright(x: int, start: int, end: int) -> str:
    return f'<path d="M{x} {start}V{end}" {LINE}/>'


def svg(hookup: Hookup) -> str:
    """One drawing as text."""
    rows = len(hookup.wires)
    height = row_y(rows - 1) + BOTTOM + 24
    said = "; ".join(spoken(hookup))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" '
        f'height="{height}" role="img" aria-labelledby="title what">',
        f'<title id="title">{escape(hookup.title)}</title>',
        f'<desc id="what">{escape(said)}</desc>',
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        text(WIDTH / 2, 26, hookup.title, size=18, anchor="middle", weight="bold"),
        *box(BOARD_LEFT, BOARD_RIGHT, rows, "ESP32 board"),
        *box(PART_LEFT, PART_RIGHT, rows, hookup.part),
    ]
    for row, drawn in enumerate(hookup.wires):
        parts += wire(row, drawn, hookup.bridges)
    for number, between in enumerate(hookup.bridges):
        parts += bridge(number, between)
    return "\n".join([*parts, "</svg>"]) + "\n"


def spoken(hookup: Hookup) -> list[str]:
    """The same in words, for who does not see the drawing and for the text under the pin table."""
    wires = [f"{w.board_pin} to {w.part_pin}" for w in hookup.wires if w.part_pin]
    between = [
        f"{b.value} {b.kind} between {hookup.wires[b.upper].board_pin} and {hookup.wires[b.lower].board_pin}"
        for b in hookup.bridges
    ]
    return wires + between


def pin_table(hookup: Hookup) -> str:
    """The pin table as Markdown, with the resistors and capacitors under it."""
    lines = ["| board | part | wire | what for |", "|---|---|---|---|"]
    lines += [f"| {w.board_pin} | {w.part_pin or '(nothing)'} | {w.colour} | {w.note} |" for w in hookup.wires]
    between = spoken(hookup)[-len(hookup.bridges) :] if hookup.bridges else []
    if between:
        lines += ["", *(f"- {line}" for line in between)]
    return "\n".join(lines)


def with_tables(notes: str) -> str:
    """The chapter with each table between its marks replaced."""
    for hookup in HOOKUPS:
        begin, end = f"<!-- pins of {hookup.name} -->", f"<!-- end of {hookup.name} -->"
        marked = re.compile(re.escape(begin) + ".*?" + re.escape(end), re.DOTALL)
        if len(marked.findall(notes)) != 1:
            raise ValueError(f"wiring.md must hold the marks of {hookup.name} once")
        table = f"{begin}\n\n{pin_table(hookup)}\n\n{end}"
        notes = marked.sub(lambda _found, table=table: table, notes)  # type: ignore[misc]
    return notes


def main() -> None:
    for hookup in HOOKUPS:
        (FOLDER / f"{hookup.name}.svg").write_text(svg(hookup), encoding="utf-8")
    NOTES.write_text(with_tables(NOTES.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
