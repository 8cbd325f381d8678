"""Photos over the wire: kept once, and what is no photo refused in words."""

import io
from typing import Any

import pytest
from fastapi import HTTPException, Request
from fastapi.testclient import TestClient
from PIL import Image
from sqlalchemy import Engine, select

from collector.records.columns import new_id
from collector.records.engine import reading
from collector.settings import Settings
from dashboard.api.entries import photos_folder, whole_body
from dashboard.wheels import tables
from dashboard.wheels.photo_files import whole
from dashboard.wheels.photos import MAX_BYTES
from tests.own_loop import run_alone


def a_photo(shade: int = 120, size: tuple[int, int] = (64, 48)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (shade, 90, 40)).save(out, "JPEG")
    return out.getvalue()


def send(client: TestClient, photo_id: str, data: bytes) -> Any:
    return client.put(f"/api/photos/{photo_id}", content=data, headers={"Content-Type": "image/jpeg"})


def test_a_photo_is_kept_once_and_lies_whole_on_disk(helper: TestClient, engine: Engine, settings: Settings) -> None:
    photo_id, data = new_id(), a_photo()
    assert [send(helper, photo_id, data).status_code for _ in range(2)] == [201, 200]
    assert send(helper, photo_id, a_photo(shade=10)).status_code == 409
    with reading(engine) as db:
        row = db.execute(select(tables.photo)).mappings().one()
    folder = photos_folder(settings)
    path = folder / row["content_hash"][:2] / f"{row['content_hash']}.jpg"
    assert whole(path, row["content_hash"])


@pytest.mark.parametrize(("data", "said"), [(b"", "the file is empty"), (b"GIF89a" + b"\0" * 90, "is not a JPEG")])
def test_what_is_no_photo_is_refused_in_words(helper: TestClient, engine: Engine, data: bytes, said: str) -> None:
    answer = send(helper, new_id(), data)
    assert answer.status_code == 422
    assert said in answer.json()["error"]["what"]
    assert answer.json()["error"]["field"] == "photo"


def test_what_is_too_large_is_stopped_while_it_streams(helper: TestClient, engine: Engine) -> None:
    assert send(helper, new_id(), b"x" * (MAX_BYTES + 1)).status_code == 413


def test_nobody_and_a_guest_send_no_photos(stranger: TestClient, guest: TestClient, engine: Engine) -> None:
    assert send(stranger, new_id(), a_photo()).status_code == 401
    assert send(guest, new_id(), a_photo()).status_code == 403


def test_a_phone_that_walks_out_of_the_signal_is_no_fault_of_the_house() -> None:
    async def gone() -> dict[str, str]:
        return {"type": "http.disconnect"}

    with pytest.raises(HTTPException) as refused:
        run_alone(whole_body(Request({"type": "http", "method": "PUT", "headers": []}, gone)))
    assert refused.value.status_code == 400
