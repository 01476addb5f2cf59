"""What a register of 100,000 certificates costs: finding, and issuing one more beside issuing into an empty register.

    python tests/benchmarks/large_register.py [--entries N] [--slowest SECONDS] [--most RATIO]

Finding is the median of repeated searches on an open register, for each way to ask; issuing is entering one small
file. Exit status 1 if the slowest way to ask is above ``--slowest`` or the ratio of issuing above ``--most``.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from certgen.archive.register.certificates import _insert, enter
from certgen.archive.register.database import open_register, writing
from certgen.archive.register.entry import Entry
from certgen.archive.register.search import Wanted, find

ASKED = {
    "serial": Wanted(serial="S-0054321"),
    "beginning of a serial": Wanted(serial="S-00543*"),
    "maker and verdict": Wanted(maker="maker 17", verdict="fail"),
    "verdict and days": Wanted(verdict="fail", tested_from="2025-03-01", tested_to="2025-03-31"),
    "power": Wanted(power_from=1499.0, power_to=1501.0),
    "words": Wanted(text="planer customer 123"),
    "words, standing, in a year": Wanted(text="lathe", tested_from="2024-01-01", current_only=True),
    "number": Wanted(number="HB-50000"),
}
MOST_SHOWN = 50


def entry(index: int, chance: random.Random) -> Entry:
    """An invented entry."""
    return Entry(
        number=f"HB-{index}",
        revision=1,
        reason="",
        tested_on=f"{chance.randint(2016, 2026)}-{chance.randint(1, 12):02}-{chance.randint(1, 28):02}",
        tested_by="a tester",
        issued_to=f"customer {chance.randint(1, 2000)}",
        motor_type="three-phase induction",
        maker=f"maker {chance.randint(1, 60)}",
        model=f"M {chance.randint(1, 400)}",
        serial=f"S-{index:07}",
        description=chance.choice(("from a lathe", "from a planer", "from a fan", "from a pump")),
        verdict=chance.choice(("pass", "pass", "pass", "fail", "not tested")),
        voltage=400.0,
        power=float(chance.randint(50, 22000)),
        torque=10.0,
        speed=150.0,
        current=3.0,
        efficiency=0.8,
        source_sha256=f"{index:064x}",
    )


def fill(register: sqlite3.Connection, entries: int) -> None:
    """Many entries at once, without files."""
    chance = random.Random(1)
    with writing(register):
        for index in range(entries):
            inputs = {"job.yaml": f"{index:064x}", "../rigs/rig.yaml": "0" * 64}
            _insert(register, entry(index, chance), inputs, f"{index}.pdf", f"{index:064x}")
        register.execute("UPDATE certificate SET state = 'issued'")


def median_seconds(work: Callable[[], object], times: int) -> float:
    """Median wall time of a piece of work."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)


def issuing_seconds(register: sqlite3.Connection, folder: Path, first: int) -> float:
    """Median wall time of entering one small certificate."""
    chance, index = random.Random(2), iter(range(first, first + 10**6))
    return median_seconds(lambda: enter(register, folder, entry(next(index), chance), b"page"), 60)


def main() -> int:
    """Measure, print, and compare with the most that is allowed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=100_000)
    parser.add_argument("--slowest", type=float, default=0.05)
    parser.add_argument("--most", type=float, default=1.2)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        small, large = Path(name) / "small", Path(name) / "large"
        small.mkdir()
        large.mkdir()
        with closing(open_register(small, make=True)) as empty, closing(open_register(large, make=True)) as full:
            fill(full, options.entries)
            slowest = 0.0
            for title, wanted in ASKED.items():
                taken = median_seconds(lambda wanted=wanted: find(full, wanted, MOST_SHOWN), 15)
                print(f"find by {title:28} {1000 * taken:7.2f} ms")
                slowest = max(slowest, taken)
            into_empty = issuing_seconds(empty, small, 10**6)
            into_full = issuing_seconds(full, large, 10**6)
    ratio = into_full / into_empty
    print(f"issue into an empty register   {1000 * into_empty:7.2f} ms")
    print(f"issue into {options.entries:>7} entries     {1000 * into_full:7.2f} ms")
    print(f"ratio {ratio:.2f} (at most {options.most}); slowest search at most {1000 * options.slowest:.0f} ms")
    return 0 if slowest <= options.slowest and ratio <= options.most else 1


if __name__ == "__main__":
    sys.exit(main())
