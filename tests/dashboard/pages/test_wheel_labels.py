"""Labels as a person gets them: the PDF, what can go wrong, and the code that stays."""

import pypdfium2
import pytest
import zxingcpp
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from dashboard.wheels.labels_given import label_of
from tests.dashboard.book_kept import a_style, a_wheel
from tests.dashboard.conftest import ADDRESS
from tests.dashboard.dairy import a_place


def test_a_printed_label_leads_back_to_its_wheel(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        wheel = a_wheel(db, "24-07B", 60, a_place(db), style_id=a_style(db))
    answer = helper.post("/wheels/labels", data={"what": "wheels", "sheet": "a4_21", "wheel": wheel})
    assert answer.headers["content-type"] == "application/pdf"
    document = pypdfium2.PdfDocument(answer.content)
    picture = document[0].render(scale=150 / 72).to_pil()
    document.close()
    # zxing-cpp reads what pdfium drew (ISO/IEC 18004).
    (found,) = zxingcpp.read_barcodes(picture)
    assert found.text.startswith(f"{ADDRESS}/w/")
    with engine.begin() as db:
        assert found.text.endswith(label_of(db, wheel) or "?")
    assert helper.get(found.text.removeprefix(ADDRESS)).headers["location"] == f"/wheels/{wheel}"


def test_a_thing_keeps_the_code_of_its_first_label(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        place = a_place(db)
    codes = set()
    for _ in range(2):
        assert helper.post("/wheels/labels", data={"what": "places", "sheet": "letter_10"}).status_code == 200
        with engine.begin() as db:
            codes.add(label_of(db, place))
    assert len(codes) == 1


def test_the_wheels_of_one_place_are_offered(helper: TestClient, engine: Engine) -> None:
    with engine.begin() as db:
        here = a_place(db)
        a_wheel(db, "A1", 60, here)
        a_wheel(db, "B2", 60, a_place(db, "Box"))
    page = helper.get(f"/wheels/labels?place={here}").text
    assert "A1" in page
    assert "B2" not in page


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"sheet": "napkin"}, "Take one of the sheets"),
        ({"sheet": "a4_21"}, "Mark at least one wheel"),
        ({"sheet": "a4_21", "what": "places", "skip": "21"}, "skip below 21"),
        ({"sheet": "a4_21", "what": "places", "skip": "one"}, "whole number of labels, got one"),
        ({"sheet": "a4_21", "what": "places", "right": "99"}, "at most 20 mm, got 99"),
    ],
)
def test_what_cannot_be_printed_is_said(helper: TestClient, engine: Engine, texts: dict[str, str], said: str) -> None:
    with engine.begin() as db:
        a_place(db)
    answer = helper.post("/wheels/labels", data=texts)
    assert answer.status_code == 422
    assert said in answer.text


def test_a_guest_prints_nothing(guest: TestClient) -> None:
    assert guest.get("/wheels/labels").status_code == 403
    assert guest.post("/wheels/labels", data={"what": "places", "sheet": "a4_21"}).status_code == 403
