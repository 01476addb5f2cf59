"""``certgen plan``: before the test, told in the terminal and written as the run sheet."""

from __future__ import annotations

import argparse
from pathlib import Path

HELP = "before the test: load points, scale readings, what the rig holds; the run sheet to write on"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("job", metavar="JOB", type=Path, help="job file; its readings may be absent")
    command.add_argument(
        "--results", type=Path, metavar="PATH", help="also write the plan as JSON: a file, or a folder"
    )
    command.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: the job's choice)")


def run(options: argparse.Namespace) -> int:
    """Tell the plan; 1 where the rig holds no load of it."""
    from certgen.planning.plan import ALL_REFUSED
    from certgen.planning_of_job import plan_job, write_plan
    from certgen.terminal_plan import plan_told

    planned = plan_job(options.job)
    units = options.units or planned.loaded.job.sheet.units
    print(plan_told(planned.plan, str(options.job), units))
    if options.results is not None:
        write_plan(planned.plan, options.results, options.job)
    return 1 if planned.plan.outcome == ALL_REFUSED else 0
