"""No link of ours leads a person away; the tricks are those of OWASP's cheat sheet on unvalidated redirects."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.paths import own_path

AWAY = [
    "", "https://evil.example", "//evil.example", "/\\evil.example", "\\\\evil.example", "/\t/evil.example",
    "/\n/evil.example", "javascript:alert(1)", "evil.example", "///evil.example", " /more", "/more\\..", "//[broken",
]  # fmt: skip


@pytest.mark.parametrize("text", AWAY)
def test_what_leads_away_is_replaced(text: str) -> None:
    assert own_path(text) == "/"


@pytest.mark.parametrize("text", ["/", "/settings?from=%2F#end", "/cave/7"])
def test_own_paths_stay(text: str) -> None:
    assert own_path(text) == text


@given(st.text(st.sampled_from("/\\:.@?#ab\t\n %")))
def test_the_result_always_begins_with_one_slash(text: str) -> None:
    found = own_path(text)
    assert found.startswith("/")
    assert not found.startswith(("//", "/\\"))
