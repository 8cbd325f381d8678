"""A small file system of its own that can be filled."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "small"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", folder], capture_output=True, check=False
    )
    if mounted.returncode:
        assert os.environ.get("CI") != "true", f"a small file system cannot be mounted: {mounted.stderr.decode()}"
        pytest.skip(f"a small file system cannot be mounted here: {mounted.stderr.decode().strip()}")
    yield folder
    subprocess.run(["umount", "-l", folder], check=True)


def fill(folder: Path, leave: int = 0) -> Path:
    """Take all the room there is, but for so many bytes."""
    path = folder / "ballast"
    handle = os.open(path, os.O_CREAT | os.O_WRONLY)
    for size in (65_536, 4_096, 1):
        with suppress(OSError):
            while os.write(handle, b"x" * size):
                pass
    if leave:
        os.ftruncate(handle, max(0, os.fstat(handle).st_size - leave))
    os.close(handle)
    return path
