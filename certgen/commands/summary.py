"""``certgen summary``: many motors in a list, each with its verdict and headline values."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import add_jobs, add_language, add_workers
from certgen.errors import CertgenError

if TYPE_CHECKING:
    from certgen.issuing.layouts import SheetOptions


# The options of commands that draw a list or a trend: layout, paper, units.


def add_sheet_choice(command: argparse.ArgumentParser) -> None:
    """Declare the options."""
    command.add_argument("--sheet", metavar="NAME", help="a layout for such a sheet by name, or a layout file")
    command.add_argument("--paper", choices=("a4", "letter"), help="paper (default: a4)")
    command.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: si)")
    add_language(command, "en")


def sheet_choice(options: argparse.Namespace) -> SheetOptions:
    """What was chosen."""
    from certgen.issuing.layouts import SheetOptions

    return SheetOptions(options.sheet, options.paper, options.units, options.language)


# ``certgen summary``: many motors in a list, each with its verdict and headline values.


#: As ``issuing.lists.SORTED_BY``, which a command line is read without.
SORTS = ("number", "date", "motor", "verdict", "power")
HELP = "many motors in a list with verdict and headline values"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command)
    command.add_argument(
        "--out", type=Path, metavar="PATH", help="the PDF, or a folder for it (default: summary.pdf in this folder)"
    )
    command.add_argument(
        "--sort", choices=SORTS, help="order of the list (default: as the jobs are named; verdict: fails first)"
    )
    add_sheet_choice(command)
    add_workers(command)


def run(options: argparse.Namespace) -> int:
    """Judge every job and write the list; a bad job does not stop the others, and one that awaits its test is named."""
    from certgen.issuing.lists import Listed, listed, lost, summary_of, write_summary
    from certgen.issuing.workers import workers_for
    from certgen.job.job_paths import jobs_named
    from certgen.terminal.outcomes import progress

    jobs, status = jobs_named(options.jobs), 0
    found: list[Listed] = []
    with workers_for(len(jobs), options.workers, None) as workers, progress(len(jobs)) as advance:
        for one in map(listed, jobs) if workers is None else workers.results(listed, jobs, lost):
            found.append(one)
            if one.error:
                advance.clear()
                print(
                    one.error, one.details if options.verbose else "", sep="\n" if one.details else "", file=sys.stderr
                )
                status = max(status, one.exit_code)
            advance.to(len(found))
    tested = sum(one.row is not None for one in found)
    if not tested:
        raise CertgenError("none of the jobs could be judged, so there is nothing to list; mend what is told above.")
    path = write_summary(summary_of(found, order=options.sort), options.out, sheet_choice(options))
    print(f"{path}: {tested} of {len(jobs)} jobs" if tested < len(jobs) else f"{path}: {tested} jobs")
    return status
