"""Planted causes: how often the look-back names the cause first, and how often it cries wolf.

`python -m tests.bench.bench_planted [caves a cause] [caves with none]`; 40 and 400 take half an hour.
"""

import sys
from collections import defaultdict
from collections.abc import Iterable
from functools import partial

from tests.dashboard.lookback.planted.air import KINDS
from tests.dashboard.lookback.planted.marking import Marks, table
from tests.dashboard.lookback.planted.method import look_back
from tests.dashboard.lookback.planted.worlds import NO_AIR

DRAWS = 399


def main(planted: int = 10, none: int = 40) -> int:
    rows: dict[tuple[int, int], list[Marks]] = defaultdict(list)
    print("record episodes kind     caves  named first  stands out  falsely")
    for row in table(partial(look_back, draws=DRAWS), planted, none):
        rows[row.days, row.episodes].append(row)
        print(
            f"{row.days:5d}d {row.episodes:8d} {row.kind:8s} {row.caves:5d} {row.named_first / row.caves:11.1%} "
            f"{row.stood_out / row.caves:11.1%} {row.falsely / row.caves:8.1%}",
            flush=True,
        )
    print("\nrecord episodes  named first (all causes)  stands out  falsely: planted  chance   vat  crowded")
    for (days, episodes), found in rows.items():
        _line(days, episodes, found)
    return 0


def _line(days: int, episodes: int, found: Iterable[Marks]) -> None:
    causes = [row for row in found if row.kind in KINDS]
    caves = sum(row.caves for row in causes)
    named, stood, falsely = (
        sum(n) / caves for n in zip(*((r.named_first, r.stood_out, r.falsely) for r in causes), strict=True)
    )
    none = {row.kind: row.falsely / row.caves for row in found if row.kind in NO_AIR}
    print(
        f"{days:5d}d {episodes:8d} {named:25.1%} {stood:11.1%} {falsely:17.1%} {none['chance']:7.1%} "
        f"{none['vat']:5.1%} {none['crowded']:8.1%}"
    )


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
