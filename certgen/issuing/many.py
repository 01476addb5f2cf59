"""Many jobs: each to its outcome, one after the other or on an executor, whatever becomes of the others."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from certgen.errors import CertgenError, visible
from certgen.issuing.certificate import issue_job
from certgen.issuing.layouts import SheetOptions

#: Jobs handed to an executor ahead of those that are done, for each worker.
_AHEAD = 4


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
        text = str(error) if error.names_its_file else f"{visible(str(order.job))}: {error}"
        return Outcome(order.job, error=text, exit_code=error.exit_code)
    return Outcome(order.job, issued.path, issued.verdict, issued.new, issued.left_out)


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
def _uncollected(*, first: bool) -> Iterator[None]:
    """The first job without garbage collection: it imports everything, and searching that for garbage takes a tenth."""
    if first:
        gc.disable()
    try:
        yield
    finally:
        gc.enable()
