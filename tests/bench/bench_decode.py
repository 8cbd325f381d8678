"""What decoding costs beside the parser alone, for one message of three records.

Run with `python -m tests.bench.bench_decode`. It prints a table of ratios and asserts nothing.
"""

from __future__ import annotations

import json
import timeit
from collections.abc import Callable

import cbor2

from collector.intake.payloads import PackRecord, decode, encode_senml

TOPIC = "rindwatch/cellar-1/readings"
ROUNDS, REPEATS = 5_000, 9


def pack(*, cbor: bool = False) -> bytes:
    """Temperature, humidity and battery with an absolute time, as a probe of ours sends them."""
    records = [
        PackRecord("temperature", 12.31, "Cel"),
        PackRecord("humidity", 86.4, "%RH"),
        PackRecord("battery", 87.0, "%EL"),
    ]
    return encode_senml(records, base_name="cellar-1/", base_time_s=1764000000.123, cbor=cbor)


def microseconds(work: Callable[[], object]) -> float:
    """The least time that one call took over several rounds [us]."""
    return min(timeit.repeat(work, number=ROUNDS, repeat=REPEATS)) / ROUNDS * 1e6


def main() -> None:
    """Print one row for each form."""
    as_json, as_cbor = pack(), pack(cbor=True)
    plain = b'{"temperature": 12.31, "humidity": 86.4, "battery": 87, "ts": 1764000000.123}'
    rows = {
        "SenML JSON, beside json.loads": (lambda: decode(TOPIC, as_json), lambda: json.loads(as_json)),
        "SenML CBOR, beside cbor2.loads": (lambda: decode(TOPIC, as_cbor), lambda: cbor2.loads(as_cbor)),
        "plain JSON, beside json.loads": (lambda: decode("cellar/box", plain), lambda: json.loads(plain)),
        "one number, beside float": (lambda: decode("cellar/temperature", b"12.31"), lambda: float(b"12.31")),
    }
    print(f"{'message of three records':<32}{'decode us':>10}{'parser us':>10}{'ratio':>8}")
    for name, (ours, bare) in rows.items():
        ours_us, bare_us = microseconds(ours), microseconds(bare)
        print(f"{name:<32}{ours_us:>10.1f}{bare_us:>10.1f}{ours_us / bare_us:>8.1f}")


if __name__ == "__main__":
    main()
