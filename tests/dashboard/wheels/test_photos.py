"""Photos. Made here with pillow; the files for the tests are drawn, not photographed."""

import io
import json
import struct
import subprocess
import sys
import zlib
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageDraw, JpegImagePlugin, PngImagePlugin
from pillow_heif import from_pillow, register_heif_opener
from sqlalchemy import Engine

from dashboard.wheels import photos
from dashboard.wheels.bodies.doings import Looked, RindNote
from dashboard.wheels.entries import put_all
from dashboard.wheels.photo_errors import PhotoRefused
from dashboard.wheels.photo_files import keep_file, photo_path, whole
from dashboard.wheels.photos import MAX_BYTES, awaited, photos_of, put_photo, take_in
from tests.dashboard.wheels.builders import WHEEL, a_wheel, an_id, day, new

GPS, ORIENTATION = 0x8825, 0x0112  # tags of Exif 2.3
SECRET = b"behind the mill"


def a_picture(width: int = 640, height: int = 400) -> Image.Image:
    """Red at the left, blue at the right, so that turning shows."""
    picture = Image.new("RGB", (width, height), (200, 30, 30))
    ImageDraw.Draw(picture).rectangle((width // 2, 0, width, height), fill=(30, 30, 200))
    return picture


def a_jpeg(picture: Image.Image | None = None, orientation: int = 1, **more: object) -> bytes:
    out = io.BytesIO()
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010E] = SECRET.decode()
    exif.get_ifd(GPS).update({1: "N", 2: (46.0, 12.0, 5.0), 3: "E", 4: (6.0, 9.0, 1.0)})
    (picture or a_picture()).save(out, "JPEG", exif=exif, comment=SECRET, **more)
    return out.getvalue()


def a_png() -> bytes:
    out, info = io.BytesIO(), PngImagePlugin.PngInfo()
    info.add_text("Comment", SECRET.decode())
    a_picture().save(out, "PNG", pnginfo=info)
    return out.getvalue()


def a_webp() -> bytes:
    out = io.BytesIO()
    a_picture().save(out, "WEBP", exif=Image.Exif().tobytes(), xmp=SECRET)
    return out.getvalue()


def a_heic(orientation: int = 1) -> bytes:
    out = io.BytesIO()
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010E] = SECRET.decode()
    heif = from_pillow(a_picture())
    heif.save(out, exif=exif.tobytes(), quality=80)
    return out.getvalue()


def kept_picture(folder: Path, content_hash: str) -> Image.Image:
    with Image.open(photo_path(folder, content_hash)) as picture:
        return picture.copy()


def is_red(colour: tuple[int, ...]) -> bool:
    return colour[0] > 120 > colour[2]


@pytest.mark.parametrize("data", [a_jpeg(), a_png(), a_webp(), a_heic()], ids=["jpeg", "png", "webp", "heic"])
def test_each_kind_of_photo_is_written_anew_as_jpeg_with_nothing_but_pixels(data: bytes, tmp_path: Path) -> None:
    kept = take_in(tmp_path, data)
    assert (kept.width, kept.height) == (640, 400)
    for content_hash in (kept.content_hash, kept.small_hash):
        found = photo_path(tmp_path, content_hash).read_bytes()
        assert sha256(found).hexdigest() == content_hash
        assert not any(word in found for word in (SECRET, b"Exif", b"GPS", b"http://ns.adobe.com", b"ICC_PROFILE"))
        picture = Image.open(io.BytesIO(found))
        assert isinstance(picture, JpegImagePlugin.JpegImageFile)
        assert not picture.getexif()
    assert SECRET in data
    assert is_red(kept_picture(tmp_path, kept.content_hash).getpixel((100, 200)))
    assert max(kept_picture(tmp_path, kept.small_hash).size) == 360


