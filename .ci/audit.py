"""Asks whether a weakness is known in any package that the image installs: `python .ci/audit.py`, needs pip-audit.

Ends with 1 when one is known, and, where it must be answered (--must-answer, as in the workflow), when the register
could not be asked about every package. Elsewhere that is said and let pass: a newcomer's machine may have no such way.
"""

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

LOCK = Path(__file__).parents[1] / "collector/container/requirements.lock"


def main(arguments: Sequence[str]) -> int:
    command = [sys.executable, "-m", "pip_audit", "--require-hashes", "--disable-pip", "-f", "json", "-r", str(LOCK)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    try:
        found = json.loads(done.stdout)
    except ValueError:
        last = (done.stderr.strip().splitlines() or ["it said nothing"])[-1]
        found = {"dependencies": [{"name": "every package", "skip_reason": last}]}
    weak, unasked = judged(found)
    for line in weak:
        print(f"weakness known: {line}")
    if unasked:
        print(f"not asked about {len(unasked)} packages, the first of them: {unasked[0]}")
    if not weak and not unasked:
        print("no weakness is known in what the image installs")
    return 1 if weak or (unasked and "--must-answer" in arguments) else 0


def judged(found: Mapping[str, Any]) -> tuple[list[str], list[str]]:
    """What is weak, and what could not be asked about, of an answer of pip-audit in JSON."""
    rows = found["dependencies"]
    weak = [
        f"{row['name']} {row['version']}: {one['id']}, mended in {', '.join(one['fix_versions']) or 'nothing yet'}"
        for row in rows
        for one in row.get("vulns", ())
    ]
    return weak, [f"{row['name']}: {row['skip_reason']}" for row in rows if "skip_reason" in row]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
