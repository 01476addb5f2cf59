"""``certgen new``: a commented job and rig file to start from."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

HELP = "a commented job and rig file to start from"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("folder", type=Path, metavar="DIR", help="folder to make")
    command.add_argument(
        "--from-plan",
        type=Path,
        metavar="JOB",
        help="a job to plan: its copy gets the rows to type in, targets beside them",
    )


def run(options: argparse.Namespace) -> int:
    """Make the folder and name its files."""
    from certgen.messages.catalogue import Message
    from certgen.starter import make_starter

    if options.from_plan is None:
        made = make_starter(options.folder)
    else:
        from certgen.starter.from_plan import make_from_plan

        made = make_from_plan(options.folder, options.from_plan)
    for path in made:
        print(path)
    if options.from_plan is None:
        job, rig = made
        print(Message("starter.next", rig=str(rig), job=str(job)), file=sys.stderr)
    return 0
