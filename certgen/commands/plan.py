"""``certgen plan``: before the test, printed in the terminal and written as the run sheet."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from certgen.commands.each_job import add_language, place_for

HELP = "before the test: load points, scale readings, what the rig holds; the run sheet to write on"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("job", metavar="JOB", type=Path, help="job file; its readings may be absent")
    command.add_argument(
        "--results", metavar="PATH", help="also write the plan as JSON: a file, or a folder (NAME/ makes one)"
    )
    command.add_argument(
        "--json", action="store_true", help="the plan as JSON on standard output; no sheet but with --out"
    )
    command.add_argument(
        "--out", metavar="PATH", help="the PDF, or a folder for it: NAME/ makes one (default: this folder)"
    )
    command.add_argument("--sheet", metavar="NAME", help="a layout for plans by name, or a layout file")
    command.add_argument("--paper", choices=("a4", "letter"), help="paper (default: the job's choice)")
    command.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: the job's choice)")
    add_language(command)


def run(options: argparse.Namespace) -> int:
    """Print the plan and write its sheet; 1 where the motor must not be run on this rig."""
    from certgen.issuing.layouts import SheetOptions, language_of
    from certgen.issuing.run_sheet import draw_sheet, plan_job, write_plan
    from certgen.messages.catalogue import Message, text_of
    from certgen.messages.format import Units
    from certgen.results.serialization import as_json
    from certgen.terminal.plan import plan_text

    options.out = place_for("--out", options.out)
    options.results = place_for("--results", options.results, ".json")
    planned = plan_job(options.job)
    sheet = SheetOptions(options.sheet, options.paper, options.units, options.language)
    written = None
    if not options.json or options.out is not None:
        written = draw_sheet(planned, options.out or Path(), sheet, options.job)
    if options.results is not None:
        write_plan(planned.plan, options.results, options.job)
    status = 1 if planned.plan.do_not_run else 0
    if options.json or written is None:
        print(as_json(planned.plan), end="")
        return status
    language = language_of(planned.loaded, options.language)
    units = Units(options.units or planned.loaded.job.sheet.units, language=language)
    print(plan_text(planned.plan, str(options.job), units))
    for name in written.left_out:
        print(text_of(Message("terminal.left_out", path=str(written.path), block=name), units=units), file=sys.stderr)
    print(text_of(Message("terminal.plan.run_sheet", path=str(written.path)), units=units))
    return status
