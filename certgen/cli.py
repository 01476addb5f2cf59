"""The command line: one parser over the commands, and one place where an error becomes a sentence and an exit status."""

from __future__ import annotations

import argparse
import signal
import sys
from collections.abc import Callable, Sequence

from certgen import __version__
from certgen.commands import (
    check,
    completion,
    issue,
    key,
    new,
    plan,
    plot,
    record,
    register,
    schema,
    sign,
    summary,
    verify,
)
from certgen.commands.each_job import failures_told
from certgen.errors import CertgenError
from certgen.stopping import Stopped, asked, exit_status, say_stopped
from certgen.streams import let_go_of_output, ready_streams, refusal, say

#: The commands in the order the help lists them; their heavy imports wait until they run.
COMMANDS = {
    "plan": plan,
    "issue": issue,
    "check": check,
    "plot": plot,
    "summary": summary,
    "verify": verify,
    "sign": sign,
    "key": key,
    "record": record,
    "new": new,
    "register": register,
    "schema": schema,
    "completion": completion,
}

_PIPE_CLOSED = 141  # what a shell reports for a closed pipe


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 not good, 2 wrong input."""
    ready_streams()
    options = command_line().parse_args(arguments)
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        with failures_told(verbose=options.verbose):
            status = run(options)
        sys.stdout.flush()
    except CertgenError as error:
        if asked():  # what a signal broke off need not be told
            raise KeyboardInterrupt from error
        say(error)
        return error.exit_code
    except KeyboardInterrupt as cause:
        say_stopped()
        return cause.exit_status if isinstance(cause, Stopped) else exit_status(signal.SIGINT)
    except BrokenPipeError:
        let_go_of_output()
        return _PIPE_CLOSED
    except OSError as cause:
        let_go_of_output()
        say(refusal(cause))
        return CertgenError.exit_code
    return status


def command_line() -> argparse.ArgumentParser:
    """The parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="certgen",
        description="Turn a brake test of an electric motor into a one-page certificate.",
        epilog="Exit status: 0 done, 1 what was checked is not good (verify, --require, a plan the rig cannot hold), "
        "2 the input is wrong.",
    )
    parser.add_argument("--version", action="version", version=f"certgen {__version__}")
    trace = "print the trace of a fault of the program's own"
    parser.add_argument("-v", "--verbose", action="store_true", help=trace)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, module in COMMANDS.items():
        command = commands.add_parser(name, help=module.HELP)
        module.add(command)
        command.add_argument("-v", "--verbose", action="store_true", default=argparse.SUPPRESS, help=trace)
        command.set_defaults(run=module.run, command_line=parser)
    return parser
