"""One key pair, made once, for the owner's eyes only."""

import multiprocessing
import stat
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from hypothesis import given
from hypothesis import strategies as st
from py_vapid import Vapid01

from collector.notify.push_keys import base64url, private_key, public_key, unbase64url
from collector.settings import Settings


def test_the_key_is_made_once(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path)
    assert private_key(settings) == private_key(settings)
    assert [path.name for path in settings.secrets_folder.iterdir()] == ["push-key"]


def test_the_key_is_for_its_owner_only(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path)
    private_key(settings)
    assert stat.S_IMODE((settings.secrets_folder / "push-key").stat().st_mode) == 0o600


def test_two_processes_that_ask_at_once_get_the_same_key(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path)
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        keys = pool.map(private_key, [settings] * 2)
    assert len(set(keys)) == 1


def test_the_page_gets_the_public_half_that_the_library_signs_with(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path)
    signed = Vapid01.from_string(private_key(settings)).sign({"sub": "mailto:a@example.org", "aud": "https://x.org"})
    assert public_key(settings) in str(signed)
    ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unbase64url(public_key(settings)))


@given(st.binary(max_size=80))
def test_base64url_goes_there_and_back(data: bytes) -> None:
    assert unbase64url(base64url(data)) == data


@pytest.mark.parametrize("text", ["a", "é", "a b c d", "ab$d"])
def test_what_is_no_base64url_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no base64url text"):
        unbase64url(text)
