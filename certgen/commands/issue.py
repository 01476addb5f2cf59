"""``certgen issue``: compute, judge and write the certificate of each job."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from certgen.commands.each_job import add_jobs, add_require, each_job
from certgen.errors import CertgenError

HELP = "compute, judge and write the certificate of each job"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command)
    place = command.add_mutually_exclusive_group()
    place.add_argument("--out", type=Path, metavar="PATH", help="the PDF, or a folder for it (default: this folder)")
    place.add_argument(
        "--archive",
        type=Path,
        metavar="DIR",
        help="keep the certificate in this archive; its register gives the number",
    )
    command.add_argument(
        "--results", type=Path, metavar="PATH", help="also write the results as JSON: a file, or a folder"
    )
    command.add_argument("--sheet", metavar="NAME", help="a layout by name, or a layout file")
    command.add_argument("--paper", choices=("a4", "letter"), help="paper (default: the job's choice)")
    command.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: the job's choice)")
    add_require(command)


def run(options: argparse.Namespace) -> int:
    """Issue every job."""
    from certgen.pipeline import SheetOptions, issue_job

    sheet = SheetOptions(options.sheet, options.paper, options.units)
    if len(options.jobs) > 1:
        _require_folders(options)

    def one(job: Path) -> str:
        issued = issue_job(job, out=options.out, results_path=options.results, options=sheet, archive=options.archive)
        for name in issued.left_out:
            print(f"{issued.path}: left out for lack of room: {name}", file=sys.stderr)
        again = "" if issued.new else " (unchanged, already issued)"
        print(f"{issued.path}: {issued.results.verdict.outcome}{again}")
        return issued.results.verdict.outcome

    return each_job(options, one)


def _require_folders(options: argparse.Namespace) -> None:
    for name in ("out", "results"):
        path = getattr(options, name)
        if path is not None and not path.is_dir():
            raise CertgenError(f"--{name} {path}: with several jobs this must be an existing folder; make it first.")
