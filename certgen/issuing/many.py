"""Many jobs: each to its outcome, one after the other or by workers, whatever becomes of the others."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import overload

from certgen.errors import CertgenError, Unexpected, visible
from certgen.issuing.certificate import issue_job
from certgen.issuing.draft import write_draft
from certgen.issuing.layouts import SheetOptions
from certgen.issuing.workers import Cluster, Workers, lost_at
from certgen.streams import refusal


@dataclass(frozen=True)
class Order:
    """One certificate to be issued; every part of it may travel to another process or machine."""

    job: Path
    out: Path | None
    results: Path | None
    archive: Path | None
    options: SheetOptions
    draft: bool = False


class Orders(Sequence[Order]):
    """The same order for many jobs, each made when it is due."""

    def __init__(self, jobs: Sequence[Path], pattern: Order) -> None:
        self._jobs, self._pattern = jobs, pattern

    @overload
    def __getitem__(self, at: int) -> Order: ...

    @overload
    def __getitem__(self, at: slice) -> Sequence[Order]: ...

    def __getitem__(self, at: int | slice) -> Order | Sequence[Order]:
        if isinstance(at, slice):
            return Orders(self._jobs[at], self._pattern)
        return replace(self._pattern, job=self._jobs[at])

    def __len__(self) -> int:
        return len(self._jobs)


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
    details: str = ""
    language: str | None = None  # of the job: a tag, or the file it names
    awaiting: bool = False  # the job is sound as far as it goes, and its load test is still to be made
    draft: bool = False


def carried_out(order: Order) -> Outcome:
    """Issue one certificate; whatever goes wrong becomes the outcome of this job and travels, and the others go on."""
    try:
        if order.draft:
            made = write_draft(order.job, order.out, order.options)
            verdict = made.results.verdict.outcome
            spoken = made.language
            return Outcome(order.job, made.path, verdict, new=True, left_out=made.left_out, language=spoken, draft=True)
        issued = issue_job(
            order.job, out=order.out, results_path=order.results, options=order.options, archive=order.archive
        )
    except CertgenError as error:
        return _not_issued(order, error)
    except OSError as cause:  # what the machine refuses is no fault of the program
        return _not_issued(order, CertgenError(refusal(cause)))
    except Exception as failure:  # a fault of the program's own must not stop the jobs of others
        return _not_issued(order, Unexpected(failure))
    return Outcome(
        order.job, issued.path, issued.verdict, issued.new, issued.left_out, language=issued.language or None
    )


def _not_issued(order: Order, error: CertgenError) -> Outcome:
    text = str(error) if error.names_its_file else f"{visible(str(order.job))}: {error}"
    return Outcome(order.job, error=text, exit_code=error.exit_code, details=getattr(error, "details", ""))


def lost(order: Order, how: str) -> Outcome:
    """What becomes of a job whose worker was lost: it may be the cause, so it is not tried again."""
    return _not_issued(order, lost_at(order.job, how))


def on_workers(orders: Sequence[Order], workers: Workers | Cluster) -> Iterator[Outcome]:
    """Every order by workers; outcomes come in the order of the orders."""
    return workers.results(carried_out, orders, lost)


def one_by_one(orders: Sequence[Order]) -> Iterator[Outcome]:
    """Every order in turn, in this process."""
    for number, order in enumerate(orders):
        first = number == 0
        with _uncollected(first=first):
            outcome = carried_out(order)
        if first and len(orders) > 1:
            gc.freeze()  # what the first job imported stays: looking through it for garbage is in vain
        yield outcome


@contextmanager
def _uncollected(*, first: bool) -> Iterator[None]:
    """The first job without garbage collection: it imports everything, and searching that for garbage takes a tenth."""
    if first:
        gc.disable()
    try:
        yield
    finally:
        gc.enable()
