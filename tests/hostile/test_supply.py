"""What the image installs is what was looked at: each package at one version, by the hash of its file."""

import re
import tomllib
from pathlib import Path

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
