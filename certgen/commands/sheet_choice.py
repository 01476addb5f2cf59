"""The options of commands that draw a list or a trend: layout, paper, units."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from certgen.issuing.options import SheetOptions


def add_sheet_choice(command: argparse.ArgumentParser) -> None:
    """Declare the options."""
    command.add_argument("--sheet", metavar="NAME", help="a layout for such a sheet by name, or a layout file")
    command.add_argument("--paper", choices=("a4", "letter"), help="paper (default: a4)")
    command.add_argument("--units", choices=("si", "us", "both"), help="units printed (default: si)")


def sheet_choice(options: argparse.Namespace) -> SheetOptions:
    """What was chosen."""
    from certgen.issuing.options import SheetOptions

    return SheetOptions(options.sheet, options.paper, options.units)
