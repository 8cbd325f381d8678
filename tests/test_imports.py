"""Who may import whom, read from the syntax tree: the collector never the dashboard, pure modules no I/O."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
QUIET = {
    "__future__", "base64", "bisect", "calendar", "cbor2", "collections", "csv", "dataclasses", "datetime", "decimal",
    "difflib", "enum", "fractions", "functools", "hashlib", "io", "itertools", "json", "jsonpointer", "math", "numbers",
    "numpy", "operator", "pydantic", "re", "statistics", "string", "types", "typing", "unicodedata", "uuid", "zoneinfo",
}  # fmt: skip
PURE_FOLDERS = (
    "collector/rules",
    "collector/calibration",
    "collector/intake/payloads",
    "dashboard/wheels/bodies",
    "dashboard/lookback",
    "dashboard/wheels/kinds",
    "dashboard/wheels/weight",
)
WHEEL_BOOK = (
    "calendar_days", "care_plan", "cautions", "codes", "company", "counts", "days_typed", "entry_kinds",
    "exchange_format", "existing", "flags", "history", "label_sheets", "losses", "marks", "measures", "minimum_ages",
    "model", "numbers_typed", "pasted", "plausible", "refused_words", "sheets", "stays", "timeline",
)  # fmt: skip
PURE_FILES = (
    "collector/backup/thinning.py",
    "collector/backup/form.py",
    "collector/moist_air.py",
    "collector/dew_uncertainty.py",
    "collector/saturation.py",
    "collector/limits.py",
    "collector/theil_sen.py",
    "collector/errors.py",
    "collector/instants.py",
    "collector/quantities.py",
    "collector/quantity_words.py",
    "collector/judging.py",
    "collector/air/model.py",
    "collector/air/channel.py",
    "collector/air/place.py",
    "collector/importing/csv_form.py",
    "collector/importing/csv_guess.py",
    "collector/intake/timing.py",
    "collector/intake/redelivery.py",
    "collector/intake/arrivals.py",
    "collector/readings/model.py",
    "collector/readings/coverage.py",
    "collector/readings/follower/points.py",
    "collector/readings/follower/spans.py",
    "collector/records/facts.py",
    "dashboard/amounts.py",
    *(f"dashboard/charts/{name}.py" for name in ("axes", "bands", "panels", "reduce", "spans", "strip", "wall_time")),
    "dashboard/charts/lookback_chart.py",
    "dashboard/csv_rows.py",
    "dashboard/forms.py",
    "dashboard/household.py",
    "dashboard/moments_typed.py",
    "dashboard/place_view.py",
    "dashboard/places/target_words.py",
    "dashboard/typed_air.py",
    "dashboard/whom.py",
    "dashboard/words.py",
    *(f"dashboard/wheels/{name}.py" for name in WHEEL_BOOK),
)
# Clocks and chance: quiet by name, but a pure module is told the time.
FORBIDDEN_CALLS = {("datetime", "now"), ("datetime", "today"), ("datetime", "utcnow"), ("date", "today")}


def imports(path: Path) -> Iterator[str]:
    """Every module that a file imports, at the top or inside a function."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports by their full name"
            yield node.module or ""


def pure_paths() -> list[str]:
    found = [p for folder in PURE_FOLDERS for p in (ROOT / folder).rglob("*.py")]
    return sorted({*PURE_FILES, *(str(p.relative_to(ROOT)) for p in found)})


def is_pure(module: str) -> bool:
    path = module.replace(".", "/")
    return f"{path}.py" in pure_paths() or path.startswith(PURE_FOLDERS)


@pytest.mark.parametrize("name", pure_paths())
def test_pure_modules_do_no_io(name: str) -> None:
    for module in imports(ROOT / name):
        assert module.split(".")[0] in QUIET or is_pure(module), f"{name} imports {module}"


@pytest.mark.parametrize("name", pure_paths())
def test_pure_modules_ask_no_clock(name: str) -> None:
    for node in ast.walk(ast.parse((ROOT / name).read_text())):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            assert (node.value.id, node.attr) not in FORBIDDEN_CALLS, f"{name}:{node.lineno} asks the clock"


def test_the_collector_does_not_know_the_dashboard() -> None:
    for path in (ROOT / "collector").rglob("*.py"):
        for module in imports(path):
            assert module.split(".")[0] != "dashboard", f"{path.relative_to(ROOT)} imports {module}"


def test_no_module_has_a_name_that_says_nothing() -> None:
    silent = {"utils.py", "misc.py", "common.py", "helpers.py"}
    named = [p for folder in ("collector", "dashboard") for p in (ROOT / folder).rglob("*.py") if p.name in silent]
    assert named == []
