"""``certgen new``: a commented job and rig file to start from."""

from __future__ import annotations

import argparse
from pathlib import Path

HELP = "a commented job and rig file to start from"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("folder", type=Path, metavar="DIR", help="folder to make")


def run(options: argparse.Namespace) -> int:
    """Make the folder and name its files."""
    from certgen.starter import make_starter

    for path in make_starter(options.folder):
        print(path)
    return 0
