"""Log lines for people and for programs."""

import ast
import json
import logging
import math
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from collector.logs import FIELD, JsonLines, TextLines

ROOT = Path(__file__).parent.parent.parent


def line(message: str, *args: object, **more: object) -> dict[str, object]:
    record = logging.LogRecord("collector.test", logging.WARNING, "", 0, message, args, more.get("exc_info"))  # type: ignore[arg-type]
    found: dict[str, object] = json.loads(JsonLines().format(record))
    return found


def test_an_event_and_its_fields_become_one_object() -> None:
    found = line("part_ended name=%s code=%s took=%.2f", "broker = old", 3, 1.5)
    assert re.match(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}\+00:00\Z", str(found.pop("at")))
    assert found == {
        "level": "warning", "logger": "collector.test", "event": "part_ended", "name": "broker = old", "code": 3,
        "took": 1.5,
    }  # fmt: skip


def test_a_line_of_another_form_is_kept_as_text() -> None:
    assert line("Retrying %s in %d s", "x", 3)["text"] == "Retrying x in 3 s"
    assert line("part_started now")["text"] == "part_started now"
    assert line("")["event"] == "text"


def test_a_field_never_replaces_what_the_line_itself_says() -> None:
    found = line("seen at=%s level=%s", "cellar", 3)
    assert (found["at_"], found["level_"], found["level"]) == ("cellar", 3, "warning")


def test_line_ends_and_quotes_stay_inside_the_line() -> None:
    record = logging.LogRecord("x", logging.INFO, "", 0, "heard topic=%s", ('a"\nb',), None)
    assert "\n" not in JsonLines().format(record)
    assert line("heard topic=%s", 'a"\nb')["topic"] == 'a"\nb'


def test_an_exception_is_told_whole() -> None:
    try:
        math.sqrt(-1)
    except ValueError:
        assert "math domain error" in str(line("broke", exc_info=sys.exc_info())["exception"])


@pytest.mark.parametrize("form", [TextLines("%(message)s"), JsonLines()])
def test_addresses_lose_user_and_password(form: logging.Formatter) -> None:
    record = logging.LogRecord(
        "x", logging.INFO, "", 0, "no_answer url=%s", ("postgresql://me:geheim@db/book",), None
    )  # fmt: skip
    said = form.format(record)
    assert "geheim" not in said
    assert "postgresql://***@db/book" in said


def test_every_line_of_ours_is_an_event_and_fields() -> None:
    wrong = []
    texts = {path: path.read_text() for folder in ("collector", "dashboard") for path in (ROOT / folder).rglob("*.py")}
    logging_ones = {path: text for path, text in texts.items() if "getLogger" in text}
    assert len(logging_ones) > 10
    for path, text in logging_ones.items():
        for node in ast.walk(ast.parse(text)):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
                continue
            owner = node.func.value
            if not (isinstance(owner, ast.Name) and owner.id in ("log", "logger") and node.args):
                continue
            if node.func.attr not in ("debug", "info", "warning", "error", "exception"):
                continue
            template = node.args[0]
            words = str(template.value).split() if isinstance(template, ast.Constant) else ["?"]
            if not re.match(r"[a-z][a-z0-9_]*\Z", words[0]) or not all(FIELD.match(word) for word in words[1:]):
                wrong.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert wrong == []


def test_the_command_line_logs_json_when_the_settings_say_so(tmp_path: Path) -> None:
    program = (
        "import logging; from collector.cli import main; main(['prepare'], standalone_mode=False);"
        " logging.getLogger('x').warning('part_ended code=%d', 3)"
    )
    environment = os.environ | {"RINDWATCH_DATA": str(tmp_path), "RINDWATCH_LOG_FORMAT": "json"}
    done = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True)
    assert json.loads(done.stderr.splitlines()[-1])["code"] == 3
