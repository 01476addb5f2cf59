"""Processes that issue certificates: on this machine, or those of a running cluster. Nothing here loads the program."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from certgen.errors import CertgenError

#: Fewer jobs than this are done before other processes have started.
_FEW = 12


@contextmanager
def workers_for(jobs: int, asked: int | None, cluster: str | None) -> Iterator[tuple[Executor | None, int]]:
    """An executor for so many jobs, ``None`` where this process does them alone, and how many work on it."""
    if cluster is not None:
        with cluster_workers(cluster) as found:
            yield found
        return
    workers = worth_having(jobs, asked)
    if workers == 1:
        yield None, 1
        return
    with local_workers(workers) as executor:
        yield executor, workers


def worth_having(jobs: int, asked: int | None) -> int:
    """How many processes to use: as asked, else one a processor, and one alone where the jobs are few."""
    if asked is not None:
        return min(asked, jobs)
    return 1 if jobs < _FEW else min(_processors(), jobs)


def _processors() -> int:
    """Processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def local_workers(workers: int) -> Iterator[Executor]:
    """A pool of processes on this machine; they are made from one that loads the program while its caller does."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    method = "spawn" if os.name != "posix" else "forkserver"
    context = get_context(method)
    if method == "forkserver":
        from multiprocessing.forkserver import ensure_running

        context.set_forkserver_preload(["certgen.issuing.preloaded"])
        ensure_running()
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_settled)
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


def _settled() -> None:
    """Ready a worker: an interrupt is the parent's business, and what was loaded beforehand is no garbage."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.freeze()
