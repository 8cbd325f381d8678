"""The service worker's text: what it keeps, and the scripts it is made of."""

import hashlib
import json

from dashboard.static_files import CHART_LIBRARY, Assets

# Each part may add handlers of its own; the first that takes a request answers it. The shell comes last, because it
# takes every page. A new part is a static file and a line here.
PARTS = ("worker_push.js", "worker_round.js", "worker_shell.js")
OFFLINE_PAGE = "/offline"
# What opens in the cellar; the wheel's page is one for all wheels, which fills itself in from what is kept.
ROUND_PAGE, ANY_WHEEL_PAGE, WAITING_PAGE, KEPT_FILE = "/round", "/at/any", "/waiting", "/round/kept.json"
ANY_CORRECTION_PAGE, LATELY_FILE = "/correct/any", "/round/lately.json"
KEPT_PAGES = (ROUND_PAGE, ANY_WHEEL_PAGE, ANY_CORRECTION_PAGE, WAITING_PAGE, KEPT_FILE, LATELY_FILE)
WHOLE_MARK = "/round/whole"  # only in the phone's cache: when all of them were kept
KEPT_SUFFIXES = (".css", ".js", ".svg")


def worker_text(assets: Assets) -> str:
    """The text of /sw.js; it changes when any kept file does, and phones then take the new ones."""
    kept = [assets.url(name) for name in sorted(assets.names) if _is_shell(name)]
    kept += [assets.url("icon-192.png"), OFFLINE_PAGE]
    version = hashlib.sha256(" ".join(kept).encode()).hexdigest()[:12]
    facts = {
        "version": version, "shell": kept, "offline": OFFLINE_PAGE,
        "round": ROUND_PAGE, "any_wheel": ANY_WHEEL_PAGE, "any_correction": ANY_CORRECTION_PAGE, "pages": KEPT_PAGES,
        "whole": WHOLE_MARK,
    }  # fmt: skip
    scripts = ", ".join(json.dumps(assets.url(part)) for part in PARTS)
    return f'"use strict";\nself.rindwatch = {{...{json.dumps(facts)}, handlers: []}};\nimportScripts({scripts});\n'


def _is_shell(name: str) -> bool:
    """True for what pages need at once; the charts' library is large and comes by itself when it is used."""
    is_library = name == CHART_LIBRARY or name.startswith("plotly-basic")
    return name.endswith(KEPT_SUFFIXES) and not is_library and not name.startswith("worker_")
