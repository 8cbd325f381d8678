"""Static files change their address with their content and are packed once."""

import gzip
import os
import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from starlette.datastructures import Headers

from collector.settings import Settings
from dashboard.app import Dashboard
from dashboard.static_files import FOR_EVER, OWN_FOLDER, Assets
from dashboard.templating import FOLDER


def test_a_file_under_its_own_version_is_kept_for_ever(app: Dashboard, stranger: TestClient) -> None:
    answer = stranger.get(app.state.house.assets.url("rindwatch.css"))
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == FOR_EVER
    assert answer.headers["content-type"] == "text/css; charset=utf-8"


def test_a_file_under_another_version_is_asked_for_again(stranger: TestClient) -> None:
    assert stranger.get("/static/older/rindwatch.css").headers["cache-control"] == "no-cache"


def test_a_packed_copy_is_written_once_and_served(app: Dashboard, stranger: TestClient, settings: Settings) -> None:
    url = app.state.house.assets.url("plotly.min.js")
    first = stranger.get(url, headers={"Accept-Encoding": "gzip"})
    [kept] = (settings.data / "cache" / "static").glob("*plotly*")
    written_ns = kept.stat().st_mtime_ns
    again = stranger.get(url, headers={"Accept-Encoding": "gzip"})
    assert again.headers["content-encoding"] == "gzip"
    assert again.headers["vary"] == "Accept-Encoding"
    assert kept.stat().st_mtime_ns == written_ns
    assert first.content == stranger.get(url, headers={"Accept-Encoding": "identity"}).content
    assert gzip.decompress(kept.read_bytes()) == first.content


def test_without_a_place_for_packed_copies_the_plain_file_comes(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assets = Assets(blocked)
    answer = assets.answer(Headers({"accept-encoding": "gzip"}), "x", "rindwatch.css")
    assert "content-encoding" not in answer.headers


@pytest.mark.parametrize("name", ["package.json", "..%2Fapp.py", "nothing.css", "build", "%2e%2e"])
def test_nothing_else_is_served(stranger: TestClient, name: str) -> None:
    assert stranger.get(f"/static/x/{name}").status_code in {404, 303}


def test_a_changed_file_gets_another_address(tmp_path: Path) -> None:
    (tmp_path / "a.css").write_text("a {}")
    assets = Assets(tmp_path / "cache", tmp_path)
    before = assets.url("a.css")
    (tmp_path / "a.css").write_text("b {}")
    os.utime(tmp_path / "a.css", ns=(1, 1))
    assert assets.url("a.css") != before


def test_a_misspelt_name_in_a_template_is_an_error(app: Dashboard) -> None:
    with pytest.raises(ValueError, match=r"no static file named nothing\.css"):
        app.state.house.assets.url("nothing.css")


def test_no_own_file_names_an_outside_host(app: Dashboard) -> None:
    own = [*OWN_FOLDER.glob("*.css"), *OWN_FOLDER.glob("*.js"), *FOLDER.rglob("*.html")]
    for path in own:
        if not path.name.startswith("plotly"):
            without_comments = re.sub(r"(^|\s)//\s[^\n]*", "", path.read_text())
            assert "//" not in without_comments, path
