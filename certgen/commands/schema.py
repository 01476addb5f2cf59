"""``certgen schema``: JSON Schema of a file, for editors."""

from __future__ import annotations

import argparse
import json
from typing import Any

from certgen.document.schema import schema_of

HELP = "JSON Schema of a file, for editors that complete and check keys, and for readers of results"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    files = ("job", "rig", "shop", "layout", "criteria", "messages", "results")
    command.add_argument("of", choices=files, help="which file")


def run(options: argparse.Namespace) -> int:
    """Print the schema."""

    print(schema_text(options.of), end="")
    return 0


def schema_text(of: str) -> str:
    """JSON Schema of 'job', 'rig', 'shop', 'layout', 'criteria', 'messages' or 'results' as text."""
    return json.dumps(_schema(of), indent=1, ensure_ascii=False) + "\n"


def _schema(of: str) -> dict[str, Any]:
    if of == "messages":
        from certgen.sheet.language_file import language_schema

        return language_schema()
    if of == "results":
        from certgen.results.model import Results
        from certgen.results.serialization import schema_of_tree

        return schema_of_tree(Results, "certgen results")
    return schema_of(roots()[of], f"certgen {of} file")


def roots() -> dict[str, type]:
    """The dataclass behind each kind of file, by the kind's name."""
    from certgen.job.model import Job
    from certgen.job.rig import Rig
    from certgen.job.shop import ShopFile
    from certgen.sheet.engine.layout import Layout
    from certgen.standards.criteria import CriteriaSet

    return {"job": Job, "rig": Rig, "shop": ShopFile, "criteria": CriteriaSet, "layout": Layout}
