"""``certgen issue``: compute, judge and write the certificate of each job."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import (
    ARCHIVE,
    add_jobs,
    add_language,
    add_require,
    add_workers,
    place_for,
    status_of,
    terminal_units,
    usual_archive,
)
from certgen.errors import CertgenError, visible

if TYPE_CHECKING:
    from certgen.issuing.many import Outcome
    from certgen.issuing.workers import Cluster, Workers


#: As the job has them; written here too, so that help needs no job.
PAPERS = ("a4", "letter", "a5", "a6", "4x6in", "strip60")

HELP = "compute, judge and write the certificate of each job"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command)
    command.add_argument(
        "--out",
        metavar="PATH",
        help="the PDF, or a folder for it: NAME/ makes one; - for standard output (default: this folder)",
    )
    command.add_argument(
        "--archive",
        type=Path,
        metavar="DIR",
        help=f"keep the certificate in this archive (default: {ARCHIVE}, where that is set); its register gives the "
        "number (of a tag: the number it gave)",
    )
    command.add_argument(
        "--results", metavar="PATH", help="also write the results as JSON: a file, or a folder (NAME/ makes one)"
    )
    command.add_argument("--sheet", metavar="NAME", help="a layout by name, or a layout file")
    command.add_argument(
        "--record", action="store_true", help="put the test record behind the certificate, as further pages"
    )
    command.add_argument(
        "--draft", action="store_true", help="a page marked DRAFT across, without number or archive; no certificate"
    )
    command.add_argument("--open", action="store_true", help="show the page with the system's viewer (one job)")
    command.add_argument("--paper", choices=PAPERS, help="paper (default: the job's choice)")
    command.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: the job's choice)")
    add_language(command)
    workers = command.add_mutually_exclusive_group()
    add_workers(workers)
    workers.add_argument("--cluster", metavar="ADDRESS", help="the workers of a running cluster (needs an extra)")
    add_require(command)


def run(options: argparse.Namespace) -> int:
    """Issue every job."""
    from certgen.issuing.workers import workers_for
    from certgen.job.job_paths import jobs_named

    options.out = place_for("--out", options.out)
    options.results = place_for("--results", options.results, ".json")
    if options.draft and options.archive is not None:
        raise CertgenError("--draft: an archive keeps no drafts; leave one of --draft and --archive out.")
    if options.out is None and options.archive is None and not options.draft:
        options.archive = usual_archive()
    if options.out is not None and options.archive is not None and options.sheet is None:
        raise CertgenError("--out beside --archive is for tags (--sheet tag); a certificate goes to one of the two.")
    jobs = jobs_named(options.jobs)
    if len(jobs) > 1:
        _require_folders(options)
        if options.open:
            raise CertgenError("--open shows one page; name one job.")
    if options.out == Path("-"):
        return _to_output(options, jobs)
    with workers_for(len(jobs), options.workers, options.cluster) as workers:
        return _issue(options, jobs, workers)


def _to_output(options: argparse.Namespace, jobs: Sequence[Path]) -> int:
    """The page of one job as bytes on standard output."""
    from certgen.issuing.certificate import draw_assessed
    from certgen.issuing.draft import drawn_draft
    from certgen.issuing.layouts import SheetOptions, is_tag
    from certgen.pipeline import assess_job

    if len(jobs) > 1 or options.results is not None or options.open or options.archive is not None:
        raise CertgenError("--out -: standard output takes the page of one job, and nothing beside it.")
    sheet = SheetOptions(options.sheet, options.paper, options.units, options.language, options.record)
    assessed = assess_job(jobs[0])
    if options.draft:
        document, _ = drawn_draft(assessed, sheet)
    elif is_tag(assessed.loaded, sheet.layout):
        raise CertgenError("--out -: a tag goes to a file; name one.")
    elif assessed.results.certificate.number is None:
        raise CertgenError(f"{visible(str(jobs[0]))}: the job has no certificate.number; write one.")
    else:
        document = draw_assessed(assessed, sheet).document
    sys.stdout.buffer.write(document)
    sys.stdout.buffer.flush()
    return status_of(jobs[0], assessed.results.verdict.outcome, options.require)


def _issue(options: argparse.Namespace, jobs: Sequence[Path], workers: Workers | Cluster | None) -> int:
    from certgen.issuing.layouts import SheetOptions
    from certgen.issuing.many import Order, Orders, on_workers, one_by_one
    from certgen.terminal.outcomes import Tally, outcome_lines, progress
    from certgen.terminal.viewer import show

    sheet = SheetOptions(options.sheet, options.paper, options.units, options.language, options.record)
    orders = Orders(jobs, Order(Path(), options.out, options.results, options.archive, sheet, options.draft))
    status = 0
    done, languages = Tally(), set[str | None]()
    outcomes = one_by_one(orders) if workers is None else on_workers(orders, workers)
    with progress(len(orders), terminal_units(options)) as advance:
        for made in outcomes:
            outcome = _awaiting_reported(made, options.jobs)
            advance.clear()
            languages.add(outcome.language)
            units = terminal_units(options, outcome.language or "en")
            for line in outcome_lines(outcome, units, verbose=options.verbose):
                if options.quiet and line.aside and not outcome.error:
                    continue
                print(line.text, file=sys.stderr if line.aside else sys.stdout, flush=True)
            status = max(status, outcome.exit_code or _required(outcome, options.require))
            done.add(outcome)
            if options.open and outcome.path is not None:
                show(outcome.path, units)
            advance.to(done.count)
    spoken = languages - {None}
    units = terminal_units(options, spoken.pop() or "en" if len(spoken) == 1 else "en")
    if done.count > 1 and not options.quiet:
        print(done.text(units), file=sys.stderr)
    if options.archive is not None and status != 2:
        _say_what_is_stuck(options.archive, units)
    return status


def _awaiting_reported(outcome: Outcome, named: Sequence[Path]) -> Outcome:
    """A job of a folder or pattern whose test is still to be made is no mistake; one named by itself is."""
    if not outcome.error or outcome.job in named:
        return outcome
    from dataclasses import replace

    from certgen.issuing.lists import awaits_test

    if not awaits_test(outcome.job):
        return outcome
    return replace(outcome, error="", details="", exit_code=0, awaiting=True)


def _say_what_is_stuck(archive: Path, units: str) -> None:
    """Entries of earlier runs that cannot be finished are named, and stop nothing."""
    from contextlib import closing

    from certgen.archive.register.certificates import finish_entering
    from certgen.archive.register.database import open_register
    from certgen.terminal.register import stuck_lines

    with closing(open_register(archive, make=False)) as register:
        for line in stuck_lines(finish_entering(register, archive), units):
            print(line, file=sys.stderr)


def _required(outcome: Outcome, require: str | None) -> int:
    return 0 if outcome.awaiting else status_of(outcome.job, outcome.verdict, require)


def _require_folders(options: argparse.Namespace) -> None:
    for name in ("out", "results"):
        path = getattr(options, name)
        if path is not None and not path.is_dir():
            raise CertgenError(
                f"--{name} {path}: with several jobs this must be a folder; end its name in '/' to make one."
            )
