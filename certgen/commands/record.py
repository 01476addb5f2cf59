"""``certgen record``: a serial logger into a readings file."""

from __future__ import annotations

import argparse
from pathlib import Path

from certgen.commands.each_job import add_language

HELP = "a serial logger into a readings file, with a live view of load and limits"
_DESCRIPTION = """\
Record the lines of the rig's logger into a readings file, of which a power cut takes the last line at
most, and show speed, torque, power, percent of rated load and how near the rig is to its limits."""
_CAUTION = """\
The live view is no guard and no instrument of safety: it is late, and it knows only what the logger sends. Before the
motor starts: coupling and belt guarded, emergency stop within reach and tried, nobody in line with the shaft, stored
charge discharged. Never run a universal or series motor without load. Local codes and a licensed electrician decide."""


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.description, command.epilog = _DESCRIPTION, _CAUTION
    command.add_argument("rig", type=Path, metavar="RIG", help="rig file with a 'logger:'")
    command.add_argument("--job", type=Path, metavar="JOB", help="job file: its plate, gravity and zero for the view")
    command.add_argument("--port", metavar="PORT", help="serial port in place of the rig's; - reads standard input")
    command.add_argument("--out", type=Path, metavar="FILE", help="the readings file (default: named by the time)")
    command.add_argument(
        "--append", action="store_true", help="go on in FILE; a last line cut short is put right first"
    )
    add_language(command, "the job's, or en")


def run(options: argparse.Namespace) -> int:
    """Record until asked to stop."""
    from certgen.recorder.record import RecordOptions, record

    return record(RecordOptions(options.rig, options.job, options.port, options.out, options.append, options.language))
