"""The commands. Heavy modules are imported by the command that needs them, so ``--help`` answers at once."""

from __future__ import annotations

import argparse
import contextlib
import gc
import io
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from certgen import __version__
from certgen.errors import CertgenError

_OUTCOMES = ("pass", "conditional pass")
_PIPE_CLOSED = 141  # what a shell reports for a closed pipe


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 not good, 2 wrong input."""
    _print_any_text()
    options = _parser().parse_args(arguments)
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        status = run(options)
        sys.stdout.flush()
    except CertgenError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _PIPE_CLOSED
    return status


def _print_any_text() -> None:
    """Let a terminal of a narrow character set show an escape where it has no sign such as the degree."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="certgen",
        description="Turn a brake test of an electric motor into a one-page certificate.",
        epilog="Exit status: 0 done, 1 the test is not as good as --require asks, 2 the input is wrong.",
    )
    parser.add_argument("--version", action="version", version=f"certgen {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_issue(commands)
    _add_check(commands)
    _add_new(commands)
    _add_schema(commands)
    return parser


def _add_issue(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    issue = commands.add_parser("issue", help="compute, judge and write the certificate of each job")
    issue.add_argument("jobs", nargs="+", metavar="JOB", type=Path, help="job file")
    issue.add_argument("--out", type=Path, metavar="PATH", help="the PDF, or a folder for it (default: this folder)")
    issue.add_argument(
        "--results", type=Path, metavar="PATH", help="also write the results as JSON: a file, or a folder"
    )
    issue.add_argument("--sheet", metavar="NAME", help="a layout by name, or a layout file")
    issue.add_argument("--paper", choices=("a4", "letter"), help="paper (default: the job's choice)")
    issue.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: the job's choice)")
    _add_require(issue)
    issue.set_defaults(run=_issue)


def _add_check(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    check = commands.add_parser("check", help="the same up to the verdict, told in the terminal; nothing is written")
    check.add_argument("jobs", nargs="+", metavar="JOB", type=Path, help="job file")
    check.add_argument("--budget", action="store_true", help="also print the uncertainty budget at the rated point")
    _add_require(check)
    check.set_defaults(run=_check)


def _add_require(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--require",
        choices=_OUTCOMES,
        metavar="OUTCOME",
        help="exit with 1 unless the verdict is at least this (pass, conditional pass)",
    )


def _add_new(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    new = commands.add_parser("new", help="a commented job and rig file to start from")
    new.add_argument("folder", type=Path, metavar="DIR", help="folder to make")
    new.set_defaults(run=_new)


def _add_schema(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    schema = commands.add_parser("schema", help="JSON Schema of a file, for editors that complete and check keys")
    schema.add_argument("of", choices=("job", "rig", "layout", "criteria"), help="which file")
    schema.set_defaults(run=_schema)


def _issue(options: argparse.Namespace) -> int:
    from certgen.pipeline import SheetOptions, issue_job

    sheet = SheetOptions(options.sheet, options.paper, options.units)
    several = len(options.jobs) > 1
    if several:
        _require_folders(options)

    def one(job: Path) -> str:
        issued = issue_job(job, out=options.out, results_path=options.results, options=sheet)
        for name in issued.left_out:
            print(f"{issued.path}: left out for lack of room: {name}", file=sys.stderr)
        again = "" if issued.new else " (unchanged, already issued)"
        print(f"{issued.path}: {issued.results.verdict.outcome}{again}")
        return issued.results.verdict.outcome

    return _each(options, one)


def _require_folders(options: argparse.Namespace) -> None:
    for name in ("out", "results"):
        path = getattr(options, name)
        if path is not None and not path.is_dir():
            raise CertgenError(f"--{name} {path}: with several jobs this must be an existing folder; make it first.")


def _check(options: argparse.Namespace) -> int:
    from certgen.pipeline import assess_job
    from certgen.terminal import told
    from certgen.terminal_budget import budget_told

    def one(job: Path) -> str:
        assessed = assess_job(job)
        print(told(assessed.results, str(job)))
        if options.budget:
            print(budget_told(assessed.results))
        return assessed.results.verdict.outcome

    return _each(options, one)


@contextlib.contextmanager
def _uncollected(*, first: bool) -> Iterator[None]:
    """The first job without garbage collection: it imports everything, and searching that for garbage takes a tenth."""
    if first:
        gc.disable()
    try:
        yield
    finally:
        gc.enable()


def _each(options: argparse.Namespace, one: Callable[[Path], str]) -> int:
    """Run every job; one bad job does not stop the others, and the worst exit status counts."""
    status = 0
    for job in options.jobs:
        try:
            with _uncollected(first=job is options.jobs[0]):
                outcome = one(job)
        except CertgenError as error:
            print(error if error.names_its_file else f"{job}: {error}", file=sys.stderr)
            status = max(status, error.exit_code)
            continue
        good = _OUTCOMES[: _OUTCOMES.index(options.require) + 1] if options.require else None
        if good is not None and outcome not in good:
            print(f"{job}: the verdict is '{outcome}', '{options.require}' was required", file=sys.stderr)
            status = max(status, 1)
    return status


def _new(options: argparse.Namespace) -> int:
    from certgen.starter import make_starter

    for path in make_starter(options.folder):
        print(path)
    return 0


def _schema(options: argparse.Namespace) -> int:
    from certgen.schemas import schema_text

    print(schema_text(options.of), end="")
    return 0
