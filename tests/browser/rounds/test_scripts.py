"""The scripts against what stands outside them: RFC 9562, the house's own reading of the same forms, real photos."""

import io
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page

from collector.errors import EntryRefused
from collector.records.columns import new_id
from collector.records.engine import open_records, reading
from dashboard.household import Household
from dashboard.rounds.choices import known
from dashboard.rounds.entering import gear_entries, place_entries, sheet_of, wheel_entries
from dashboard.rounds.typed import Asked
from dashboard.wheels.measures import parse_weight_g
from tests.browser.rounds.conftest import CellarHouse
from tests.browser.walking import flaws

pytestmark = pytest.mark.browser
AUCKLAND = Household(time_zone="Pacific/Auckland")

# Fills a form of the page and reads it as its script does when Keep is touched.
ENTRIES_OF = """([selector, texts, button]) => {
  const form = document.querySelector(selector);
  form.reset();
  for (const [name, value] of Object.entries(texts)) {
    const field = form.elements[name];
    if (field.type === "checkbox") field.checked = true;
    else field.value = value;
  }
  const submitter = button ? form.querySelector(`button[name="${button[0]}"][value="${button[1]}"]`) : null;
  return rindwatch.entries.entriesOf(form, submitter);
}"""


def at(keeper: Callable[..., Page], house: CellarHouse, path: str = "") -> Page:
    page = keeper(https=False)
    page.goto(path or f"/at/{house.cellar.wheels['24-01']}")
    return page


def said_of_house(kind: str, texts: dict[str, str], house: CellarHouse) -> list[dict[str, Any]]:
    """What the house makes of the same form without script."""
    asked = Asked({"seed": new_id(), **texts}, AUCKLAND, datetime.now(UTC))
    engine = open_records(house.served.settings.records_at)
    with reading(engine) as db:
        lists = known(db)
    engine.dispose()
    sheet, cellar = sheet_of(asked), house.cellar
    if kind == "gear_check":
        entries = gear_entries(asked, cellar.brine, sheet)
    elif kind == "chore":
        entries = place_entries(asked, cellar.cave, sheet, lists)
    else:
        entries = wheel_entries(kind, cellar.wheels["24-01"], asked, sheet, lists)
    return [entry.model_dump(mode="json", exclude_unset=True) for entry in entries]


FORMS: list[tuple[str, dict[str, str], tuple[str, str] | None]] = [
    ("weighing", {"weight": "2860", "unit": "g", "wet": "yes", "start": "cave", "pieces": "2", "text": "low"}, None),
    ("weighing", {"weight": "4 lb 11.5", "unit": "lb", "board": ""}, None),
    ("weighing", {"weight": "2,86", "unit": "kg", "board": "BOARD"}, None),
    ("weighing", {"weight": "2860", "unit": "g", "board": "new", "board_name": "Oak", "board_tare": "790 g"}, None),
    ("rind_note", {"note": "crack", "how_much": "3", "how_bad": "2", "where": "top", "first_seen": "2026-03-01"}, None),
    ("rind_note", {"note": "own", "own_word": "Crack"}, None),
    ("rind_note", {"note": "own", "own_word": "elephant skin"}, None),
    ("rind_note", {"note": "crack", "last_clean": "2026-03-01T08:30", "when": "2026-03-05T21:15"}, None),
    ("care", {"nothing_new": "yes", "gear": "JAR", "with_what": "whey"}, ("care", "washed")),
    ("care", {"side": "2", "salt": "40"}, ("care", "dry_salted")),
    ("care", {"own_word": "sung to"}, ("care", "own")),
    ("took_out", {"what": "slice", "taken": "0.5 oz", "before": "2860", "after": "2.8 kg"}, None),
    ("tasting", {"verdict": "4", "salt": "3", "flavour": "hazelnut", "next_time": "drier", "tasters": "us"}, None),
    ("gear_check", {"strength_pct": "19,5", "ph": "5.1", "temperature_c": "12.5"}, ("boiled", "yes")),
    ("chore", {"amount": "2.5"}, ("chore", "humidifier_filled")),
    ("chore", {"own_word": "lamp changed"}, ("chore", "own")),
]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "texts", "button"), FORMS, ids=[f"{number}-{kind}" for number, (kind, _texts, _button) in enumerate(FORMS)]
)
def test_a_form_means_the_same_with_script_and_without(
    keeper: Callable[..., Page], cellar_house: CellarHouse, kind: str, texts: dict[str, str], button: Any
) -> None:
    page = at(keeper, cellar_house, "/round" if kind in {"gear_check", "chore"} else "")
    cellar = cellar_house.cellar
    texts = {name: {"BOARD": cellar.board, "JAR": cellar.jar}.get(value, value) for name, value in texts.items()}
    selector = f'form[data-entry="{kind}"]' + {
        "rind_note": "[enctype]", "gear_check": f'[data-gear="{cellar.brine}"]',
        "chore": f'[data-place="{cellar.cave}"]',
    }.get(kind, "")  # fmt: skip
    mine = page.evaluate(ENTRIES_OF, [selector, texts, button])
    sent = texts | ({button[0]: button[1]} if button else {})
    if kind == "weighing":  # the page chooses the wheel's own board and the only scale by itself
        sent = {"board": cellar.board, "scale": scale_of(page)} | sent
    theirs = said_of_house(kind, sent, cellar_house)
    assert [told(entry) for entry in mine] == [told(entry) for entry in theirs]


