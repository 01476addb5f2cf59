"""``certgen new``: a commented job and rig file to start from."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from certgen.commands.each_job import add_language, terminal_units

HELP = "a commented job and rig file to start from"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("folder", type=Path, metavar="DIR", help="folder to make")
    command.add_argument("--us", action="store_true", help="pounds, feet, 60 Hz, letter paper, NEMA MG 1")
    start = command.add_mutually_exclusive_group()
    start.add_argument("--single-phase", action="store_true", help="for a motor with a start winding or capacitors")
    start.add_argument("--universal", action="store_true", help="for a series motor with brushes")
    start.add_argument("--unmarked", action="store_true", help="for a motor without a plate that can be read")
    start.add_argument("--example", metavar="NAME", help="a copy of one of the examples, with its rig and readings")
    start.add_argument(
        "--from-plan",
        type=Path,
        metavar="JOB",
        help="a job to plan: its copy gets the rows to type in, targets beside them",
    )
    add_language(command, "en")


def run(options: argparse.Namespace) -> int:
    """Make the folder and name its files."""
    from certgen.messages.catalogue import Message, text_of

    made = _made(options)
    for path in made:
        print(path)
    if options.from_plan is None and not options.quiet:
        job = next(path for path in made if path.name == "job.yaml")
        rig = next(path for path in made if path.parent.name == "rigs")
        following = Message("starter.next", rig=str(rig), job=str(job))
        print(text_of(following, units=terminal_units(options)), file=sys.stderr)
    return 0


def _made(options: argparse.Namespace) -> tuple[Path, ...]:
    if options.from_plan is not None:
        from certgen.starter.from_plan import make_from_plan

        return make_from_plan(options.folder, options.from_plan)
    from certgen.starter import SINGLE_PHASE, THREE_PHASE, UNIVERSAL, UNMARKED, copy_example, make_starter

    if options.example is not None:
        return copy_example(options.folder, options.example)
    chosen = {SINGLE_PHASE: options.single_phase, UNIVERSAL: options.universal, UNMARKED: options.unmarked}
    kind = next((name for name, wanted in chosen.items() if wanted), THREE_PHASE)
    return make_starter(options.folder, kind, us=options.us)
