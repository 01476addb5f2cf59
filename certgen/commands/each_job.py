"""What commands over several jobs share: the job arguments, ``--require``, and one bad job not stopping the others."""

from __future__ import annotations

import argparse
import contextlib
import gc
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from certgen.errors import CertgenError

_OUTCOMES = ("pass", "conditional pass")


def add_jobs(command: argparse.ArgumentParser) -> None:
    """Declare the job files."""
    command.add_argument("jobs", nargs="+", metavar="JOB", type=Path, help="job file")


def add_require(command: argparse.ArgumentParser) -> None:
    """Declare ``--require``."""
    command.add_argument(
        "--require",
        choices=_OUTCOMES,
        metavar="OUTCOME",
        help="exit with 1 unless the verdict is at least this (pass, conditional pass)",
    )


def each_job(options: argparse.Namespace, one: Callable[[Path], str]) -> int:
    """Run every job to its outcome; one bad job does not stop the others, and the worst exit status counts."""
    status = 0
    for job in options.jobs:
        try:
            with _uncollected(first=job is options.jobs[0]):
                outcome = one(job)
        except CertgenError as error:
            print(error if error.names_its_file else f"{job}: {error}", file=sys.stderr)
            status = max(status, error.exit_code)
            continue
        good = _OUTCOMES[: _OUTCOMES.index(options.require) + 1] if options.require else None
        if good is not None and outcome not in good:
            print(f"{job}: the verdict is '{outcome}', '{options.require}' was required", file=sys.stderr)
            status = max(status, 1)
    return status


@contextlib.contextmanager
def _uncollected(*, first: bool) -> Iterator[None]:
    """The first job without garbage collection: it imports everything, and searching that for garbage takes a tenth."""
    if first:
        gc.disable()
    try:
        yield
    finally:
        gc.enable()
