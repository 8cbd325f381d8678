"""Labels for wheels, shelves and boards as a PDF: a code that is read at arm's length, and a QR code beside it.

The code is at least 1 cm high, so that a wet label can still be read when its QR code cannot; the QR code bears a
quarter of its signs lost (level Q) and its squares are no smaller than 0.4 mm.
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import segno
from fpdf import FPDF
from fpdf.enums import TextMode

from collector.errors import EntryRefused
from dashboard.wheels.codes import spoken
from dashboard.wheels.label_sheets import LabelSheet

CODE_MM = 10.0  # height of a capital
CAPITAL_EM = 0.718  # height of a capital of Helvetica, by its font metrics
PT_MM = 25.4 / 72
SQUEEZE_PCT = 55  # a code narrower than this is no longer read at a glance: our choice
MARGIN_MM = 2.0
SQUARE_MM = 0.4
QUIET = 4  # squares of white round a QR code (ISO/IEC 18004)
STACKED_FROM_MM = 34.0
MAX_LABELS = 2_000


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label: our short code, the person's own, some words, and the address behind the QR code."""

    short: str
    address: str
    own: str = ""
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page [mm]."""

    x: float
    y: float
    width: float
    height: float


def label_pdf(
    labels: Sequence[Label],
    sheet: LabelSheet,
    *,
    skip: int = 0,
    frames: bool = False,
    offset_mm: tuple[float, float] = (0.0, 0.0),
) -> bytes:
    """A PDF of labels.

    Args:
        labels: at most 2000.
        sheet: a row of LABEL_SHEETS.
        skip: labels at the front of the first sheet that are used up already, fewer than a sheet has.
        frames: draw where each label ends, for a test print on plain paper.
        offset_mm: how far this printer prints too far left and too high.
    Raises:
        EntryRefused: too many labels, or an address too long for a QR code on this sheet.
    """
    if len(labels) > MAX_LABELS or not 0 <= skip < sheet.labels:
        raise EntryRefused("labels", f"labels must be at most {MAX_LABELS} and skip below {sheet.labels}")
    pdf = FPDF(unit="mm", format=sheet.page)
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_text_color(0)
    pdf.set_title("labels")
    for number, label in enumerate(labels, skip):
        if number == skip or number % sheet.labels == 0:
            pdf.add_page()
        x, y = sheet.corner(number)
        box = Box(x + offset_mm[0], y + offset_mm[1], sheet.width, sheet.height)
        if frames:
            pdf.set_line_width(0.1)
            pdf.rect(box.x, box.y, box.width, box.height)
        _draw(pdf, label, box)
    return bytes(pdf.output())


def _draw(pdf: FPDF, label: Label, box: Box) -> None:
    """High labels carry the code across the top, flat ones beside the QR code."""
    inner = Box(box.x + MARGIN_MM, box.y + MARGIN_MM, box.width - 2 * MARGIN_MM, box.height - 2 * MARGIN_MM)
    if box.height >= STACKED_FROM_MM:
        below = Box(inner.x, inner.y + CODE_MM + 1.5, inner.width, inner.height - CODE_MM - 1.5)
        side = _draw_qr(pdf, label.address, below)
        used = _draw_code(pdf, label, Box(inner.x, inner.y, inner.width, CODE_MM))
        words = Box(below.x + side + 1.5, below.y + 0.5, below.width - side - 1.5, below.height)
    else:
        side = _draw_qr(pdf, label.address, inner)
        beside = Box(inner.x + side + 1, inner.y, inner.width - side - 1, CODE_MM)
        used = _draw_code(pdf, label, beside)
        words = Box(beside.x, beside.y + CODE_MM + 1, beside.width, inner.height - CODE_MM - 1)
    _draw_words(pdf, _words(label, used), words)


def _draw_qr(pdf: FPDF, address: str, box: Box) -> float:
    """Draw the code as large as the box is high; how wide it came out [mm], white rim included."""
    code = segno.make(address, error="q", micro=False, boost_error=False)
    squares = code.symbol_size(border=QUIET)[0]
    side = min(box.height, box.width / 2)
    square = side / squares
    if square < SQUARE_MM:
        raise EntryRefused(
            "address",
            f"address {address!r} is too long for a QR code of {side:.0f} mm; choose larger labels or a shorter name",
        )
    for row, line in enumerate(code.matrix_iter(border=QUIET)):
        for start, end in _runs(list(line)):
            pdf.rect(box.x + start * square, box.y + row * square, (end - start) * square, square, style="F")
    return side


def _runs(line: list[int]) -> list[tuple[int, int]]:
    """Stretches of black squares: (first, one past the last)."""
    runs, start = [], None
    for at, dark in enumerate([*line, 0]):
        if dark and start is None:
            start = at
        elif not dark and start is not None:
            runs.append((start, at))
            start = None
    return runs


def _draw_code(pdf: FPDF, label: Label, box: Box) -> str:
    """Draw the person's own code 1 cm high, or ours if theirs is too long for that; which one it was."""
    size_pt = CODE_MM / CAPITAL_EM / PT_MM
    pdf.set_font("Helvetica", "B", size_pt)
    for text in (label.own, spoken(label.short), label.short):
        plain = printable(text)
        if plain != text or not text:
            continue
        squeeze = min(100.0, 100 * box.width / pdf.get_string_width(plain))
        if squeeze < SQUEEZE_PCT and text != label.short:
            continue
        with pdf.local_context(text_mode=TextMode.FILL):
            pdf.set_stretching(squeeze)
            pdf.text(box.x, box.y + CODE_MM, plain)
            pdf.set_stretching(100)
        return text
    raise ValueError(f"a short code has six plain signs, got {label.short!r}")


def _words(label: Label, used: str) -> list[str]:
    """What stands small: the code that does not stand large, then the lines."""
    other = [label.own] if used != label.own else [spoken(label.short)]
    return [printable(line) for line in (*other, *label.lines) if line]


def _draw_words(pdf: FPDF, lines: Sequence[str], box: Box) -> None:
    pdf.set_font("Helvetica", "", 8)
    height = 8 * PT_MM * 1.2
    for number, line in enumerate(lines[: int(box.height / height)]):
        width = pdf.get_string_width(line)
        if width > 0:
            pdf.set_stretching(max(min(100.0, 100 * box.width / width), 60.0))
            pdf.text(box.x, box.y + (number + 0.8) * height, _cut(pdf, line, box.width))
            pdf.set_stretching(100)


def _cut(pdf: FPDF, line: str, width: float) -> str:
    while line and pdf.get_string_width(line) > width + 0.01:
        line = line[:-1]
    return line


def printable(text: str) -> str:
    """The text in the signs that the font has: accents it lacks are left off, other signs become a question mark."""
    plain = "".join(c if _has(c) else unicodedata.normalize("NFKD", c) for c in text)
    kept = "".join(c for c in plain if _has(c) or not unicodedata.combining(c))
    return "".join(c if _has(c) and c.isprintable() else "?" for c in kept)


def _has(sign: str) -> bool:
    return ord(sign) < 0x100
