"""Static files under addresses that change with their content, packed once."""

import gzip
import hashlib
import importlib.util
import os
import shutil
import tempfile
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from threading import Lock

from starlette.datastructures import Headers
from starlette.responses import FileResponse, Response

OWN_FOLDER = Path(__file__).parent / "static"
CHART_LIBRARY = "plotly.min.js"
BASIC_BUNDLE = OWN_FOLDER / "plotly-basic.min.js"
KINDS = {
    ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml", ".png": "image/png",
    ".txt": "text/plain", ".webmanifest": "application/manifest+json",
}  # fmt: skip
PACKED = {".css", ".js", ".svg", ".txt", ".webmanifest"}
FOR_EVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True, slots=True)
class Asset:
    """One file as it is served; `version` is the beginning of its SHA-256."""

    name: str
    path: Path
    version: str

    @property
    def url(self) -> str:
        return f"/static/{self.version}/{self.name}"


class Assets:
    """The static files by name, and their packed copies in a cache folder."""

    def __init__(self, cache: Path, folder: Path = OWN_FOLDER) -> None:
        self._cache = cache / "static"
        self._folder = folder
        self._known: dict[str, tuple[int, Asset]] = {}
        self._packing = Lock()

    @cached_property
    def names(self) -> frozenset[str]:
        """Every file that may be asked for; the folder for building is not among them."""
        files = (path for path in self._folder.iterdir() if path.suffix in KINDS)
        return frozenset({path.name for path in files} | {CHART_LIBRARY})

    def find(self, name: str) -> Asset | None:
        """The asset of a name; looked at again when the file has changed, as it does while one works on it."""
        if name not in self.names:
            return None
        path = chart_library() if name == CHART_LIBRARY else self._folder / name
        changed_ns = path.stat().st_mtime_ns
        known = self._known.get(name)
        if known is None or known[0] != changed_ns:
            known = (changed_ns, Asset(name, path, _version(path)))
            self._known[name] = known
        return known[1]

    def url(self, name: str) -> str:
        """The address of a static file, for templates.

        Raises:
            ValueError: there is no such file.
        """
        asset = self.find(name)
        if asset is None:
            raise ValueError(f"no static file named {name}")
        return asset.url

    def answer(self, asked: Headers, version: str, name: str) -> Response:
        """The file, packed when the browser takes that; kept for ever only under its own version."""
        asset = self.find(name)
        if asset is None:
            return Response(status_code=404)
        suffix = Path(name).suffix
        headers = {
            "Cache-Control": FOR_EVER if version == asset.version else "no-cache",
            "Content-Type": KINDS[suffix] + ("" if suffix == ".png" else "; charset=utf-8"),
        }
        path = asset.path
        if suffix in PACKED:
            headers["Vary"] = "Accept-Encoding"
            packed = self._packed(asset) if "gzip" in asked.get("accept-encoding", "") else None
            if packed:
                path, headers["Content-Encoding"] = packed, "gzip"
        return FileResponse(path, headers=headers)

    def _packed(self, asset: Asset) -> Path | None:
        """The packed copy, written at the first asking; None when the cache folder takes nothing."""
        path = self._cache / f"{asset.version}-{asset.name}.gz"
        with self._packing:
            if path.exists():
                return path
            try:
                _pack(asset.path, path)
            except OSError:
                return None
        return path


def chart_library() -> Path:
    """The charts' library: the small bundle when the build step has put it in place, else the plotly package's own."""
    if BASIC_BUNDLE.exists():
        return BASIC_BUNDLE
    found = importlib.util.find_spec("plotly")  # finds the folder without importing the package
    if found is None or not found.submodule_search_locations:
        raise FileNotFoundError("the plotly package is not installed")
    return Path(found.submodule_search_locations[0]) / "package_data" / "plotly.min.js"


def _version(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()[:12]


def _pack(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(dir=target.parent)
    try:
        with source.open("rb") as raw, os.fdopen(handle, "wb") as file, gzip.GzipFile("", "wb", 9, file, 0) as out:
            shutil.copyfileobj(raw, out)
        os.replace(beside, target)
    except OSError:
        os.unlink(beside)
        raise
