"""How long a slow phone takes to draw the chart of a year on its second visit, the library being in its store by then.

Run with `python -m tests.bench.bench_phone_chart` after `python -m dashboard.charts.fetch_bundle` (the small library).
Chromium slows its own processor down four times; the promise is 1.5 s from the touch to the drawn chart. The same page
without slowing down is the baseline of the ratio.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median

from playwright.sync_api import BrowserContext, Page, sync_playwright

from collector.clock import SystemClock
from dashboard.https.making import make
from dashboard.static_files import BASIC_BUNDLE
from tests.bench.stored_caves import make_house
from tests.browser.walking import HOST, PHONE, serving

CHROMIUM = Path("/usr/bin/chromium")
SLOWER, VISITS = 4, 5
DRAWN = ".js-plotly-plot .scatterlayer path"


def drawn_ms(page: Page, address: str, slower: int) -> float:
    """From the touch to the chart: navigation, page, library from the store, figure, drawing [ms]."""
    page.goto("about:blank")
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slower})
    page.goto(address, wait_until="commit")
    page.wait_for_selector(DRAWN, state="attached")
    return float(page.evaluate("performance.now()"))


@contextmanager
def phone(address: str) -> Iterator[BrowserContext]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"])
        yield browser.new_context(base_url=address, viewport=PHONE, device_scale_factor=2, is_mobile=True)
        browser.close()


def main() -> None:
    if not BASIC_BUNDLE.exists():
        raise SystemExit("the small library is missing: python -m dashboard.charts.fetch_bundle")
    with tempfile.TemporaryDirectory() as folder:
        settings, (place_id,) = make_house(Path(folder), caves=1, days=366)
        make(settings, [HOST], [], SystemClock().now())
        for served in serving(settings, RINDWATCH_SIGN_IN="open-on-loopback"):
            address = served.http.replace(HOST, "127.0.0.1")
            with phone(address) as context:
                page = context.new_page()
                asked = f"/caves/{place_id}?span=year"
                first = drawn_ms(page, asked, SLOWER)
                plain = median(drawn_ms(page, asked, 1) for _ in range(VISITS))
                slowed = median(drawn_ms(page, asked, SLOWER) for _ in range(VISITS))
    print(f"{'chart of a year, from touch to drawn':<44}{'ms':>8}{'ratio':>8}")
    for word, took in (("baseline: again, full speed", plain), (f"first visit, {SLOWER}x slower", first),
                       (f"again, {SLOWER}x slower", slowed)):  # fmt: skip
        print(f"{word:<44}{took:>8.0f}{took / plain:>8.2f}")


if __name__ == "__main__":
    os.environ.setdefault("RINDWATCH_LOG_LEVEL", "error")
    main()
