"""``certgen schema``: JSON Schema of a file, for editors."""

from __future__ import annotations

import argparse
import json

from certgen.document.schema import schema_of

HELP = "JSON Schema of a file, for editors that complete and check keys"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("of", choices=("job", "rig", "layout", "criteria"), help="which file")


def run(options: argparse.Namespace) -> int:
    """Print the schema."""

    print(schema_text(options.of), end="")
    return 0


# The files a user writes, each with the JSON Schema that editors read.


def schema_text(of: str) -> str:
    """JSON Schema of 'job', 'rig', 'layout' or 'criteria' as text."""
    return json.dumps(schema_of(_root(of), f"certgen {of} file"), indent=1, ensure_ascii=False) + "\n"


def _root(of: str) -> type:
    if of == "job":
        from certgen.job.model import Job

        return Job
    if of == "rig":
        from certgen.job.rig import Rig

        return Rig
    if of == "layout":
        from certgen.sheet.engine.layout import Layout

        return Layout
    from certgen.standards.criteria import CriteriaSet

    return CriteriaSet
