"""A million jobs, simulated: what would break first?

    python tests/studies/million.py [--count N] [--cluster-tasks N]

Nothing is computed or drawn. Stub job files are found and named, stub orders go through processes of this machine and,
where its library is installed, through a cluster of one process; a register is filled with as many rows, searched and
listed. Prints of each step, in a process of its own, what came of it, seconds, seconds of
its processor, and its greatest memory.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from benchmarks.large_register import fill

from certgen.archive.register.database import open_register
from certgen.archive.register.search import Wanted, find, found
from certgen.issuing.layouts import SheetOptions
from certgen.issuing.many import Order, Orders, Outcome
from certgen.issuing.workers import cluster_workers, local_workers
from certgen.job.job_paths import jobs_named
from certgen.terminal.outcomes import Tally
from certgen.terminal.register import certificate_lines

JOB = "certificate: {}\nmotor: {}\n"
#: Files in a folder, as a shop that keeps a folder a month would have it.
TOGETHER = 1000


def make(folder: Path, count: int) -> None:
    """Stub jobs in folders of a thousand."""
    for number in range(count):
        place = folder / f"{number // TOGETHER:04}"
        if number % TOGETHER == 0:
            place.mkdir(parents=True)
        (place / f"{number % TOGETHER:03}.yaml").write_text(JOB, encoding="utf-8")


def stub(order: Order) -> Outcome:
    """What a worker would give back of a certificate."""
    return Outcome(order.job, order.job.with_suffix(".pdf"), "pass", True, ("budget",))


def _lost(order: Order, how: str) -> Outcome:
    return Outcome(order.job, error=how)


def _orders(folder: Path) -> Orders:
    return Orders(jobs_named([folder]), Order(Path(), Path("out"), None, None, SheetOptions()))


def names(folder: Path) -> int:
    """Find and name every job."""
    return len(jobs_named([folder]))


def by_processes(folder: Path) -> int:
    """Stub orders through two processes, tallied as ``issue`` does."""
    tally = Tally()
    with local_workers(2) as workers:
        for outcome in workers.results(stub, _orders(folder), _lost):
            tally.add(outcome)
    return tally.count


def by_cluster(folder: Path, most: int) -> int:
    """The same through a cluster."""
    from distributed import LocalCluster

    tally = Tally()
    with (
        LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None) as cluster,
        cluster_workers(cluster.scheduler_address) as workers,
    ):
        for outcome in workers.results(stub, _orders(folder)[:most], _lost):
            tally.add(outcome)
    return tally.count


def register_filled(folder: Path, count: int) -> int:
    """A row a certificate."""
    with closing(open_register(folder, make=True)) as register:
        fill(register, count)
    return (folder / "register.sqlite3").stat().st_size // 1_000_000


def register_listed(folder: Path) -> int:
    """Every line of ``register list``."""
    with closing(open_register(folder, make=False)) as register:
        return sum(1 for _ in certificate_lines(found(register, Wanted())))


def register_searched(folder: Path) -> int:
    """One serial number, ten times."""
    with closing(open_register(folder, make=False)) as register:
        return sum(len(find(register, Wanted(serial="S-0054321"))) for _ in range(10))


def _measured(answer: object, step: Callable[..., int], arguments: tuple[object, ...]) -> None:
    begin, before = time.perf_counter(), time.process_time()
    result = step(*arguments)
    taken = (time.perf_counter() - begin, time.process_time() - before)
    answer.put((result, taken, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000.0))  # type: ignore[attr-defined]


def run(name: str, step: Callable[..., int], *arguments: object) -> None:
    """One step in a process of its own, printed."""
    context = multiprocessing.get_context("spawn")
    answer = context.Queue()
    process = context.Process(target=_measured, args=(answer, step, arguments))
    process.start()
    result, taken, memory = answer.get()
    process.join()
    print(f"{name:<28} {result:>9}  {taken[0]:8.1f} s  {taken[1]:8.1f} s  {memory:7.0f} MB", flush=True)


def main() -> int:
    """Every step in turn."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=1_000_000)
    parser.add_argument("--cluster-tasks", type=int, default=20_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        jobs, archive = Path(name) / "jobs", Path(name) / "archive"
        archive.mkdir()
        make(jobs, options.count)
        run("jobs named", names, jobs)
        run("stub orders, two processes", by_processes, jobs)
        with suppress(ImportError):
            import distributed  # noqa: F401

            run("stub orders, cluster", by_cluster, jobs, options.cluster_tasks)
        run("register filled, MB", register_filled, archive, options.count)
        run("one serial, ten times", register_searched, archive)
        run("register listed", register_listed, archive)
    return 0


if __name__ == "__main__":
    sys.exit(main())
