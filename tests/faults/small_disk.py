"""A small file system of its own that can be filled."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

import pytest


class CannotMount(OSError):
    """No file system can be mounted here."""


@contextmanager
def mounted(folder: Path) -> Iterator[Path]:
    """A file system of 40 MB, in a folder that is made for it.

    Raises:
        CannotMount: whoever runs this may not.
    """
    folder.mkdir()
    told = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", folder], capture_output=True, check=False)
    if told.returncode:
        raise CannotMount(f"a small file system cannot be mounted here: {told.stderr.decode().strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", folder], check=True)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    with ExitStack() as open_until_the_end:
        try:
            folder = open_until_the_end.enter_context(mounted(tmp_path / "small"))
        except CannotMount as error:
            if os.environ.get("CI") == "true":
                raise
            pytest.skip(str(error))
        yield folder


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
