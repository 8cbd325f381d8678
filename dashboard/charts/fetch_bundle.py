"""Build step: put the small bundle of the charts' library beside the static files.

    python -m dashboard.charts.fetch_bundle

It has the lines, bars and points that our charts use, is a quarter of the whole library, and starts five times sooner
on a slow phone. Without this step the whole library from the plotly package is served. Needs npm; the lock file beside
package.json fixes what is taken, by its checksum.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from dashboard.static_files import BASIC_BUNDLE, OWN_FOLDER

BUILD = OWN_FOLDER / "build"
PACKAGE = Path("node_modules") / "plotly.js-basic-dist-min"
VERSION = re.compile(rb"plotly\.js \(basic - minified\) v(\S+)")


def version_of(bundle: Path) -> str:
    """The version that stands in the bundle's own head; "" when it is something else."""
    with bundle.open("rb") as file:
        found = VERSION.search(file.read(300))
    return found[1].decode() if found else ""


def fetch(target: Path = BASIC_BUNDLE) -> str:
    """Take the bundle from npm and put it in place at once; returns its version.

    Raises:
        subprocess.CalledProcessError: npm did not succeed; its own words are on the screen by then.
    """
    with tempfile.TemporaryDirectory() as folder:
        for name in ("package.json", "package-lock.json"):
            shutil.copy(BUILD / name, folder)
        subprocess.run(["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund"], cwd=folder, check=True)
        taken = Path(folder) / PACKAGE
        shutil.copy(taken / "LICENSE", target.with_suffix(".LICENSE.txt"))
        beside = target.with_suffix(".new")
        shutil.copy(taken / "plotly-basic.min.js", beside)
        os.replace(beside, target)
    return version_of(target)


def main() -> int:
    if shutil.which("npm") is None:
        print(
            "npm is not on this machine; the whole library from the plotly package is served instead.", file=sys.stderr
        )
        return 1
    try:
        print(f"plotly.js basic {fetch()} is in place.")
    except subprocess.CalledProcessError as error:
        print(f"npm ended with {error.returncode}; nothing was changed.", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
