"""What the image installs is what was looked at: each package at one version, by the hash of its file."""

import importlib.util
import json
import re
import subprocess
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
LOCK = ROOT / "collector/container/requirements.lock"


def locked() -> dict[str, tuple[str, int]]:
    """Version and number of hashes of each package in the lock."""
    text = re.sub(r"\\\n\s*", " ", LOCK.read_text())
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    found = [re.match(r"([A-Za-z0-9._-]+)==(\S+)", line) for line in lines]
    assert all(found), "every line pins one version"
    return {
        one[1].lower(): (one[2], line.count("--hash=sha256:")) for one, line in zip(found, lines, strict=True) if one
    }


def test_each_package_has_one_version_and_a_hash() -> None:
    packages = locked()
    assert len(packages) > 40
    assert [name for name, (_version, hashes) in packages.items() if hashes == 0] == []


def test_the_lock_holds_what_the_project_asks_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = [Requirement(text) for text in project["dependencies"] + project["optional-dependencies"]["postgres"]]
    packages = locked()
    for one in asked:
        name = one.name.lower().replace("_", "-")
        assert name in packages, f"{name} is not locked: make the lock anew, its first lines say how"
        assert one.specifier.contains(packages[name][0]), f"{name} {packages[name][0]} is not {one.specifier}"


def test_the_image_installs_by_hash_and_nothing_beside() -> None:
    docker = (ROOT / "collector/container/Dockerfile").read_text()
    assert "--require-hashes" in docker
    assert "pip install --no-cache-dir --no-deps ." in docker


def _audit() -> Any:
    spec = importlib.util.spec_from_file_location("audit", ROOT / ".ci/audit.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# As pip-audit 2.10 writes it (its README, "--format json").
WEAK = {
    "name": "flask",
    "version": "0.5",
    "vulns": [{"id": "PYSEC-2019-179", "fix_versions": ["1.0"], "description": ""}],
}
SOUND = {"name": "jinja2", "version": "3.1.6", "vulns": []}
SKIPPED = {"name": "numpy", "skip_reason": "not found"}


@pytest.mark.parametrize(
    ("rows", "must_answer", "ends_with", "says"),
    [
        ([SOUND], True, 0, "no weakness is known"),
        ([SOUND, WEAK], False, 1, "flask 0.5: PYSEC-2019-179, mended in 1.0"),
        ([SOUND, SKIPPED], False, 0, "not asked about 1 packages, the first of them: numpy: not found"),
        ([SOUND, SKIPPED], True, 1, "not asked about 1 packages"),
        (None, False, 0, "not asked about 1 packages, the first of them: every package: no way there"),
        (None, True, 1, "not asked"),
    ],
)
def test_a_known_weakness_ends_the_run(
    rows: object,
    must_answer: bool,
    ends_with: int,
    says: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    audit = _audit()
    out = json.dumps({"dependencies": rows, "fixes": []}) if rows else ""
    done = subprocess.CompletedProcess([], 1, out, "Traceback\nno way there\n")
    monkeypatch.setattr(audit.subprocess, "run", lambda *_args, **_more: done)
    assert audit.main(["--must-answer"] if must_answer else []) == ends_with
    assert says in capsys.readouterr().out


def test_both_runs_ask() -> None:
    assert ".ci/audit.py\n" in (ROOT / ".ci/run").read_text()
    assert ".ci/audit.py --must-answer" in (ROOT / ".github/workflows/ci.yml").read_text()
