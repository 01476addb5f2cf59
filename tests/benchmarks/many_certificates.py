"""What further certificates cost: against bare charts, with a second worker, and in memory.

    python tests/benchmarks/many_certificates.py [--jobs N] [--memory N] [--most RATIO] [--least SPEEDUP]

1. A whole certificate in a warm process, as a ratio to bare matplotlib drawing the same two charts to PDF in a warm
   process of its own, in turns of ten (at most 0.8).
2. ``certgen issue FOLDER`` with two workers against one, as whole processes (at least 1.8 times as fast).
3. Memory of a process after 300 certificates, when its caches are full, and after N (at most 3 % more).

Every certificate is of another job: the same motor under another number, with another ambient temperature and greatest load.
"""

from __future__ import annotations

import argparse
import gc
import itertools
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path

HERE = Path(__file__).parent
EXAMPLES = HERE.parent.parent / "example_jobs"
EXAMPLE = EXAMPLES / "three_phase_full_plate"
TURN = 10
#: Certificates after which the caches of texts are full.
FULL = 300


def make_jobs(folder: Path, count: int) -> list[Path]:
    """Jobs that differ in number, ambient temperature and greatest load."""
    text = (EXAMPLE / "job.yaml").read_text(encoding="utf-8")
    rigs = folder / "rigs"
    rigs.mkdir()
    for rig in (EXAMPLES / "rigs").glob("*.yaml"):
        (rigs / rig.name).write_bytes(rig.read_bytes())
    place = folder / "jobs"
    place.mkdir()
    for other in EXAMPLE.iterdir():
        if other.name != "job.yaml":
            (place / other.name).write_bytes(other.read_bytes())
    made = []
    for index in range(count):
        job = place / f"{index:05}.yaml"
        numbered = re.sub(r"(?m)^  number:.*$", f"  number: B-{index:05}", text)
        warmer = re.sub(r"(?m)^  ambient: 21 degC", f"  ambient: {20 + index * 0.01:.2f} degC", numbered)
        lighter = re.sub(r"2\.529, ", f"{2.500 + index * 0.0001:.4f}, ", warmer)
        job.write_text(lighter, encoding="utf-8")
        made.append(job)
    return made


def seconds(work: Callable[[], object]) -> float:
    """Wall time of a piece of work."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def against_bare_charts(jobs: list[Path], folder: Path) -> tuple[float, float]:
    """Median seconds of a certificate and of the bare charts, each in a warm process of its own, in turns."""
    results = folder / "results.json"
    _issue(jobs[0], folder, results)
    certificates = _warm(_certificates_in_turn, (jobs, folder))
    charts = _warm(_charts_in_turn, (results, folder))
    taken: tuple[list[float], list[float]] = ([], [])
    for _ in range(len(jobs) // TURN):
        for process, kept in zip((certificates, charts), taken, strict=True):
            process.send(TURN)
            kept.append(process.recv() / TURN)
    for process in (certificates, charts):
        process.send(None)
    return statistics.median(taken[0][1:]), statistics.median(taken[1][1:])  # the first turn warms up


def _warm(work: Callable[..., None], arguments: tuple[object, ...]) -> Connection:
    """A process of its own that does a turn for each number sent to it, and answers with the seconds it took."""
    context = get_context("spawn")
    ours, theirs = context.Pipe()
    context.Process(target=work, args=(theirs, *arguments), daemon=True).start()
    return ours


def _certificates_in_turn(turns: Connection, jobs: list[Path], folder: Path) -> None:
    from certgen.issuing.layouts import SheetOptions
    from certgen.issuing.many import Order, one_by_one

    out = folder / "warm"
    out.mkdir()
    outcomes = one_by_one([Order(job, out, None, None, SheetOptions()) for job in jobs])
    while turns.recv() is not None:
        turns.send(seconds(lambda: list(itertools.islice(outcomes, TURN))))


def _charts_in_turn(turns: Connection, results: Path, folder: Path) -> None:
    import matplotlib as mpl

    mpl.use("pdf")
    import matplotlib.pyplot as plt
    from bare_charts import load_chart, torque_chart

    read = json.loads(results.read_text(encoding="utf-8"))

    def both() -> None:
        torque_chart(read, folder / "a.pdf")
        load_chart(read, folder / "b.pdf")
        plt.close("all")

    while turns.recv() is not None:
        turns.send(seconds(lambda: [both() for _ in range(TURN)]))


def _issue(job: Path, out: Path, results: Path | None = None) -> None:
    from certgen.issuing.certificate import issue_job
    from certgen.issuing.layouts import SheetOptions

    issue_job(job, out=out, results_path=results, options=SheetOptions())


def with_workers(folder: Path, workers: int, run: int) -> float:
    """Seconds of a whole ``certgen issue FOLDER``."""
    out = folder / f"with_{workers}_{run}"
    out.mkdir()
    command = [
        sys.executable,
        "-m",
        "certgen",
        "issue",
        str(folder / "jobs"),
        "--out",
        str(out),
        "--workers",
        str(workers),
    ]
    quiet = subprocess.DEVNULL
    return seconds(lambda: subprocess.run(command, check=True, stdout=quiet, stderr=quiet))


def memory_after(jobs: list[Path], folder: Path, most: int) -> tuple[float, float]:
    """Resident memory [MB] of this process after 300 and after ``most`` certificates."""
    out = folder / "memory"
    out.mkdir()
    after: list[float] = []
    for count in range(1, most + 1):
        job = jobs[count % len(jobs)]
        _issue(job, out)
        for made in out.iterdir():
            made.unlink()
        if count in (FULL, most):
            gc.collect()
            after.append(_resident())
    return after[0], after[-1]


def _resident() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGESIZE") / 1e6


def main() -> int:
    """Measure, print, and compare with what is asked."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=401)
    parser.add_argument("--memory", type=int, default=1000)
    parser.add_argument("--most", type=float, default=0.8)
    parser.add_argument("--least", type=float, default=1.8)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        jobs = make_jobs(folder, options.jobs)
        issue, bare = against_bare_charts(jobs, folder)
        print(f"a further certificate      {1000 * issue:7.1f} ms")
        print(f"bare two charts, warm      {1000 * bare:7.1f} ms")
        print(f"ratio                      {issue / bare:7.2f} (at most {options.most})")
        pairs = [(with_workers(folder, 1, run), with_workers(folder, 2, run)) for run in range(3)]
        alone, two = (statistics.median(column) for column in zip(*pairs, strict=True))
        print(f"{options.jobs} jobs, one worker       {alone:7.2f} s")
        print(f"{options.jobs} jobs, two workers      {two:7.2f} s")
        print(f"two workers are            {alone / two:7.2f} times as fast (at least {options.least})")
        early, late = memory_after(jobs, folder, options.memory)
        print(f"memory after {FULL}           {early:7.1f} MB")
        print(f"memory after {options.memory:<13} {late:7.1f} MB (at most 3 % more)")
    good = issue / bare <= options.most and alone / two >= options.least and late <= 1.03 * early
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
