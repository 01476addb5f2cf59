"""What verifying and listing many certificates costs with a second process, and in memory.

    python tests/benchmarks/many_files.py [--jobs N] [--runs N] [--least SPEEDUP] [--most-memory MB]

``certgen verify`` of all certificates and ``certgen summary`` of all their jobs, as whole processes, with one process and
with two in turns: two must be at least 1.8 times as fast. Then the greatest memory of a process that lists all jobs alone:
it keeps rows and not results, so it must stay below 80 MB.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from many_certificates import make_jobs


def timed(arguments: list[str], folder: Path) -> tuple[float, float]:
    """Wall seconds of a command, and the greatest memory [MB] of it and each of its processes."""
    begin = time.perf_counter()
    command = [sys.executable, "-m", "certgen", *arguments]
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    if status:
        raise SystemExit(f"{' '.join(arguments[:1])} ended with {status}")
    return time.perf_counter() - begin, used.ru_maxrss / 1000.0


def main() -> int:
    """Measure, print, and compare with what is asked."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--least", type=float, default=1.8)
    parser.add_argument("--most-memory", type=float, default=80.0)
    options = parser.parse_args()
    good = True
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make_jobs(folder, options.jobs)
        (folder / "pages").mkdir()
        timed(["issue", "jobs", "--out", "pages"], folder)
        pages = [f"pages/{path.name}" for path in sorted((folder / "pages").iterdir())]
        for what in (["verify", *pages], ["summary", "jobs"]):
            pairs = [[timed([*what, "--workers", str(count)], folder) for count in (1, 2)] for _ in range(options.runs)]
            alone, two = (statistics.median(pair[index][0] for pair in pairs) for index in (0, 1))
            ratio = statistics.median(pair[0][0] / pair[1][0] for pair in pairs)
            memory = max(pair[0][1] for pair in pairs)
            print(f"{what[0]} of {options.jobs}, one process     {alone:7.2f} s")
            print(f"{what[0]} of {options.jobs}, two processes   {two:7.2f} s")
            print(f"two are                     {ratio:7.2f} times as fast (at least {options.least})")
            bound = f" (at most {options.most_memory:.0f})" if what[0] == "summary" else ""
            print(f"greatest memory of one      {memory:7.1f} MB{bound}", flush=True)
            good = good and ratio >= options.least and not (bound and memory > options.most_memory)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
