"""Processes that issue certificates: on this machine, or those of a running cluster. Nothing here loads the program."""

from __future__ import annotations

import gc
import os
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from certgen.errors import CertgenError, visible

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

Task = TypeVar("Task")
Result = TypeVar("Result")

#: Fewer jobs than this are done before other processes have started.
_FEW = 12


@contextmanager
def workers_for(jobs: int, asked: int | None, cluster: str | None) -> Iterator[Workers | Cluster | None]:
    """Workers for so many jobs; ``None`` where this process does them alone."""
    if cluster is not None:
        with cluster_workers(cluster) as found:
            yield found
        return
    count = worth_having(jobs, asked)
    if count == 1:
        yield None
        return
    with local_workers(count) as workers:
        yield workers


def worth_having(jobs: int, asked: int | None) -> int:
    """How many processes to use: as asked, else one a processor, and one alone where the jobs are few."""
    if asked is not None:
        return min(asked, jobs)
    return 1 if jobs < _FEW else min(_processors(), jobs)


def _processors() -> int:
    """Processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


# Processes of this machine.


#: Tasks a worker has at hand: one it works on, and one so that it need not wait for the next.
_AT_HAND = 2
#: Results kept back for one that is still worked on, for each worker.
_KEPT = 16
#: What a worker may take to end when it is asked to, and when its parent is gone. [s]
_TO_CLEAR_UP, _LEFT_TO_ORPHANS = 1.0, 2.0


@dataclass
class _Worker:
    process: BaseProcess
    connection: Connection[Any, Any]
    at_work: deque[int]


class Workers:
    """Processes that work off one task after another. One that is lost is replaced, and the task it had is reported."""

    def __init__(self, count: int) -> None:
        self.count = count
        self._context = _context()
        self._workers: list[_Worker] = []

    def results(
        self, call: Callable[[Task], Result], tasks: Sequence[Task], lost: Callable[[Task, str], Result]
    ) -> Iterator[Result]:
        """The result of every task, in their order.

        Parameters
        ----------
        call : callable
            Works off a task; a function of a module, which a worker finds by its name.
        tasks : sequence
            What is to be done.
        lost : callable
            The result of a task whose worker was lost, and how it was lost.
        """
        from multiprocessing.connection import wait

        waiting = deque(range(len(tasks)))
        done: dict[int, Result] = {}
        for due in range(len(tasks)):
            while due not in done:
                self._hand_out(call, tasks, waiting, before=due + _KEPT * self.count)
                ready = wait([one.connection for one in self._workers])
                for worker in [one for one in self._workers if one.connection in ready]:
                    try:
                        result = worker.connection.recv()
                        done[worker.at_work.popleft()] = result
                    except (EOFError, OSError):
                        self._workers.remove(worker)
                        number, *others = worker.at_work
                        done[number] = lost(tasks[number], _end_of(worker.process))
                        waiting.extendleft(reversed(others))
            yield done.pop(due)

    def _hand_out(self, call: Any, tasks: Sequence[Any], waiting: deque[int], *, before: int) -> None:
        while waiting and len(self._workers) < min(self.count, len(tasks)):
            self._workers.append(self._started(call))
            self._hand(self._workers[-1], tasks, waiting)
        for worker in self._workers:
            while waiting and waiting[0] < before and len(worker.at_work) < _AT_HAND:
                self._hand(worker, tasks, waiting)

    def _hand(self, worker: _Worker, tasks: Sequence[Any], waiting: deque[int]) -> None:
        number = waiting.popleft()
        worker.at_work.append(number)
        with suppress(OSError):  # one that is lost is found where its results are awaited
            worker.connection.send(tasks[number])

    def _started(self, call: Any) -> _Worker:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_work, args=(theirs, call), daemon=True)
        process.start()
        theirs.close()
        return _Worker(process, ours, deque())

    def close(self) -> None:
        """Let workers without a task end, and end those that have one."""
        for worker in self._workers:
            if worker.at_work:
                worker.process.terminate()
            worker.connection.close()
        end = time.monotonic() + _TO_CLEAR_UP
        for worker in self._workers:
            worker.process.join(max(0.0, end - time.monotonic()))
            worker.process.kill()
        self._workers.clear()


@contextmanager
def local_workers(count: int) -> Iterator[Workers]:
    """Processes on this machine; they are made from one that loads the program while its caller does."""
    workers = Workers(count)
    try:
        yield workers
    finally:
        workers.close()


def _context() -> Any:
    """How processes are made. The one they are made from does not hear the interrupts of a terminal."""
    from multiprocessing import get_context

    if os.name != "posix":
        return get_context("spawn")
    import signal
    from multiprocessing import resource_tracker
    from multiprocessing.forkserver import ensure_running

    context = get_context("forkserver")
    context.set_forkserver_preload(["certgen.issuing.preloaded"])
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        ensure_running()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    return context


def lost_at(path: Path, how: str) -> CertgenError:
    """What is said of a file at which a worker was lost."""
    return CertgenError(
        f"{visible(str(path))}: the process that worked on it was lost ({how}), as happens where memory runs out; give "
        "this file alone, and report it if that fails too."
    )


def _end_of(process: BaseProcess) -> str:
    from certgen.messages.catalogue import Message

    process.join(1.0)
    code = process.exitcode
    if code is None:
        return str(Message("terminal.lost.no_answer"))
    return str(
        Message("terminal.lost.signal", number=-code) if code < 0 else Message("terminal.lost.status", status=code)
    )


def _work(connection: Connection[Any, Any], call: Callable[[Any], Any]) -> None:
    """What a worker does: one task after another, until nobody hands it any. It ends with its open files put in order."""
    import signal
    import threading

    def end(*_: object) -> None:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        raise SystemExit(1)

    signal.signal(signal.SIGTERM, end)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    gc.freeze()  # what was loaded beforehand is no garbage
    with suppress(EOFError, OSError):
        while True:
            connection.send(call(connection.recv()))


def _end_with_parent() -> None:
    """A worker whose parent is gone, however it went, works for nobody."""
    import signal
    import threading
    from multiprocessing import parent_process

    parent = parent_process()
    if parent is not None:
        parent.join()
        if hasattr(signal, "pthread_kill"):
            signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGTERM)
        time.sleep(_LEFT_TO_ORPHANS)
        os._exit(1)


# The workers of a running cluster.


#: How long a cluster may be without its scheduler's answer or without any worker. [s]
_ANSWERS_WITHIN = 8.0
_WITHOUT_WORKERS = 15.0
_PAUSE = 1.0
#: Tasks that travel together, as each journey costs a scheduler milliseconds; fewer where there would not be so many
#: batches for each worker. Batches at hand for each worker, those that are done and wait for an earlier one included.
_TOGETHER, _SHARES, _BATCHES = 16, 4, 4

_GONE = (
    "--cluster {address}: {what}; what is issued so far is kept, so start the cluster again and give the same command."
)


def _several(call: Callable[[Any], Any], tasks: Sequence[Any]) -> list[Any]:
    """What a worker of a cluster does with tasks that came together."""
    return [call(task) for task in tasks]


class Cluster:
    """The workers of a running cluster."""

    def __init__(self, client: Any, address: str) -> None:
        self._client = client
        self._address = address
        self._last_seen = time.monotonic()

    def results(
        self, call: Callable[[Task], Result], tasks: Sequence[Task], lost: Callable[[Task, str], Result]
    ) -> Iterator[Result]:
        """The result of every task, in their order, as :meth:`Workers.results`.

        Raises
        ------
        CertgenError
            The scheduler, or every worker, is gone.
        """
        at_hand: deque[tuple[list[Task], Any]] = deque()
        count = max(1, len(self._workers()))
        size = max(1, min(_TOGETHER, len(tasks) // (_SHARES * count)))
        coming = iter(tasks)
        while True:
            while len(at_hand) < _BATCHES * count and (batch := list(islice(coming, size))):
                at_hand.append((batch, self._submitted(call, batch)))
            if not at_hand:
                return
            yield from self._of_batch(call, *at_hand.popleft(), lost)

    def _submitted(self, call: Any, batch: Sequence[Any]) -> Any:
        return self._client.submit(_several, call, batch, pure=False)

    def _of_batch(self, call: Any, batch: list[Any], future: Any, lost: Callable[[Any, str], Any]) -> Iterator[Any]:
        """The results of tasks sent together; where workers end at them, each is sent alone to find the one."""
        from distributed import KilledWorker

        from certgen.messages.catalogue import Message

        try:
            yield from self._awaited(future)
        except KilledWorker:
            if len(batch) == 1:
                yield lost(batch[0], str(Message("terminal.lost.cluster")))
                return
            for task in batch:
                yield from self._of_batch(call, [task], self._submitted(call, [task]), lost)

    def _awaited(self, future: Any) -> Any:
        from concurrent.futures import CancelledError

        self._last_seen = time.monotonic()
        while True:
            try:
                return future.result(timeout=_PAUSE)
            except TimeoutError:
                self._require_workers()
            except CancelledError:
                raise self._gone("its scheduler is gone") from None

    def _require_workers(self) -> None:
        if self._workers():
            self._last_seen = time.monotonic()
        elif time.monotonic() - self._last_seen > _WITHOUT_WORKERS:
            raise self._gone("none of its workers is left")

    def _workers(self) -> dict[str, int]:
        """Threads of each worker, as the scheduler knows them."""
        if self._client.status != "running":
            raise self._gone("its scheduler is gone")
        try:
            found: dict[str, int] = self._client.sync(self._client.scheduler.ncores, callback_timeout=_ANSWERS_WITHIN)
        except (OSError, TimeoutError):
            raise self._gone("its scheduler does not answer") from None
        return found

    def _gone(self, what: str) -> CertgenError:
        return CertgenError(_GONE.format(address=self._address, what=what))


@contextmanager
def cluster_workers(address: str) -> Iterator[Cluster]:
    """The workers of a running cluster.

    Raises
    ------
    CertgenError
        Its library is not installed, or none answers.
    """
    try:
        from distributed import Client
    except ImportError:
        raise CertgenError("--cluster needs an extra: install it with pip install 'certgen[cluster]'.") from None
    _quiet()
    try:
        client = Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as cause:
        raise CertgenError(
            f"--cluster {address}: no cluster answers there ({cause}); start its scheduler first."
        ) from cause
    try:
        yield Cluster(client, address)
    finally:
        client.close(timeout=2.0)


def _quiet() -> None:
    """What goes wrong on a cluster is said once, in our words."""
    import logging

    for name in [*logging.root.manager.loggerDict]:
        if name.partition(".")[0] in ("distributed", "tornado", "asyncio"):
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
