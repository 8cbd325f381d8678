"""Draws the icons for home screens: a cut wheel in the mouth of a cave. A tool for developers; needs Pillow.

    python dashboard/static/build/draw_icons.py

The drawing is icon.svg's, in its 64 by 64 units; the small pictures are kept in the repository.
"""

from pathlib import Path

from PIL import Image, ImageDraw

FOLDER = Path(__file__).parent.parent
FINE = 4  # drawn larger and shrunk, for smooth edges
RIND, DARK, CHEESE, FACE = "#7a3d00", "#2a1b0d", "#e2a85a", "#fbe3b1"


def draw(size: int, room: float) -> Image.Image:
    """The picture; `room` is the share left free on every side, for systems that cut their own shape."""
    whole = size * FINE
    picture = Image.new("RGB", (whole, whole), RIND)
    pen = ImageDraw.Draw(picture)
    unit = whole * (1 - 2 * room) / 64

    def at(*numbers: float) -> tuple[float, ...]:
        return tuple(whole * room + number * unit for number in numbers)

    pen.pieslice(at(10, 10, 54, 54), 180, 360, fill=DARK)
    pen.rectangle(at(10, 32, 54, 54), fill=DARK)
    pen.ellipse(at(18, 40, 46, 54), fill=CHEESE)
    pen.rectangle(at(18, 38, 46, 47), fill=CHEESE)
    pen.ellipse(at(18, 31, 46, 45), fill=FACE)
    return picture.resize((size, size), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    for name, size, room in (
        ("icon-180", 180, 0.0),
        ("icon-192", 192, 0.0),
        ("icon-512", 512, 0.0),
        ("icon-maskable-512", 512, 0.12),
    ):
        # Few colours: a palette keeps each picture to a few kilobytes.
        draw(size, room).quantize(32).save(FOLDER / f"{name}.png", optimize=True)
