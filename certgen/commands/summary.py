"""``certgen summary``: many motors in a list, each with its verdict and headline values."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import add_jobs, add_language, add_workers, failures_reported, terminal_units
from certgen.errors import CertgenError

if TYPE_CHECKING:
    from certgen.issuing.layouts import SheetOptions
    from certgen.results.model import Results


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
#: As the frames have them; written here too, so that help needs no frame.
LISTS = (".csv", ".xlsx", ".json", ".parquet")

HELP = "many motors in a list with verdict and headline values"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command)
    command.add_argument(
        "--out",
        type=Path,
        metavar="PATH",
        help="the PDF, or a folder for it (default: summary.pdf in this folder); or a list .csv, .xlsx, .json, .parquet",
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

    jobs, status, units = jobs_named(options.jobs), 0, terminal_units(options)
    if options.out is not None and options.out.suffix.lower() in LISTS:
        return _as_file(options, jobs, units)
    found: list[Listed] = []
    with workers_for(len(jobs), options.workers, None) as workers, progress(len(jobs), units) as advance:
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
        raise CertgenError(
            "none of the jobs could be judged, so there is nothing to list; mend the mistakes listed above."
        )
    own_fonts = [font for one in found for font in one.fonts]
    path = write_summary(summary_of(found, order=options.sort), options.out, sheet_choice(options), own_fonts)
    print(_counted(path, tested, len(jobs), units))
    return status


def _as_file(options: argparse.Namespace, jobs: Sequence[Path], units: str) -> int:
    """The tests as a list for a spreadsheet or a notebook."""
    from certgen.frames import summary_frame, write_frame
    from certgen.issuing.lists import SORTED_BY, awaits_test, row_of
    from certgen.pipeline import assess_job
    from certgen.terminal.outcomes import progress

    tested: list[Results] = []
    status = 0
    with progress(len(jobs), units) as advance:
        for index, job in enumerate(jobs, start=1):
            try:
                with failures_reported(verbose=options.verbose):
                    tested.append(assess_job(job).results)
            except CertgenError as error:
                if not awaits_test(job):
                    advance.clear()
                    print(error if error.names_its_file else f"{job}: {error}", file=sys.stderr)
                    status = max(status, error.exit_code)
            advance.to(index)
    if not tested:
        raise CertgenError(
            "none of the jobs could be judged, so there is nothing to list; mend the mistakes listed above."
        )
    if options.sort is not None:
        tested.sort(key=lambda one: SORTED_BY[options.sort](row_of(one)))
    frame = summary_frame(tested, "us" if options.units == "us" else "si")
    write_frame(frame.drop(columns=["job", "problem"]), options.out)
    print(_counted(options.out, len(tested), len(jobs), units))
    return status


def _counted(path: Path, count: int, whole: int, units: str) -> str:
    """The list that was written, and how many of the jobs are in it."""
    from certgen.messages.catalogue import Message, text_of

    if count == whole:
        return text_of(Message("terminal.summary.all", path=str(path), count=count), units=units)
    return text_of(Message("terminal.summary.some", path=str(path), count=count, whole=whole), units=units)
