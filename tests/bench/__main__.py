"""Prints every measured promise: runs each bench of this folder in a process of its own."""

import subprocess
import sys
from pathlib import Path

FOLDER = Path(__file__).parent


def main() -> int:
    names = sys.argv[1:] or sorted(p.stem for p in FOLDER.glob("bench_*.py"))
    failed = 0
    for name in names:
        print(f"== {name}", flush=True)
        failed += subprocess.run([sys.executable, "-m", f"tests.bench.{name}"], check=False).returncode != 0
    return failed


if __name__ == "__main__":
    sys.exit(main())
