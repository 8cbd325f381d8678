"""The most memory that the embedded broker may hold: it keeps every topic that it ever heard, and gives none back."""

import asyncio
import logging
import os
import signal
from pathlib import Path

log = logging.getLogger(__name__)

MOST_MB = 400  # a full queue takes 150, idle it is 45; each topic that is new takes half a kilobyte
LOOK_S = 2.0


def resident_mb() -> float | None:
    """What this process holds in memory (proc(5), statm) [MB]; None where the system does not tell."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except (OSError, ValueError, IndexError):
        return None
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


async def end_when_full(most_mb: float) -> None:
    """End this process, which its supervisor starts anew, once it holds more than so much."""
    while True:
        held_mb = resident_mb()
        if held_mb is None:
            # This system does not tell what a process holds.
            log.info("broker_memory_unknown")
            return
        if held_mb > most_mb:
            # It ends, to begin empty.
            log.error("broker_full memory_mb=%.0f most_mb=%.0f", held_mb, most_mb)
            os.kill(os.getpid(), signal.SIGTERM)
        await asyncio.sleep(LOOK_S)
