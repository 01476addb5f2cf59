"""``certgen summary``: many motors in a list, each with its verdict and headline values."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import add_jobs, failures_told
from certgen.errors import CertgenError

if TYPE_CHECKING:
    from certgen.issuing.layouts import SheetOptions
    from certgen.results.model import Results
    from certgen.sheet.list_content import NotListed


# The options of commands that draw a list or a trend: layout, paper, units.


def add_sheet_choice(command: argparse.ArgumentParser) -> None:
    """Declare the options."""
    command.add_argument("--sheet", metavar="NAME", help="a layout for such a sheet by name, or a layout file")
    command.add_argument("--paper", choices=("a4", "letter"), help="paper (default: a4)")
    command.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: si)")


def sheet_choice(options: argparse.Namespace) -> SheetOptions:
    """What was chosen."""
    from certgen.issuing.layouts import SheetOptions

    return SheetOptions(options.sheet, options.paper, options.units)


# ``certgen summary``: many motors in a list, each with its verdict and headline values.


HELP = "many motors in a list with verdict and headline values"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command)
    command.add_argument(
        "--out", type=Path, metavar="PATH", help="the PDF, or a folder for it (default: summary.pdf in this folder)"
    )
    add_sheet_choice(command)


def run(options: argparse.Namespace) -> int:
    """Judge every job and write the list; a bad job does not stop the others, and one that awaits its test is named."""
    from certgen.issuing.lists import awaits_test, not_listed, summary_of, write_summary
    from certgen.job.job_paths import jobs_named
    from certgen.pipeline import assess_job
    from certgen.terminal.outcomes import progress

    jobs, status = jobs_named(options.jobs), 0
    tested: list[Results] = []
    missing: list[NotListed] = []
    with progress(len(jobs)) as advance:
        for index, job in enumerate(jobs, start=1):
            try:
                with failures_told(verbose=options.verbose):
                    tested.append(assess_job(job).results)
            except CertgenError as error:
                if awaits_test(job):
                    missing.append(not_listed(job, None))
                    continue
                missing.append(not_listed(job, error))
                advance.clear()
                print(error if error.names_its_file else f"{job}: {error}", file=sys.stderr)
                status = max(status, error.exit_code)
            advance.to(index)
    if not tested:
        raise CertgenError("none of the jobs could be judged, so there is nothing to list; mend what is told above.")
    path = write_summary(summary_of(tested, missing=missing), options.out, sheet_choice(options))
    counted = f"{len(tested)} of {len(jobs)} jobs" if missing else f"{len(tested)} jobs"
    print(f"{path}: {counted}")
    return status
