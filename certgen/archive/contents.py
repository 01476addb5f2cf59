"""The list of what travels inside a certificate: ``contents.json``, itself enclosed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

FORMAT = "certgen certificate, contents 1"

#: Names of the two files that the program itself puts at the top of the tree.
CONTENTS, RESULTS = "contents.json", "results.json"


@dataclass(frozen=True)
class Contents:
    """What is inside, and how the page was asked for.

    Attributes
    ----------
    job : str
        Name of the job file in the tree of enclosed files.
    sheet : mapping
        Layout, paper and units of the page.
    files : mapping
        Name of each enclosed file but this list -> its SHA-256, 64 hexadecimal digits.
    """

    number: str
    verdict: str
    program: str
    version: str
    job: str
    sheet: Mapping[str, str]
    files: Mapping[str, str]


def as_json(contents: Contents) -> bytes:
    """The list as JSON."""
    return (json.dumps({"format": FORMAT, **asdict(contents)}, ensure_ascii=False, indent=1) + "\n").encode()


def read_contents(data: bytes) -> Contents | None:
    """The list back from JSON, or ``None`` where it is not one."""
    try:
        tree = json.loads(data)
    except (ValueError, RecursionError):
        return None
    if not isinstance(tree, dict) or tree.pop("format", None) != FORMAT:
        return None
    try:
        contents = Contents(**tree)
    except TypeError:
        return None
    return contents if _well_formed(contents) else None


def _well_formed(contents: Contents) -> bool:
    texts = (contents.number, contents.verdict, contents.program, contents.version, contents.job)
    tables: tuple[Any, ...] = (contents.sheet, contents.files)
    if not all(isinstance(text, str) for text in texts) or not all(isinstance(table, dict) for table in tables):
        return False
    return all(isinstance(part, str) for table in tables for item in table.items() for part in item)
