"""Links between pages, whatever strangers call their probes."""

from urllib.parse import unquote, urljoin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard import links_to
from tests.dashboard.conftest import NOW_AT

BASE = "http://192.168.7.20:8000"


@pytest.mark.parametrize(
    "name", ["cellar-1", "zig/cave/air", "a b", "50%", "connect", "topics/x", "..", "a/../b", "~x", "a//b", "ü/¿?#"]
)
def test_a_probes_path_leads_back_to_its_name(name: str) -> None:
    path = links_to.probe(name).removeprefix("/probes/")
    assert links_to.probe_of(unquote(path)) == name


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1))
def test_no_name_leads_away_from_the_probes(name: str) -> None:
    """The browser's own way of folding paths, as urllib has it (RFC 3986, section 5.2.4)."""
    folded = urljoin(BASE, links_to.probe(name))
    assert folded.startswith(BASE + "/probes/")
    assert links_to.probe_of(unquote(folded.removeprefix(BASE + "/probes/"))) == name


def test_a_name_like_a_page_of_ours_is_packed() -> None:
    assert links_to.probe("connect") == "/probes/~Y29ubmVjdA"


@pytest.mark.parametrize("path", ["~", "~é", "~/", "~_w"])
def test_what_was_packed_wrongly_is_no_probe(path: str) -> None:
    assert links_to.probe_of(path) == ""


def test_a_caves_chart_opens_at_a_time() -> None:
    assert links_to.cave("7") == "/caves/7"
    assert links_to.cave("7", NOW_AT, NOW_AT) == "/caves/7?from=2026-03-12T14%3A10Z&to=2026-03-12T14%3A10Z"
    assert links_to.targets("7", {"grace_min": 30}) == "/targets/7?grace_min=30"