def scale_of(page: Page) -> str:
    return str(page.evaluate("document.querySelector('[name=scale] option:nth-child(2)').value"))


def told(entry: dict[str, Any]) -> dict[str, Any]:
    """An entry without what must differ: ids made anew, the time of a touch, the order of names."""
    body = {name: approximate(name, value) for name, value in entry["body"].items()}
    refs = {name: entry[name] for name in ("wheel_id", "place_id") if entry.get(name)}
    refs |= {"gear_id": entry["gear_id"]} if entry.get("gear_id") and entry["body"]["kind"] != "gear" else {}
    when = {"done_at": datetime.fromisoformat(entry["done_at"])} if entry.get("typed_time") else {}
    return {"body": body, **refs, **when}


def approximate(name: str, value: Any) -> Any:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return round(value, 6)
    if name.endswith("_at"):
        return datetime.fromisoformat(value)
    if isinstance(value, str) and value.startswith("own_"):
        return "own"
    return "new" if name == "board_id" and isinstance(value, str) else value


def test_ids_are_those_of_rfc_9562(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page = at(keeper, cellar_house)
    # Appendix A.6: the time 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
    made = page.evaluate("rindwatch.ids.uuid7(0x017F22E279B0, 0xCC3, [0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F])")
    assert made == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    ids = page.evaluate("Array.from({length: 20000}, () => rindwatch.ids.newId())")
    assert len(set(ids)) == len(ids)
    assert ids == sorted(ids)


WEIGHTS = (
    "2130",
    "2.13 kg",
    "2,13kg",
    "4 lb 11.5 oz",
    "4lb 11",
    "12 oz",
    "0.5 oz",
    "200 kg",
    "75 LB",
    " 3 ",
    "1.250 kg",
)
NO_WEIGHTS = ("", "heavy", "0.2", "201 kg", "1.250", "4 lb 17", "2 kg 3", "-5", "1e3", "2130 gg")


def test_weights_are_read_as_the_house_reads_them(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page = at(keeper, cellar_house)
    for text in WEIGHTS:
        found = page.evaluate("(text) => rindwatch.weights.grams(text, 'g')", text)
        assert found == pytest.approx(parse_weight_g(text)), text
    for text in NO_WEIGHTS:
        refused = page.evaluate(
            "(text) => { try { return rindwatch.weights.grams(text, 'g'); } catch (e) { return e.name; } }", text
        )
        assert refused == "RangeError", text
    with pytest.raises(EntryRefused):
        parse_weight_g("heavy")


def shrunk(page: Page, data: bytes, kind: str) -> tuple[bytes, str]:
    made = page.evaluate(
        """async ([bytes, type]) => {
        const file = new File([new Uint8Array(bytes)], "a", {type});
        const {bytes: small, type: kept} = await rindwatch.photos.shrink(file);
        return {bytes: [...new Uint8Array(small)], type: kept};
        }""",
        [list(data), kind],
    )
    return bytes(made["bytes"]), made["type"]


def test_a_photo_is_made_small_turned_upright_and_says_nothing_of_where(
    keeper: Callable[..., Page], cellar_house: CellarHouse
) -> None:
    page = at(keeper, cellar_house)
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera was held upright: turn it by 90 degrees to see it so
    exif.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    picture_of = Image.new("RGB", (3_200, 2_400), "red")
    picture_of.paste("blue", (0, 0, 1_600, 2_400))
    picture_of.save(out, "JPEG", exif=exif, comment=b"behind the barn")
    data, kind = shrunk(page, out.getvalue(), "image/jpeg")
    small = Image.open(io.BytesIO(data))
    assert (kind, small.size) == ("image/jpeg", (1_200, 1_600))
    top, bottom = small.getpixel((600, 100)), small.getpixel((600, 1_500))
    assert isinstance(top, tuple)
    assert isinstance(bottom, tuple)
    assert top[2] > 200 > top[0]
    assert bottom[0] > 200 > bottom[2]
    assert dict(small.getexif()) == {}
    assert b"barn" not in data


def test_what_the_phone_cannot_read_is_kept_as_it_is(keeper: Callable[..., Page], cellar_house: CellarHouse) -> None:
    page = at(keeper, cellar_house)
    data = b"\x00\x00\x00\x18ftypheic" + bytes(range(200))
    assert shrunk(page, data, "image/heic") == (data, "image/heic")


@pytest.mark.parametrize("which", ["Weigh", "Note, photo", "More for 24-02"])
def test_a_dialog_can_be_read_in_light_and_dark(
    keeper: Callable[..., Page], cellar_house: CellarHouse, which: str
) -> None:
    page = keeper()
    page.goto("/round")
    line = page.locator(f"#w-{cellar_house.cellar.wheels['24-02']}")
    line.get_by_role("link", name=which).tap()
    page.locator("dialog[open]").wait_for()
    name = which.split(",")[0].split(" for")[0].lower()
    assert flaws(page, f"dialog-{name}") == []
