from collections.abc import Callable
from types import ModuleType

import pytest

NOT_INSTALLED = "a_reference_library_that_nobody_installed"


@pytest.mark.parametrize(
    ("ci", "outcome"), [("true", pytest.fail.Exception), ("", pytest.skip.Exception)], ids=["ci", "home"]
)
def test_a_missing_library_skips_at_home_and_fails_in_ci(
    reference_library: Callable[[str], ModuleType],
    monkeypatch: pytest.MonkeyPatch,
    ci: str,
    outcome: type[BaseException],
) -> None:
    monkeypatch.setenv("CI", ci)
    with pytest.raises(outcome, match=f"{NOT_INSTALLED} is not installed"):
        reference_library(NOT_INSTALLED)
