"""Paths of pages that others link to, so that each is spelled in one place."""

import base64
import binascii
from collections.abc import Mapping
from datetime import datetime
from urllib.parse import quote, urlencode

RESERVED = ("connect", "topics", "part", "check", "import")  # pages of their own below /probes
PACKED = "~"


def place(place_id: str) -> str:
    """A place's own settings."""
    return f"/places/{place_id}"


def targets(place_id: str, suggested: Mapping[str, object] | None = None) -> str:
    """A place's targets; the form is filled with what is suggested."""
    return f"/targets/{place_id}" + (f"?{urlencode(suggested)}" if suggested else "")


def cave(place_id: str, from_at: datetime | None = None, to_at: datetime | None = None) -> str:
    """The air of a place; with both times at that stretch of its chart."""
    if from_at is None or to_at is None:
        return f"/caves/{place_id}"
    stretch = {"from": f"{from_at:%Y-%m-%dT%H:%MZ}", "to": f"{to_at:%Y-%m-%dT%H:%MZ}"}
    return f"/caves/{place_id}?{urlencode(stretch)}"


def probe(name: str) -> str:
    """A probe's page. Names are topics of strangers: one that a browser would fold, or that is a page of ours, is
    packed."""
    segments = name.split("/")
    folds = name.startswith(PACKED) or segments[0] in RESERVED or any(s in ("", ".", "..") for s in segments)
    return f"/probes/{PACKED}{_packed(name)}" if folds else f"/probes/{quote(name, safe='/')}"


def check(name: str) -> str:
    """Where a probe is led through its check."""
    return f"/probes/check/{probe(name).removeprefix('/probes/')}"


def probe_of(path: str) -> str:
    """The name of the probe that a path below /probes speaks of; one that was packed wrongly is no probe's: ""."""
    if not path.startswith(PACKED):
        return path
    text = path.removeprefix(PACKED)
    try:
        return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)).decode()
    except (binascii.Error, UnicodeError, ValueError):
        return ""


def _packed(name: str) -> str:
    return base64.urlsafe_b64encode(name.encode()).decode().rstrip("=")


def type_reading(place_id: str = "") -> str:
    return "/readings/type" + (f"?place={quote(place_id)}" if place_id else "")
