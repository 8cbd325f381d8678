"""Why an entry was not taken, in the trade's words and with what to do; pure.

A phone that is up to date sends nothing that is refused, so this is read after a slip of a script or a phone left alone
for long. What exactly was wrong stands behind it, for whoever mends that.
"""

from collections.abc import Mapping

from dashboard.wheels.entry_kinds import ENTRY_KINDS

PARTS: Mapping[str, str] = {
    "scale_g": "the weight", "tare_g": "the board's weight", "before_g": "the weight before",
    "after_g": "the weight after", "taken_g": "what was taken out", "weight_g": "the weight", "amount_g": "how much",
    "salt_g": "the salt", "rest_g": "the rest", "pieces": "how many pieces", "text": "the words",
    "photos": "the photos", "done_at": "the time", "sent_at": "the time", "care": "what was done",
    "note": "what was seen",
    "chore": "what was done", "how": "what became of it", "wheel_id": "which wheel", "place_id": "which place",
    "gear_id": "which tub, jar, brush or board", "style_id": "which style", "make_id": "which make",
    "strength_pct": "the strength of the brine", "ph": "the pH", "temperature_c": "the temperature",
    "amount_l": "how many litres", "how_much": "how much", "how_bad": "how bad", "first_seen_on": "first seen",
    "last_clean_at": "last seen clean", "coats": "how many coats", "covering": "the covering",
}  # fmt: skip
AGAIN = "Enter it once more, then throw this one away. Everything else goes on."
AGAIN_PHOTO = "Take it once more, then throw this one away. Everything else goes on."


def refused_words(kind: object, field: str) -> str:
    """What a person reads of an entry that was not taken.

    Args:
        kind: what the entry said it was; anything at all.
        field: the field that was refused, like "body.weighing.scale_g".
    """
    known = ENTRY_KINDS.get(kind) if isinstance(kind, str) else None
    of = f"this {known.word}" if known else "this entry"
    *around, last = [name for name in field.split(".") if not name.isdigit()] or [""]
    part = "" if around == ["body"] else PARTS.get(last, "")  # there the kind's own name stands last
    said = f"{of}: {part} cannot be kept as it stands" if part else f"{of} cannot be kept as it stands"
    return f"{said[:1].upper()}{said[1:]}. {AGAIN}"