@pytest.mark.parametrize(
    ("orientation", "red_at"),
    # Exif 2.3, tag 0x0112: 3 is upside down, 6 is to be turned clockwise, 8 counter-clockwise.
    [(1, "left"), (3, "right"), (6, "top"), (8, "bottom")],
)
def test_photos_are_turned_upright(orientation: int, red_at: str, tmp_path: Path) -> None:
    picture = kept_picture(tmp_path, take_in(tmp_path, a_jpeg(orientation=orientation)).content_hash)
    width, height = picture.size
    assert (width > height) == (red_at in {"left", "right"})
    at = {"left": (20, height // 2), "right": (width - 20, height // 2), "top": (width // 2, 20)}
    assert is_red(picture.getpixel(at.get(red_at, (width // 2, height - 20))))


def test_a_heic_photo_is_turned_once(tmp_path: Path) -> None:
    register_heif_opener()
    picture = kept_picture(tmp_path, take_in(tmp_path, a_heic(6)).content_hash)
    assert picture.size == (400, 640)
    assert is_red(picture.getpixel((200, 20)))


def test_a_large_photo_is_made_smaller(tmp_path: Path) -> None:
    kept = take_in(tmp_path, a_jpeg(a_picture(4_000, 3_000)))
    assert (kept.width, kept.height) == (1_600, 1_200)
    assert kept.bytes == photo_path(tmp_path, kept.content_hash).stat().st_size


def test_see_through_becomes_white(tmp_path: Path) -> None:
    out = io.BytesIO()
    Image.new("RGBA", (64, 64), (0, 0, 0, 0)).save(out, "PNG")
    picture = kept_picture(tmp_path, take_in(tmp_path, out.getvalue()).content_hash)
    assert min(picture.getpixel((32, 32))) > 250


def test_colours_of_a_camera_are_brought_to_common_ones(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    kept = take_in(tmp_path, a_jpeg(icc_profile=profile))
    assert is_red(kept_picture(tmp_path, kept.content_hash).getpixel((100, 200)))
    broken = take_in(tmp_path, a_jpeg(icc_profile=profile[:40]))
    assert broken.width == 640


def a_bomb(width: int = 30_000, height: int = 30_000) -> bytes:
    """A PNG of some kilobytes that says it is 900 million pixels, and is."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    rows = zlib.compress(bytes((width + 7) // 8 + 1) * 64)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def a_gif() -> bytes:
    out = io.BytesIO()
    a_picture(64, 64).save(out, "GIF")
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "reason", "words"),
    [
        (b"", "blank", "the file is empty"),
        (b"x" * (MAX_BYTES + 1), "bytes", "at most 25 MB, got 25.0 MB"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "kind", "is not a JPEG, PNG, WebP or HEIC photo"),
        (a_gif(), "kind", "is not a JPEG"),
        (b"MZ" + bytes(500), "kind", "is not a JPEG"),
        (a_bomb(), "pixels", "at most 50 million pixels, got 900 million"),
        (a_bomb(4, 4), "size", "at least 8 pixels each way, got 4 by 4"),
        (a_jpeg()[:2_000], "broken", "cannot be read"),
        (a_heic()[:700], None, ""),
        (a_png()[:120] + b"\xff" * 400, "broken", "cannot be read"),
    ],
    ids=["blank", "bytes", "svg", "gif", "program", "bomb", "tiny", "cut jpeg", "cut heic", "forged png"],
)
def test_what_is_no_photo_is_refused_with_a_reason(data: bytes, reason: str | None, words: str, tmp_path: Path) -> None:
    with pytest.raises(PhotoRefused) as refused:
        take_in(tmp_path, data)
    assert reason is None or refused.value.reason == reason
    assert words in str(refused.value)
    assert not list(tmp_path.rglob("*.jpg"))


def test_a_child_that_falls_over_is_the_photos_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "CHILD", "dashboard.no_such_module")
    with pytest.raises(PhotoRefused, match="cannot be read"):
        take_in(tmp_path, a_jpeg())


def test_a_child_that_takes_too_long_is_ended(tmp_path: Path) -> None:
    with pytest.raises(PhotoRefused, match="took too long"):
        take_in(tmp_path, a_jpeg(), wait_s=0.01)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 600), st.binary(min_size=1, max_size=40))
def test_a_forged_photo_is_read_or_refused(tmp_path: Path, at: int, forged: bytes) -> None:
    data = a_jpeg(a_picture(64, 48))
    try:
        kept = take_in(tmp_path, data[:at] + forged + data[at + len(forged) :])
    except PhotoRefused as refused:
        told = refused.reason
    else:
        told = kept.content_hash
    assert told


def test_a_photo_is_kept_by_content_and_written_once(tmp_path: Path) -> None:
    one, other = take_in(tmp_path, a_jpeg()), take_in(tmp_path, a_jpeg())
    assert one == other
    assert len(list(tmp_path.rglob("*.jpg"))) == 2


def test_a_file_cut_off_by_a_power_cut_is_written_again(tmp_path: Path) -> None:
    content_hash = keep_file(tmp_path, b"whole photo")
    path = photo_path(tmp_path, content_hash)
    path.write_bytes(b"who")
    assert not whole(path, content_hash)
    keep_file(tmp_path, b"whole photo")
    assert whole(path, content_hash)
    assert not list(tmp_path.rglob("*.part"))


@pytest.mark.parametrize("name", ["../../etc/passwd", "a" * 63, "A" * 64, ""])
def test_only_a_hash_names_a_photo(name: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="64 hexadecimal digits"):
        photo_path(tmp_path, name)


def test_a_photo_sent_twice_is_kept_once(any_book: Engine, tmp_path: Path) -> None:
    photo_id = an_id()
    assert put_photo(any_book, tmp_path, photo_id, a_jpeg(), received_at=day(1), who="ann") == "stored"
    assert put_photo(any_book, tmp_path, photo_id, a_jpeg(), received_at=day(2), who="ann") == "same"
    assert put_photo(any_book, tmp_path, photo_id, a_png(), received_at=day(2), who="ann") == "conflict"


def test_a_wheels_photos_come_in_a_row_and_missing_ones_are_awaited(book: Engine, tmp_path: Path) -> None:
    first, second, missing = an_id(), an_id(), an_id()
    with book.begin() as db:
        entries = [
            new(a_wheel()),
            new(RindNote(note="crack", photos=(second, missing)), 9),
            new(Looked(photos=(first,)), 3),
        ]
        put_all(db, entries, received_at=day(10))
    for photo_id in (first, second):
        put_photo(book, tmp_path, photo_id, a_jpeg(), received_at=day(10), who="ann")
    with book.begin() as db:
        found = photos_of(db, [WHEEL])
        assert [(row["id"], row["kind"]) for row in found] == [(first, "looked"), (second, "rind_note")]
        assert awaited(db) == [missing]


@pytest.mark.skipif(sys.platform == "win32", reason="no memory limits there")
def test_a_photo_that_wants_too_much_memory_is_refused_and_harms_nobody() -> None:
    limit = "import dashboard.wheels.photo_child as child; child.MEMORY_BYTES = 150 * 2**20; child.main()"
    done = subprocess.run([sys.executable, "-c", limit], input=a_big_png(), capture_output=True, check=False)
    assert json.loads(done.stdout.splitlines()[0])["reason"] == "memory"


def a_big_png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (7_000, 7_000), (9, 9, 9)).save(out, "PNG", compress_level=1)
    return out.getvalue()
