"""``certgen schema``: JSON Schema of a file, for editors."""

from __future__ import annotations

import argparse

HELP = "JSON Schema of a file, for editors that complete and check keys"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("of", choices=("job", "rig", "layout", "criteria"), help="which file")


def run(options: argparse.Namespace) -> int:
    """Print the schema."""
    from certgen.schemas import schema_text

    print(schema_text(options.of), end="")
    return 0
