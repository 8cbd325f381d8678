"""Sheets of sticky labels, one row each, in millimetres; pure.

Sizes as printed on the packets, margins from memory: print a page of frames first and set the offset right.
"""

from dataclasses import dataclass

INCH = 25.4
A4 = (210.0, 297.0)
LETTER = (8.5 * INCH, 11 * INCH)


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet: its page, labels across and down, their size, the corner of the first, and the step to the next."""

    name: str
    word: str
    page: tuple[float, float]
    across: int
    down: int
    width: float
    height: float
    left: float
    top: float
    step_x: float
    step_y: float

    @property
    def labels(self) -> int:
        return self.across * self.down

    def corner(self, number: int) -> tuple[float, float]:
        """Left and top [mm] of a label, counted from 0 along the rows."""
        row, column = divmod(number % self.labels, self.across)
        return self.left + column * self.step_x, self.top + row * self.step_y


LABEL_SHEETS: dict[str, LabelSheet] = {
    row.name: row
    for row in (
        LabelSheet("a4_21", "A4, 21 labels of 63.5 x 38.1 mm", A4, 3, 7, 63.5, 38.1, 7.25, 15.15, 66.0, 38.1),
        LabelSheet("a4_24", "A4, 24 labels of 70 x 37 mm", A4, 3, 8, 70.0, 37.0, 0.0, 0.5, 70.0, 37.0),
        LabelSheet("a4_14", "A4, 14 labels of 99.1 x 38.1 mm", A4, 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6, 38.1),
        LabelSheet(
            "letter_30",
            "US Letter, 30 labels of 2.625 x 1 in",
            LETTER,
            3,
            10,
            2.625 * INCH,
            INCH,
            0.1875 * INCH,
            0.5 * INCH,
            2.75 * INCH,
            INCH,
        ),
        LabelSheet(
            "letter_10",
            "US Letter, 10 labels of 4 x 2 in",
            LETTER,
            2,
            5,
            4 * INCH,
            2 * INCH,
            0.156 * INCH,
            0.5 * INCH,
            4.188 * INCH,
            2 * INCH,
        ),
    )
}
