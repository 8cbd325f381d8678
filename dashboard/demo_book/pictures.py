"""Drawn pictures that stand for photos: a wheel on its board, with what the note says shows on its rind."""

import io
import math
from collections.abc import Mapping
from dataclasses import dataclass

from PIL import Image, ImageDraw

from dashboard.demo_book.diary import Diary

SIZE = (960, 720)
GROUND, BOARD, GRAIN = (58, 54, 50), (168, 128, 84), (150, 111, 70)
RIND, PASTE_EDGE = (205, 178, 128), (176, 147, 98)


@dataclass(frozen=True, slots=True)
class Look:
    """How a note looks: its colour, how many marks, how large [px], and whether they are lines."""

    colour: tuple[int, int, int]
    marks: int
    size: int
    lines: bool = False


LOOKS: Mapping[str, Look] = {
    "black_spots": Look((38, 36, 34), 26, 14),
    "crack": Look((84, 60, 34), 5, 120, lines=True),
    "yellow_red_spots": Look((214, 140, 40), 20, 18),
    "red_brown_spots": Look((138, 62, 40), 18, 16),
    "weeping": Look((236, 232, 206), 9, 34),
    "late_blown": Look((224, 200, 150), 3, 90),
    "bare_patch": Look((226, 206, 160), 2, 80),
    "grey_rind": Look((148, 146, 138), 40, 36),
    "soft_spot": Look((190, 158, 104), 1, 110),
}


def picture(diary: Diary, photo_id: str, shows: str) -> bytes:
    """A picture as a phone would send it (JPEG).

    Args:
        diary: for chance. photo_id: each has its own. shows: the name of a rind note.
    """
    drawn = diary.chance("picture", int(photo_id.replace("-", "")[-12:], 16))
    image = Image.new("RGB", SIZE, GROUND)
    pen = ImageDraw.Draw(image)
    pen.rectangle((60, 420, 900, 690), fill=BOARD)
    for number in range(7):
        pen.line((60, 440 + 36 * number, 900, 452 + 36 * number), fill=GRAIN, width=3)
    pen.ellipse((170, 250, 790, 640), fill=PASTE_EDGE)
    pen.rectangle((170, 330, 790, 445), fill=PASTE_EDGE)
    pen.ellipse((170, 130, 790, 520), fill=RIND)
    look = LOOKS.get(shows, LOOKS["soft_spot"])
    for _ in range(look.marks):
        # Inside the upper face: polar, so that nothing hangs in the air.
        turn, reach = drawn.random() * math.tau, drawn.random() ** 0.5 * 0.8
        x, y = 480 + 310 * reach * math.cos(turn), 325 + 195 * reach * math.sin(turn)
        size = look.size * (0.5 + drawn.random())
        if look.lines:
            pen.line((x, y, x + size, y + size * 0.25 * (drawn.random() - 0.5)), fill=look.colour, width=4)
        else:
            pen.ellipse((x - size, y - size * 0.63, x + size, y + size * 0.63), fill=look.colour)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=85)
    return out.getvalue()
