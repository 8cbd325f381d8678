"""Passwords are hashed by Argon2id in a child; argon2-cffi itself is the judge."""

import subprocess
import sys

import pytest
from argon2 import PasswordHasher

from collector.errors import EntryRefused
from dashboard.people import passwords
from dashboard.people.passwords import check_new, hash_password, is_right


def test_the_library_accepts_our_hash() -> None:
    kept = hash_password("four plain words — ünd more")
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert PasswordHasher().verify(kept, "four plain words — ünd more")


def test_right_is_right_and_wrong_is_wrong() -> None:
    kept = PasswordHasher().hash("correct horse")
    assert is_right("correct horse", kept)
    assert not is_right("correct horses", kept)


def test_somebody_unknown_is_refused_after_the_same_work(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[dict[str, str]] = []
    real = passwords._ask
    monkeypatch.setattr(passwords, "_ask", lambda question: asked.append(question) or real(question))
    assert not is_right("anything", None)
    assert asked[0]["hash"].startswith("$argon2id$v=19$m=65536,t=3,p=4$")


def test_a_kept_hash_that_is_no_hash_is_wrong() -> None:
    assert not is_right("anything", "plain text")


@pytest.mark.parametrize("length", [9, 201])
def test_a_new_password_has_bounds(length: int) -> None:
    with pytest.raises(EntryRefused, match=f"Take 10 to 200 characters; this has {length}"):
        check_new("x" * length)


@pytest.mark.parametrize("length", [10, 200])
def test_at_its_bounds_a_password_is_good(length: int) -> None:
    check_new("x" * length)


def test_the_serving_process_does_not_load_the_hasher() -> None:
    heavy = "{'argon2', 'cryptography', 'plotly', 'segno', 'alembic', 'pandas', 'PIL', 'fpdf', 'pywebpush'}"
    code = (
        "import sys, tempfile, pathlib\n"
        "from collector.settings import Settings\nfrom dashboard import serving, commands\n"
        "from dashboard.app import create_app\nfrom dashboard.settings import DashboardSettings\n"
        "create_app(Settings(data=pathlib.Path(tempfile.mkdtemp())), DashboardSettings())\n"
        f"found = {heavy} & set(sys.modules)\nassert not found, found"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
