"""Photos on disk, each under the hash of its bytes: written beside, synced, renamed, the folder synced."""

import os
import re
import secrets
from hashlib import sha256
from pathlib import Path

HASH = re.compile(r"[0-9a-f]{64}")


def photo_path(folder: Path, content_hash: str) -> Path:
    """Where the photo with a hash lies.

    Raises:
        ValueError: something else than a hash, so that no path can be smuggled in.
    """
    if not HASH.fullmatch(content_hash):
        raise ValueError(f"a photo is named by 64 hexadecimal digits, got {content_hash[:80]!r}")
    return folder / content_hash[:2] / f"{content_hash}.jpg"


def keep_file(folder: Path, data: bytes) -> str:
    """Write a photo unless it is there already; its hash. After this returns a power cut does not lose it."""
    content_hash = sha256(data).hexdigest()
    path = photo_path(folder, content_hash)
    if path.exists() and path.stat().st_size == len(data):
        return content_hash
    made = not path.parent.exists()
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{content_hash}.{secrets.token_hex(4)}.part")
    try:
        _write_synced(beside, data)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    _sync_folder(path.parent)
    if made:
        _sync_folder(folder)
    return content_hash


def _write_synced(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return  # a folder cannot be opened there; its entries are synced with the file
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def whole(path: Path, content_hash: str) -> bool:
    """Whether a photo's file is there and still has the bytes it was named for."""
    return path.is_file() and sha256(path.read_bytes()).hexdigest() == content_hash
