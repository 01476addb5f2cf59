"""``certgen completion``: a script with which a shell completes commands, options and file names."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from certgen.errors import CertgenError

HELP = "a script with which your shell completes commands and options"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("shell", choices=("bash", "zsh", "tcsh"), help="which shell")


def run(options: argparse.Namespace) -> int:
    """Print the script; ``options.command_line`` is the parser of the whole command line."""
    try:
        import shtab
    except ImportError:
        raise CertgenError("completion needs an extra: install it with pip install 'certgen[completion]'.") from None

    parser: argparse.ArgumentParser = options.command_line
    for action in _actions(parser):
        if action.type is Path or action.metavar == "PATH":
            action.complete = shtab.FILE  # type: ignore[attr-defined]
    print(shtab.complete(parser, options.shell))
    return 0


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """Every argument of a parser and of its commands."""
    for action in parser._actions:  # argparse has no public list of them
        yield action
        if isinstance(action, argparse._SubParsersAction):
            for inner in action.choices.values():
                yield from _actions(inner)
