"""The worker keeps the shell and follows every change of it."""

import json
import re

from fastapi.testclient import TestClient

from dashboard.app import Dashboard
from dashboard.worker import worker_text


def test_everything_the_worker_keeps_can_be_had_without_signing_in(stranger: TestClient) -> None:
    text = stranger.get("/sw.js").text
    kept = json.loads(re.search(r"\{\.\.\.(\{.*?\})", text)[1])["shell"]  # type: ignore[index]
    assert any("rindwatch.css" in url for url in kept)
    assert not any("plotly.min.js" in url or "plotly-basic" in url for url in kept)
    for url in kept + re.findall(r'importScripts\("([^"]+)"', text):
        assert stranger.get(url).status_code == 200, url


def test_the_worker_is_asked_for_each_time(stranger: TestClient) -> None:
    answer = stranger.get("/sw.js")
    assert answer.headers["cache-control"] == "no-cache"
    assert answer.headers["content-type"].startswith("text/javascript")


def test_the_text_stays_the_same_while_no_file_changes(app: Dashboard) -> None:
    assets = app.state.house.assets
    assert worker_text(assets) == worker_text(assets)


def test_the_manifest_names_pictures_that_are_there(stranger: TestClient) -> None:
    answer = stranger.get("/manifest.webmanifest")
    assert answer.headers["content-type"] == "application/manifest+json"
    manifest = answer.json()
    assert manifest["display"] == "standalone"
    assert {icon["sizes"] for icon in manifest["icons"]} == {"192x192", "512x512"}
    for icon in manifest["icons"]:
        picture = stranger.get(icon["src"]).content
        # PNG, second edition, section 11.2.2: width and height stand behind the header's name.
        width = int.from_bytes(picture[16:20])
        assert f"{width}x{width}" == icon["sizes"]
