"""The pages of the handbook, and what is written out in them, for the tests that run and read it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"
NAMES = sorted(path.name for path in DOCS.glob("*.md"))
TOLD = [ROOT / "README.md", *(DOCS / name for name in NAMES)]


@dataclass(frozen=True)
class Block:
    """A fenced block of a page."""

    kind: str
    text: str
    line: int


def blocks(page: str) -> Iterator[Block]:
    text = (DOCS / page).read_text(encoding="utf-8")
    for found in re.finditer(r"^```(\w+)\n(.*?)^```$", text, flags=re.DOTALL | re.MULTILINE):
        yield Block(found[1], found[2], text.count("\n", 0, found.start()) + 1)
