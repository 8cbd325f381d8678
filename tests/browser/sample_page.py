"""A page of the tests' own that uses every part which pages are put together from."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated, ClassVar

from fastapi import APIRouter, Query
from starlette.responses import HTMLResponse, JSONResponse, Response

from dashboard.charts.figure_text import figure_json
from dashboard.charts.strip import Strip, strip
from dashboard.forms import Form
from dashboard.navigation import Nav
from dashboard.visit import Guest, Helper, Texts, Visit

router = APIRouter()
NAV = Nav("Sample", "/sample", "caves", "bar", 10, count=lambda _db: 3)
FIGURE = {
    "data": [{"x": ["2026-03-01T10:00", "2026-03-01T11:00", "2026-03-01T12:00"], "y": [11.5, None, 12.5],
              "name": "<b>air</b>", "line": {"color": "--accent"}}],
    "layout": {"yaxis": {"title": {"text": "°C"}}},
}  # fmt: skip
PAGE = """
{% extends "base.html" %}
{% import "parts/cards.html" as cards %}
{% import "parts/fields.html" as fields %}
{% import "parts/strip.html" as strips %}
{% import "parts/plot.html" as plots %}
{% block main %}
{{ cards.state("watch", "Too dry for the tommes since noon.") }}
{% call cards.live("/sample/part", frame) %}<p id="count">0</p>{% endcall %}
{% call cards.card("Lower fridge", "/sample", state="good") %}
<p class="value">{{ 11.3|temperature }}</p>
{{ strips.strip(page.strip) }}
{{ strips.strip(page.far) }}
<p>{{ 87|humidity(uncertainty_pct=3) }} {{ cards.ago(page.long_ago, frame.now_at) }}</p>
{% endcall %}
{{ plots.plot("fetched", "/sample/figure", "Air of an hour") }}
{{ plots.plot_here("embedded", page.figure, "The same again") }}
{{ cards.numbers("The numbers", ["When", "°C"], [("10:00", "11.5"), ("12:00", "12.5")]) }}
<form method="post" action="/sample">
{{ fields.errors(page.form) }}
{{ fields.number(page.form, "weight", "Weight", unit="g", hint="As the scale says.") }}
{{ fields.long_text(page.form, "words", "Words") }}
{{ fields.select(page.form, "kind", "Kind", {"a": "Apple", "b": "Birch"}) }}
{{ fields.check(page.form, "wet", "It was wet") }}
  <button class="full">Keep</button>
</form>
{{ cards.confirm("/sample/undo", "Throw away", "Throw this wheel away? It stays in the book.", "Yes, throw it away") }}
{% endblock %}
"""


@dataclass(frozen=True, slots=True)
class SamplePage:
    template: ClassVar[str] = "-"
    title: str
    form: Form
    strip: Strip
    far: Strip
    figure: str
    long_ago: object


def _show(visit: Visit, form: Form, status: int = 200) -> Response:
    near = strip("11.3 °C, target 10 to 13", (8.0, 15.0), (10.0, 13.0), ("10", "13"), (9.5, 12.0), 11.3, 0.5)
    far = strip("99 %, above its target", (70.0, 95.0), (80.0, None), ("80", ""), now=99.0)
    page = SamplePage("Sample", form, near, far, figure_json(FIGURE), visit.now_at - timedelta(hours=3))
    text = visit.house.templates.environment(visit.household).from_string(PAGE)
    return HTMLResponse(text.render(page=page, frame=visit.frame()), status)


@router.get("/sample")
def sample(visit: Guest) -> Response:
    return _show(visit, Form())


@router.post("/sample")
def keep(visit: Helper, texts: Texts) -> Response:
    if not texts.get("weight", "").isdigit():
        return _show(visit, Form(texts).wrong("weight", "Give grams, like 640."), 422)
    return visit.go("/sample", f"Kept: {texts['weight']} g", undo="/sample/undo")


@router.post("/sample/undo")
def undo(visit: Helper) -> Response:
    return visit.go("/sample", "Taken back.")


asked: list[int] = []


@router.get("/sample/part")
def part(visit: Guest) -> Response:
    asked.append(1)
    etag = visit.etag((len(asked) > 1,))
    headers = {"ETag": etag, "X-As-Of": "09:00"}
    if etag in visit.request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return HTMLResponse(f'<p id="count">{len(asked)}</p>', headers=headers)


@router.get("/sample/figure")
def figure(visit: Guest, lines: Annotated[int, Query()] = 1) -> Response:
    return JSONResponse({**FIGURE, "data": FIGURE["data"] * lines})
