"""Labels. The PDF is drawn by pdfium and the QR codes are read by zxing-cpp."""

import re
from collections.abc import Iterator
from itertools import combinations

import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from collector.errors import EntryRefused
from collector.records.columns import new_id
from dashboard.wheels.codes import short_code
from dashboard.wheels.label_sheets import LABEL_SHEETS, LabelSheet
from dashboard.wheels.labels import CODE_MM, Label, label_pdf, printable

DPI = 300
ADDRESS = "https://cave.home.arpa/w/"


def a_label(own: str = "24-07B", *lines: str) -> Label:
    short = short_code(new_id())
    return Label(short, ADDRESS + short, own, lines or ("tomme, natural rind", "made 3 February 2026"))


def pages(data: bytes) -> Iterator[Image.Image]:
    document = pypdfium2.PdfDocument(data)
    try:
        for page in document:
            yield page.render(scale=DPI / 72).to_pil().convert("L")
    finally:
        document.close()


def cut_out(page: Image.Image, sheet: LabelSheet, number: int) -> Image.Image:
    x, y = sheet.corner(number)
    scale = DPI / 25.4
    return page.crop(tuple(round(v * scale) for v in (x, y, x + sheet.width, y + sheet.height)))


def read(picture: Image.Image) -> list[str]:
    return [code.text for code in zxingcpp.read_barcodes(picture)]


@pytest.mark.parametrize("name", sorted(LABEL_SHEETS))
def test_every_label_of_a_full_sheet_is_read_where_it_belongs(name: str) -> None:
    sheet = LABEL_SHEETS[name]
    labels = [a_label(f"24-{n:02d}") for n in range(sheet.labels + 1)]
    drawn = list(pages(label_pdf(labels, sheet)))
    assert len(drawn) == 2
    found = [read(cut_out(drawn[0], sheet, n)) for n in range(sheet.labels)]
    assert found == [[label.address] for label in labels[:-1]]
    assert read(cut_out(drawn[1], sheet, 0)) == [labels[-1].address]


@pytest.mark.parametrize("name", sorted(LABEL_SHEETS))
def test_the_code_is_at_least_a_centimetre_high(name: str) -> None:
    sheet = LABEL_SHEETS[name]
    # "HHHHHH" is all capitals' height; the tallest run of dark rows beside or above the QR code is that of the code.
    picture = cut_out(next(pages(label_pdf([Label("HHHHHH", ADDRESS, "HHHHHH")], sheet))), sheet, 0)
    top = picture.crop((picture.width * 6 // 10, 0, picture.width, picture.height))
    rows = [min(top.crop((0, y, top.width, y + 1)).tobytes()) < 128 for y in range(top.height)]
    tallest = max(len(run) for run in "".join("x" if dark else " " for dark in rows).split())
    assert tallest / DPI * 25.4 >= CODE_MM - 0.15


def blotted(picture: Image.Image) -> Image.Image:
    """Wet: a grey blot over a twentieth of the code, tilted by 13 degrees, a little blurred."""
    wet = picture.convert("L")
    code = next(iter(zxingcpp.read_barcodes(picture))).position
    left, top, right, bottom = code.top_left.x, code.top_left.y, code.bottom_right.x, code.bottom_right.y
    middle, half = ((left + right) // 2, (top + bottom) // 2), round(((right - left) ** 2 * 0.05 / 3.14) ** 0.5)
    ImageDraw.Draw(wet).ellipse((middle[0] - half, middle[1] - half, middle[0] + half, middle[1] + half), fill=110)
    return wet.rotate(13, expand=True, fillcolor=255).filter(ImageFilter.GaussianBlur(2))


@pytest.mark.parametrize("name", sorted(LABEL_SHEETS))
def test_a_blotted_label_is_still_read(name: str) -> None:
    sheet, label = LABEL_SHEETS[name], a_label()
    picture = cut_out(next(pages(label_pdf([label], sheet))), sheet, 0)
    wet = blotted(picture)
    assert read(wet) == [label.address]
    assert wet.tobytes() != picture.tobytes()


@pytest.mark.parametrize("name", sorted(LABEL_SHEETS))
def test_labels_lie_on_their_page_and_not_on_each_other(name: str) -> None:
    sheet = LABEL_SHEETS[name]
    corners = [sheet.corner(n) for n in range(sheet.labels)]
    for x, y in corners:
        assert x >= 0
        assert y >= 0
        assert x + sheet.width <= sheet.page[0] + 0.1
        assert y + sheet.height <= sheet.page[1] + 0.6
    for (x, y), (u, v) in combinations(corners, 2):
        assert abs(x - u) >= sheet.width - 0.01 or abs(y - v) >= sheet.height - 0.01


def test_used_labels_are_skipped_and_the_printers_offset_is_set_right() -> None:
    sheet, label = LABEL_SHEETS["a4_21"], a_label()
    page = next(pages(label_pdf([label], sheet, skip=4)))
    assert read(cut_out(page, sheet, 4)) == [label.address]
    assert read(cut_out(page, sheet, 0)) == []
    moved = next(pages(label_pdf([label], sheet, offset_mm=(3, 2))))
    still = next(pages(label_pdf([label], sheet)))
    by = [round(mm / 25.4 * DPI) for mm in (3, 2)]
    assert [a - b for a, b in zip(first_dark(moved), first_dark(still), strict=True)] == pytest.approx(by, abs=2)


def first_dark(page: Image.Image) -> tuple[int, int]:
    box = page.point(lambda v: 255 * (v < 128)).getbbox()
    return box[0], box[1]


def test_a_test_print_shows_where_labels_end() -> None:
    sheet = LABEL_SHEETS["letter_10"]
    page = next(pages(label_pdf([a_label()], sheet, frames=True)))
    assert first_dark(page) == pytest.approx([round(v / 25.4 * DPI) for v in sheet.corner(0)], abs=3)


def test_a_long_code_of_ones_own_gives_way_to_ours() -> None:
    label = a_label("the one we made when it snowed in May")
    text = texts(label_pdf([label], LABEL_SHEETS["a4_21"]))
    assert f"{label.short[:3]} {label.short[3:]}" in text
    assert "the one we made when it snowed" in text


def test_signs_that_the_font_lacks_never_stand_large() -> None:
    label = a_label("сыр-7")
    text = texts(label_pdf([label], LABEL_SHEETS["a4_21"]))
    assert label.short[:3] in text


def texts(data: bytes) -> str:
    document = pypdfium2.PdfDocument(data)
    try:
        page = document[0].get_textpage()
        return re.sub(r"\s+", " ", page.get_text_range())
    finally:
        document.close()


@pytest.mark.parametrize(
    ("text", "plain"), [("Řezané", "Rezané"), ("Käse", "Käse"), ("сыр", "???"), ("a\nb", "a?b"), ("", "")]
)
def test_text_is_kept_as_near_as_the_font_can(text: str, plain: str) -> None:
    assert printable(text) == plain


def test_an_address_too_long_for_a_small_label_is_refused() -> None:
    label = Label("7K3F9Q", "https://" + "a" * 150 + "/w/7K3F9Q")
    with pytest.raises(EntryRefused, match="too long for a QR code of 21 mm; choose larger labels"):
        label_pdf([label], LABEL_SHEETS["letter_30"])


def test_more_labels_than_anybody_has_are_refused() -> None:
    with pytest.raises(EntryRefused, match="at most 2000 and skip below 21"):
        label_pdf([a_label()], LABEL_SHEETS["a4_21"], skip=21)
