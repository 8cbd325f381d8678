"""200 entries and 40 photos from a phone without a signal: network cut, page closed, server killed; each stored once.

Run with `python -m tests.bench.bench_no_signal`. It is tests/browser/rounds/test_no_signal.py in full, over https and
http; the tests themselves do a small form of it.
"""

import os
import subprocess
import sys

TEST = "tests/browser/rounds/test_no_signal.py"
FULL = "200+40"


def main() -> int:
    command = [sys.executable, "-m", "pytest", TEST, "--browser", "-q", "-s", "-p", "no:cacheprovider"]
    chosen = ["-k", "stored_once_whatever_happens"]
    return subprocess.run(
        [*command, *chosen], env=os.environ | {"RINDWATCH_TEST_NO_SIGNAL": FULL}, check=False
    ).returncode


if __name__ == "__main__":
    sys.exit(main())
