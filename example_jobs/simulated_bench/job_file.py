"""Puts generated readings into a job file and leaves every other line, comments included, as it is."""

from __future__ import annotations

import re
from collections.abc import Sequence

Row = Sequence[str]


def aligned(rows: Sequence[Row]) -> list[str]:
    """Rows of texts as YAML list items whose columns stand under one another."""
    widths = [max(len(row[index]) for row in rows) for index in range(len(rows[0]))]
    padded = [[cell.rjust(width) for cell, width in zip(row, widths, strict=True)] for row in rows]
    return [f"      - [{', '.join(row)}]" for row in padded]


def with_rows(text: str, table: str, rows: Sequence[Row]) -> str:
    """The job's text with the typed rows of one table of its readings replaced."""
    lines = text.split("\n")
    head = next(number for number, line in enumerate(lines) if re.match(rf"  {table}:(?: |$)", line))
    start = lines.index("    rows:", head) + 1
    end = start
    while lines[end].startswith("      - ["):
        end += 1
    return "\n".join([*lines[:start], *aligned(rows), *lines[end:]])


def with_value(text: str, key: str, value: str) -> str:
    """The job's text with the value of one key replaced; the key must stand in one line of its own."""
    line = re.compile(rf"^( +{re.escape(key)}: )[^#\n]*?((?: +#[^\n]*)?)$", re.MULTILINE)
    changed, count = line.subn(lambda found: f"{found[1]}{value}{found[2]}", text)
    if count != 1:
        raise ValueError(f"the key '{key}' stands {count} times, not once")
    return changed


def csv(header: Row, rows: Sequence[Row]) -> str:
    """A delimited text file."""
    return "".join(",".join(row) + "\n" for row in [header, *rows])
