"""Many jobs: each to its outcome, one after the other or on an executor, whatever becomes of the others."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from certgen.errors import CertgenError, visible
from certgen.issuing.certificate import issue_job
from certgen.issuing.options import SheetOptions

#: Jobs handed to an executor ahead of those that are done, for each worker.
_AHEAD = 4
#: Fewer jobs than this are done before other processes have started.
_FEW = 12


@dataclass(frozen=True)
class Order:
    """One certificate to be issued; every part of it may travel to another process or machine."""

    job: Path
    out: Path | None
    results: Path | None
    archive: Path | None
    options: SheetOptions


@dataclass(frozen=True)
class Outcome:
    """What became of one job: a certificate, or what was wrong."""

    job: Path
    path: Path | None = None
    verdict: str = ""
    new: bool = False
    left_out: tuple[str, ...] = ()
    error: str = ""
    exit_code: int = 0


def carried_out(order: Order) -> Outcome:
    """Issue one certificate; a mistake of the user's becomes part of the outcome, so that it travels too."""
    try:
        issued = issue_job(
            order.job, out=order.out, results_path=order.results, options=order.options, archive=order.archive
        )
    except CertgenError as error:
        told = str(error) if error.names_its_file else f"{visible(str(order.job))}: {error}"
        return Outcome(order.job, error=told, exit_code=error.exit_code)
    return Outcome(order.job, issued.path, issued.verdict, issued.new, issued.left_out)


def worth_having(jobs: int, asked: int | None) -> int:
    """How many processes to use: as asked, else one a processor, and one alone where the jobs are few."""
    if asked is not None:
        return min(asked, jobs)
    return (
        1
        if jobs < _FEW
        else min(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1, jobs)
    )


def _processors() -> int:
    """Processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def one_by_one(orders: Sequence[Order]) -> Iterator[Outcome]:
    """Every order in turn, in this process."""
    for order in orders:
        first = order is orders[0]
        with _uncollected(first=first):
            outcome = carried_out(order)
        if first and len(orders) > 1:
            gc.freeze()  # what the first job imported stays: looking through it for garbage is in vain
        yield outcome


def on_executor(orders: Sequence[Order], executor: Executor, workers: int) -> Iterator[Outcome]:
    """Every order on an executor of the standard interface; outcomes come in the order of the orders.

    Only a few orders are handed over ahead, so that an interrupt leaves little to wait for and memory stays flat.
    """
    waiting: list[Future[Outcome]] = []
    coming = iter(orders)
    try:
        for order in coming:
            waiting.append(executor.submit(carried_out, order))
            if len(waiting) >= _AHEAD * workers:
                yield waiting.pop(0).result()
        while waiting:
            yield waiting.pop(0).result()
    finally:
        for future in waiting:
            future.cancel()


@contextmanager
def local_workers(workers: int) -> Iterator[Executor]:
    """A pool of processes on this machine, each with the program loaded once."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    method = "spawn" if os.name != "posix" else "forkserver"
    context = get_context(method)
    if method == "forkserver":
        context.set_forkserver_preload(["certgen.issuing.preloaded"])
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_quiet)
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def cluster_workers(address: str) -> Iterator[tuple[Executor, int]]:
    """The workers of a running cluster as an executor, and how many they are."""
    try:
        from distributed import Client
    except ImportError:
        raise CertgenError("--cluster needs an extra: install it with pip install 'certgen[cluster]'.") from None
    try:
        client = Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as cause:
        raise CertgenError(
            f"--cluster {address}: no cluster answers there ({cause}); start its scheduler first."
        ) from cause
    try:
        yield client.get_executor(), max(1, sum(client.nthreads().values()))
    finally:
        client.close()


def _quiet() -> None:
    """An interrupt is the parent's business: a worker finishes its file and ends with the pool."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _uncollected(*, first: bool) -> Iterator[None]:
    """The first job without garbage collection: it imports everything, and searching that for garbage takes a tenth."""
    if first:
        gc.disable()
    try:
        yield
    finally:
        gc.enable()
