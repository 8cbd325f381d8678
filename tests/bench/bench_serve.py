"""An idle `serve` with 20 probes at one message a minute: memory of all processes (PSS), idle CPU, start to first page.

Promise: at most 250 MB, under 3 % of a core. Run with `python -m tests.bench.bench_serve [minutes]`; what comes round
every ten minutes is in the figure from twenty minutes on.
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from collector.intake.payloads import PackRecord, encode_senml
from tests.brokers import Broker, answers, free_port, wait_for

PROBES = 20
MINUTES = 2


def family(pid: int) -> list[int]:
    """A process and all its descendants."""
    found, todo = [], [pid]
    while todo:
        own = todo.pop()
        found.append(own)
        for task in Path(f"/proc/{own}/task").glob("*/children"):
            todo += [int(child) for child in task.read_text().split()]
    return found


def pss_mb(pids: list[int]) -> float:
    total = 0
    for pid in pids:
        for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                total += int(line.split()[1])
    return total / 1_024


def say_processes(pids: list[int]) -> None:
    """Memory of each process, by what was started."""
    for pid in pids:
        command = Path(f"/proc/{pid}/cmdline").read_bytes().decode("utf-8", "replace").replace("\0", " ")
        print(f"  {pss_mb([pid]):>6.1f} MB  {command[-60:].strip()}")


def cpu_s(pids: list[int]) -> float:
    ticks = 0
    for pid in pids:
        fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
        ticks += int(fields[11]) + int(fields[12])
    return ticks / os.sysconf("SC_CLK_TCK")


def main() -> None:
    minutes = int(sys.argv[1]) if len(sys.argv) > 1 else MINUTES
    with tempfile.TemporaryDirectory() as folder:
        http, broker = free_port(), Broker("embedded", Path(folder))
        environment = broker.environment | {"RINDWATCH_HTTP_PORT": str(http), "RINDWATCH_LOG_LEVEL": "warning"}
        began = time.perf_counter()
        with (Path(folder) / "log").open("wb") as log:
            command = [sys.executable, "-m", "collector.cli", "serve"]
            process = subprocess.Popen(command, env=environment, stdout=log, stderr=log)
        wait_for(lambda: answers(http) and answers(broker.port), 60, "serve is up")
        urllib.request.urlopen(f"http://127.0.0.1:{http}/sign-in", timeout=10).read()
        print(f"start to first page: {time.perf_counter() - began:.1f} s")
        client = broker.a_client("bench")
        time.sleep(10)
        before, measured = cpu_s(family(process.pid)), time.monotonic()
        for _ in range(minutes):
            for number in range(PROBES):
                records = [PackRecord("temperature", 12.0, "Cel"), PackRecord("humidity", 87.0, "%RH")]
                payload = encode_senml(records, base_time_s=time.time())
                client.publish(f"rindwatch/probe-{number}/readings", payload, qos=1)
            time.sleep(60)
        share = (cpu_s(family(process.pid)) - before) / (time.monotonic() - measured)
        print(f"memory of {len(family(process.pid))} processes: {pss_mb(family(process.pid)):.0f} MB PSS (promise 250)")
        say_processes(family(process.pid))
        print(f"idle CPU with {PROBES} probes a minute: {100 * share:.1f} % of a core (promise 3)")
        client.disconnect()
        client.loop_stop()
        process.send_signal(signal.SIGTERM)
        process.wait(30)


if __name__ == "__main__":
    main()
