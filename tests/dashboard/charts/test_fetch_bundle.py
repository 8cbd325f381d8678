"""The locked bundle is the one that the plotly package expects."""

import json

from plotly.offline import get_plotlyjs_version

from dashboard.charts.fetch_bundle import BUILD, PACKAGE, version_of
from dashboard.static_files import BASIC_BUNDLE, chart_library


def test_the_lock_names_the_version_that_the_plotly_package_expects() -> None:
    lock = json.loads((BUILD / "package-lock.json").read_text())
    assert lock["packages"][PACKAGE.as_posix()]["version"] == get_plotlyjs_version()


def test_the_lock_names_a_checksum_and_no_machine() -> None:
    text = (BUILD / "package-lock.json").read_text()
    assert "sha512-" in text
    assert "resolved" not in text


def test_the_served_library_is_of_that_version() -> None:
    found = version_of(BASIC_BUNDLE) if BASIC_BUNDLE.exists() else get_plotlyjs_version()
    assert found == get_plotlyjs_version()
    head = chart_library().read_bytes()[:300]
    assert f"v{get_plotlyjs_version()}".encode() in head
