"""Reads one photo and writes it anew, in a process of its own that ends with it.

Photos come from strangers' cameras and from strangers: whatever a decoder does to this process, it takes nothing else
along. Bytes come in on standard input; out go one line of JSON and, if all went well, two JPEGs without anything but
their pixels.
"""

import io
import json
import re
import sys
import warnings
from typing import Any

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError
from PIL.Image import DecompressionBombError, DecompressionBombWarning
from pillow_heif import register_heif_opener

MAX_PIXELS = 50_000_000
LEAST_SIDE = 8
LONG_SIDE = 1_600
SMALL_SIDE = 360
MEMORY_BYTES = 1_200 * 2**20  # address space; the largest photo allowed takes a third of it in memory
CPU_S = 40
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
QUALITY, SMALL_QUALITY = 84, 74

# What the decoders raise for files that are cut off, forged or of a kind that they do not know inside.
BROKEN = (OSError, SyntaxError, ValueError, EOFError, KeyError, IndexError, TypeError, AttributeError, RuntimeError)


class Refused(Exception):
    """A reason word out of photo_errors.REASONS, with its facts."""

    def __init__(self, reason: str, **facts: object) -> None:
        super().__init__(reason)
        self.reason, self.facts = reason, facts


def limit_process() -> None:
    """Take from this process what it has no use for; where the system has no such limits, the clock remains."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def written_anew(data: bytes) -> tuple[dict[str, Any], bytes, bytes]:
    """The photo upright, in common colours, at most 1600 pixels long, without a word besides; and a small one.

    Raises:
        Refused: it is no photo, has too many pixels, or cannot be read.
    """
    image = _opened(data)
    image.draft("RGB", (LONG_SIDE, LONG_SIDE))
    # Made small first: turning and colours would each take the memory of the whole photo once more.
    image.thumbnail((LONG_SIDE, LONG_SIDE), Image.Resampling.LANCZOS)
    upright = _plain(ImageOps.exif_transpose(image))
    # A comment or profile survives a mere copy of the picture: only pixels are carried over.
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    small = clean.copy()
    small.thumbnail((SMALL_SIDE, SMALL_SIDE), Image.Resampling.LANCZOS)
    facts = {"width": clean.width, "height": clean.height}
    return facts, _jpeg(clean, QUALITY), _jpeg(small, SMALL_QUALITY)


def _opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data), formats=FORMATS)
    pixels = image.width * image.height
    if pixels > MAX_PIXELS:
        raise Refused("pixels", **_too_many(pixels))
    if min(image.size) < LEAST_SIDE:
        raise Refused("size", least=LEAST_SIDE, width=image.width, height=image.height)
    image.seek(0)
    return image


def _too_many(pixels: int) -> dict[str, object]:
    return {"limit_mp": MAX_PIXELS // 10**6, "got_mp": pixels / 1e6}


def _plain(image: Image.Image) -> Image.Image:
    """RGB in the common colour space; what is see-through becomes white."""
    if image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info:
        layer = image.convert("RGBA")
        white = Image.new("RGBA", layer.size, "white")
        return Image.alpha_composite(white, layer).convert("RGB")
    return _common_colours(image).convert("RGB")


def _common_colours(image: Image.Image) -> Image.Image:
    profile = image.info.get("icc_profile")
    if not profile or image.mode not in {"RGB", "CMYK", "L"}:
        return image
    try:
        common = ImageCms.createProfile("sRGB")
        given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.profileToProfile(image, given, common, outputMode="RGB") or image
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image  # a profile that cannot be read costs a shade of colour, not the photo


def _jpeg(image: Image.Image, quality: int) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()


def answer(data: bytes) -> tuple[dict[str, Any], bytes, bytes]:
    """What goes out for what came in: facts and two JPEGs, or a reason and nothing."""
    try:
        return written_anew(data)
    except Refused as refused:
        return {"reason": refused.reason, "facts": refused.facts}, b"", b""
    except (DecompressionBombError, DecompressionBombWarning) as bomb:
        said = re.search(r"\((\d+) pixels\)", str(bomb))
        return {"reason": "pixels", "facts": _too_many(int(said[1]) if said else MAX_PIXELS)}, b"", b""
    except UnidentifiedImageError:
        return {"reason": "kind", "facts": {}}, b"", b""
    except MemoryError:
        return {"reason": "memory", "facts": {}}, b"", b""
    except BROKEN:
        return {"reason": "broken", "facts": {}}, b"", b""


def main() -> None:
    register_heif_opener()
    Image.MAX_IMAGE_PIXELS = MAX_PIXELS
    warnings.simplefilter("error", DecompressionBombWarning)
    data = sys.stdin.buffer.read()
    limit_process()
    facts, photo, small = answer(data)
    head = {**facts, "photo_bytes": len(photo), "small_bytes": len(small)}
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n" + photo + small)


if __name__ == "__main__":
    main()
