"""The second place: what may be typed on the page can name a place and never a program, and no shell takes part."""

import sys
from pathlib import Path

import pytest
from sqlalchemy import Engine

from collector.backup.second_place import SecondPlace, arguments, checked, load, own_arguments, run, save
from collector.errors import EntryRefused, StoreUnavailable
from collector.records.engine import open_records

FILE = Path("/copies/rindwatch-copy-20260312-030000.zip")


@pytest.fixture
def records(records_path: Path) -> Engine:
    return open_records(f"sqlite:///{records_path}")


@pytest.mark.parametrize(
    ("kind", "where"),
    [
        ("folder", "/mnt/usb/rindwatch"), ("rsync", "keeper@nas:rindwatch"), ("rsync", "nas.home.arpa:/srv/my copies"),
        ("scp", "10.0.0.5:copies"), ("rclone", "mybox:rindwatch/copies"), ("rclone", "my box:"), ("", "whatever"),
    ],
)  # fmt: skip
def test_a_place_is_kept_as_typed(records: Engine, kind: str, where: str) -> None:
    place = checked(kind, f" {where} ")
    with records.begin() as db:
        save(db, place)
        save(db, place)
        assert load(db) == place == SecondPlace(kind, where if kind else "")
    records.dispose()


@pytest.mark.parametrize(
    ("kind", "where"),
    [
        ("folder", "copies"), ("folder", ""), ("rsync", "-e sh:x"), ("rsync", "--rsh=touch /tmp/x:y"),
        ("rsync", "/mnt"), ("rsync", "host::module"), ("scp", "-oProxyCommand=sh:x"),
        ("scp", "user@-oProxyCommand=sh:x"),
        ("rclone", ":sftp,ssh=sh:x"), ("rclone", "--config=/x:y"), ("rclone", "box,ssh=sh:x"), ("rclone", "box"),
        ("rsync", "nas:a\nb"), ("shell", "rm -rf"), ("rsync", "nas:" + "x" * 400),
    ],
)  # fmt: skip
def test_what_is_no_place_or_could_name_a_program_is_refused(kind: str, where: str) -> None:
    with pytest.raises(EntryRefused, match=r"must (look like|begin with)|one of the choices"):
        checked(kind, where)


def test_the_file_and_the_place_are_one_argument_each_behind_the_options() -> None:
    odd = SecondPlace("rsync", "nas:my copies; touch x")
    assert arguments(odd, FILE)[-3:] == ["--", str(FILE), "nas:my copies; touch x/"]
    assert arguments(SecondPlace("rclone", "box:a"), FILE)[-1] == f"box:a/{FILE.name}"
    assert arguments(SecondPlace("rclone", "box:"), FILE)[-1] == f"box:{FILE.name}"
    assert "BatchMode=yes" in " ".join(arguments(odd, FILE))


def test_a_command_of_ones_own_gets_the_file_where_it_says_or_at_the_end() -> None:
    assert own_arguments("send 'to the attic' {file} -q", FILE) == ["send", "to the attic", str(FILE), "-q"]
    assert own_arguments("send --to=attic", FILE) == ["send", "--to=attic", str(FILE)]


def test_a_program_that_fails_hangs_or_is_not_there_is_told_in_its_own_words(tmp_path: Path) -> None:
    run([sys.executable, "-c", "pass"])
    with pytest.raises(StoreUnavailable, match="failed with 3: no room at the inn"):
        run([sys.executable, "-c", "import sys; print('first'); sys.exit(print('no room at the inn') or 3)"])
    with pytest.raises(StoreUnavailable, match="did not end well"):
        run([sys.executable, "-c", "import time; time.sleep(60)"], patience_s=0.3)
    with pytest.raises(StoreUnavailable, match="is not installed here"):
        run([str(tmp_path / "rclone")])
