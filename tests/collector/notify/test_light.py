"""What sends is heavy and lives in processes of its own; the collector stays light."""

import subprocess
import sys

HEAVY = ("apprise", "pywebpush", "aiohttp", "requests", "cryptography")


def test_the_collector_loads_nothing_heavy_to_send() -> None:
    program = (
        "import sys, collector.vigil, collector.notify.courier, collector.notify.trying, collector.notify.wishes\n"
        f"print(*[name for name in {HEAVY} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.split() == []
