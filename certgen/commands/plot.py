"""``certgen plot``: the curves of one test or several, and of a logged test the raw trace, on screen or as a picture."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import add_jobs, add_language
from certgen.errors import CertgenError, visible

if TYPE_CHECKING:
    from certgen.messages.format import Units
    from certgen.plotting.subjects import Shown

HELP = "the curves, and of a logged test the raw trace: on screen, or as PNG, SVG or PDF"

#: As the drawings have them; written here too, so that help needs no drawing.
WHAT = ("torque", "load", "heat", "losses", "log")


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command)
    command.add_argument(
        "--out", type=Path, metavar="FILE", help="a picture .png, .svg or .pdf in place of a window on the screen"
    )
    command.add_argument(
        "--what",
        type=_subjects,
        metavar="LIST",
        help=f"which, with commas between: {', '.join(WHAT)} (default: torque,load; of a logged test log too)",
    )
    command.add_argument(
        "--card", action="store_true", help="one picture for a listing: verdict, figures, torque curve"
    )
    command.add_argument("--units", choices=("si", "us", "both"), help="units drawn (default: the job's choice)")
    add_language(command)


def _subjects(text: str) -> tuple[str, ...]:
    named = tuple(part.strip() for part in text.split(",") if part.strip())
    strange = [name for name in named if name not in WHAT]
    if strange or not named:
        raise argparse.ArgumentTypeError(f"'{(strange or [text])[0]}' cannot be drawn; choose of {','.join(WHAT)}")
    return named


def run(options: argparse.Namespace) -> int:
    """Draw every job; a bad job stops the drawing, since one picture shows them all."""
    from certgen.plotting.figure import require_picture, saved, show, write_picture
    from certgen.plotting.subjects import pictures_of

    if options.out is not None:
        require_picture(options.out)
    if options.card:
        return _card(options)
    tests, units = _tests(options, raw=options.what is None or "log" in options.what)
    what = options.what or _usual(tests)
    pictures = pictures_of(tests, what, units)
    if options.out is None:
        show(pictures, ", ".join(test.name for test in tests))
        return 0
    from certgen.plotting.figure import drawing_style, figure_of

    with drawing_style():
        data = saved(figure_of(pictures), options.out)
    write_picture(options.out, data)
    print(visible(str(options.out)))
    return 0


def _card(options: argparse.Namespace) -> int:
    from certgen.job.job_paths import jobs_named
    from certgen.plotting.card import card
    from certgen.plotting.figure import drawing_style, saved, write_picture

    jobs = jobs_named(options.jobs)
    if len(jobs) != 1 or options.out is None:
        raise CertgenError(
            "plot --card makes one picture of one job: name one job, and the picture with --out FILE.png."
        )
    (test,), units = _tests(options, raw=False)
    with drawing_style():
        data = saved(card(test, units), options.out)
    write_picture(options.out, data)
    print(visible(str(options.out)))
    return 0


def _usual(tests: list[Shown]) -> tuple[str, ...]:
    """What is drawn where nothing is chosen: the load test, and the log behind it where one test has one."""
    from certgen.sheet.blocks.charts import unmeasured_load

    what = ["torque"]
    if any(not unmeasured_load(test.results) for test in tests):
        what.append("load")
    if len(tests) == 1 and tests[0].raw is not None:
        what.append("log")
    return tuple(what)


def _tests(options: argparse.Namespace, *, raw: bool) -> tuple[list[Shown], Units]:
    """Every test with its results, and the units and the language asked for or of the first job."""
    from certgen.issuing.layouts import language_of
    from certgen.job.job_paths import jobs_named
    from certgen.messages.format import SI, Units
    from certgen.pipeline import assess_read, read_job
    from certgen.plotting.log_trace import raw_log_of
    from certgen.plotting.subjects import Shown

    tests: list[Shown] = []
    units = Units(SI)
    for job in jobs_named(options.jobs):
        try:
            read = read_job(job)
            assessed = assess_read(read)
        except CertgenError as error:
            if not error.names_its_file:
                print(f"{visible(str(job))}:", file=sys.stderr)
            raise
        if not tests:
            language = language_of(read.loaded, options.language)
            units = Units(options.units or read.loaded.job.sheet.units, language=language)
        name = assessed.results.certificate.number or job.parent.name or job.stem
        tests.append(Shown(assessed.results, name, raw_log_of(read.test) if raw else None))
    return tests, units
