"""A posted form with its photos, and what is stored of it: the way of a browser without script."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import UploadFile

from dashboard.api.entries import photos_folder
from dashboard.rounds.seeded import seeded_id
from dashboard.rounds.typed import Asked
from dashboard.visit import Visit
from dashboard.wheels.entries import NewEntry, Stored, put_all
from dashboard.wheels.flags import words_of
from dashboard.wheels.photos import put_photo

MAX_FIELDS = 6_000  # the keying-in page has a handful for each wheel
MAX_FILES = 8
DOUBTS = frozenset({"heavier", "much_lighter", "unit_slip"})


@dataclass(frozen=True, slots=True)
class Posted:
    """Texts by field, the last of each name; all wheels that were marked; the photos."""

    texts: Mapping[str, str]
    wheels: Sequence[str] = ()
    photos: Sequence[bytes] = field(default_factory=tuple)


async def posted_form(request: Request) -> Posted:
    """The form of a request, its files read; the route's limit holds for all of it together."""
    async with request.form(max_fields=MAX_FIELDS, max_files=MAX_FILES) as form:
        items = form.multi_items()
        texts = {name: value for name, value in items if isinstance(value, str)}
        wheels = [value for name, value in items if name == "wheel" and isinstance(value, str)]
        photos = [await value.read() for _name, value in items if isinstance(value, UploadFile) and value.size]
    return Posted(texts, tuple(dict.fromkeys(wheels)), tuple(photos))


Form = Annotated[Posted, Depends(posted_form)]


def asked(visit: Visit, posted: Posted) -> Asked:
    return Asked(posted.texts, visit.household, visit.now_at)


def keep_photos(visit: Visit, posted: Posted, seed: str) -> tuple[str, ...]:
    """Keep the form's photos; their ids.

    Raises:
        PhotoRefused: one that is no photo or too large.
    """
    ids = []
    for number, data in enumerate(posted.photos):
        photo_id = seeded_id(seed, "photo", str(number))
        put_photo(
            visit.house.engine, photos_folder(visit.house.settings), photo_id, data,
            received_at=visit.now_at, who=visit.person.name,
        )  # fmt: skip
        ids.append(photo_id)
    return tuple(ids)


def with_photos(new: NewEntry, photos: Sequence[str]) -> NewEntry:
    """The entry with photos in its body."""
    if not photos:
        return new
    return new.model_copy(update={"body": new.body.model_copy(update={"photos": tuple(photos)})})


class Doubted(Exception):
    """A weight that is odd and was not insisted on; nothing was kept."""

    def __init__(self, flag: str) -> None:
        super().__init__(words_of((flag,))[0])


def store(visit: Visit, news: Sequence[NewEntry], *, doubt: bool = False) -> list[Stored]:
    """Keep what a form says; one that was sent before changes nothing.

    Args:
        doubt: ask before an odd weight is kept.
    Raises:
        Doubted: an odd weight; nothing of the form was kept.
    """
    with visit.changing() as db:
        found = put_all(db, news, received_at=visit.now_at, who=visit.person.name)
        odd = sorted(DOUBTS & {flag for one in found for flag in one.flags})
        if doubt and odd:
            raise Doubted(odd[0])
    return found


def flagged(found: Sequence[Stored]) -> str:
    """What was flagged of some entries, as sentences; "" for nothing."""
    said = dict.fromkeys(words for one in found for words in words_of(one.flags))
    return " ".join(f"{text[:1].upper()}{text[1:]}{'' if text.endswith('?') else '.'}" for text in said)


def many(count: int, one: str = "wheel", more: str = "wheels") -> str:
    return f"{count} {one if count == 1 else more}"
