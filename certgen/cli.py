"""The command line: one parser over the commands, and one place where an error becomes a sentence and an exit status."""

from __future__ import annotations

import argparse
import re
import signal
import sys
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

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
    watch,
)
from certgen.commands.each_job import failures_reported
from certgen.errors import CertgenError, visible
from certgen.stopping import Stopped, asked, exit_status, say_stopped
from certgen.streams import let_go_of_output, ready_streams, refusal, say

#: The commands in the order the help lists them; their heavy imports wait until they run.
COMMANDS = {
    "plan": plan,
    "issue": issue,
    "check": check,
    "watch": watch,
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
    parser = command_line()
    options = parser.parse_args(arguments)
    if options.command is None:
        parser.print_help()
        return 0
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        with failures_reported(verbose=options.verbose):
            status = run(options)
        sys.stdout.flush()
    except CertgenError as error:
        if asked():  # what a signal broke off is no mistake to report
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


def command_line() -> CommandLine:
    """The parser of the whole command line."""
    parser = CommandLine(
        prog="certgen",
        description="Turn a brake test of an electric motor into a one-page certificate.",
        epilog="Exit status: 0 done, 1 what was checked is not good (verify, --require, a plan the rig cannot hold), "
        "2 the input is wrong.",
    )
    parser.add_argument("--version", action="version", version=f"certgen {__version__}")
    trace = "print the trace of a fault of the program's own"
    parser.add_argument("-v", "--verbose", action="store_true", help=trace)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name, module in COMMANDS.items():
        command = commands.add_parser(name, help=module.HELP)
        module.add(command)
        command.add_argument("-v", "--verbose", action="store_true", default=argparse.SUPPRESS, help=trace)
        command.add_argument(
            "-q", "--quiet", action="store_true", help="results and mistakes alone; of each, its first line"
        )
        command.set_defaults(run=module.run, command_line=parser)
        command.know_itself()
    return parser


class CommandLine(argparse.ArgumentParser):
    """A parser that names the nearest command or option where one is unknown."""

    def know_itself(self) -> None:
        """Let the outcome of parsing say which command it is of, so that its options can be named."""
        self.set_defaults(parser=self)
        for action in self._subparsers._group_actions if self._subparsers else ():
            for inner in (action.choices or {}).values() if isinstance(action.choices, dict) else ():
                inner.know_itself()

    def parse_args(  # type: ignore[override]
        self, args: Sequence[str] | None = None, namespace: Any = None
    ) -> Any:
        """As argparse does; what a command does not know is reported by that command."""
        found, rest = self.parse_known_args(args, namespace)
        if rest:
            known = getattr(found, "parser", self)
            known.error(known.unknown(rest))
        return found

    def unknown(self, rest: Sequence[str]) -> str:
        """What is said of arguments that nothing takes: of the first option the nearest one known."""
        from certgen.document.wording import nearest

        option = next((one.partition("=")[0] for one in rest if one.startswith("-")), None)
        if option is None:
            return f"too many arguments: {' '.join(visible(one) for one in rest)}"
        return f"unknown option '{visible(option)}'; {nearest(option, self._option_string_actions)}"

    def error(self, message: str) -> NoReturn:
        """The mistake in a line; of a name that is not known the nearest one that is."""
        wrong = re.fullmatch(r"argument (\S+): invalid choice: '(.*)' \(choose from (.*)\)", message, re.DOTALL)
        if wrong is not None:
            from certgen.document.wording import nearest

            what, given, known = wrong[1], wrong[2], re.findall(r"[^\s',]+(?: [^\s',]+)*", wrong[3])
            called = {"COMMAND": "command", "ACTION": "action"}.get(what)
            advice = nearest(given, known)
            message = (
                f"unknown {called} '{visible(given)}'" if called else f"{what}: '{visible(given)}' is none of them"
            )
            message += f"; {advice}"
        super().error(message)
