"""Delimited text files: a header line, then one row a line."""

from __future__ import annotations

import io
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from certgen.document.wording import nearest
from certgen.document.source import Place, Problems, decode
from certgen.job.table import Column, TableSource
from certgen.readings.cells import tabulate
from certgen.readings.model import Table

MOST_BYTES = 64_000_000
_DELIMITERS = (",", ";", "\t")


@dataclass(frozen=True)
class _Grid:
    """The cells of a file as text: header, rows, and the line each row stands in."""

    header: list[str]
    rows: list[list[str]]
    lines: list[int]


def read_delimited(source: TableSource, data: bytes, shown: str, problems: Problems) -> Table | None:
    """The declared columns of a delimited text file, or ``None`` with the problems kept."""
    text = decode(data, shown, problems)
    grid = None if text is None else _grid(text, shown, problems)
    if grid is None:
        return None
    where = [_position(column, grid.header, shown, problems) for column in source.columns]
    if None in where:
        return None
    positions = [index for index in where if index is not None]
    rows = [[row[index] for index in positions] for row in grid.rows]

    def place_of(row: int, column: int) -> Place:
        before = grid.rows[row][: positions[column]]
        return grid.lines[row], sum(len(cell) + 1 for cell in before) + 1

    return tabulate(source.columns, rows, place_of, shown, problems)


def _position(column: Column, header: Sequence[str], shown: str, problems: Problems) -> int | None:
    found = [index for index, name in enumerate(header) if name == column.header]
    if len(found) == 1:
        return found[0]
    if found:
        problems.add(
            shown,
            (1, 1),
            f"the header '{column.header}' stands {len(found)} times",
            "give each column a header of its own",
        )
    else:
        advice = nearest(column.header, [name for name in header if name])
        what = f"there is no column '{column.header[:60]}' for '{column.name}'"
        problems.add(shown, (1, 1), what, f"{advice}, or name the header in the job with 'from:'")
    return None


def _grid(text: str, shown: str, problems: Problems) -> _Grid | None:
    if not text.strip():
        problems.add(shown, (1, 1), "the table is empty", "write a header line and at least one row")
        return None
    cells = _cells(text, shown, problems)
    if cells is None:
        return None
    numbered = [(line, row) for line, row in enumerate(cells, start=1) if any(cell.strip() for cell in row)]
    header = [cell.strip() for cell in numbered[0][1]]
    body = numbered[1:]
    if not body:
        problems.add(shown, (numbered[0][0] + 1, 1), "the table is empty", "write at least one row below the header")
        return None
    return _Grid(header, [row for _, row in body], [line for line, _ in body])


def _cells(text: str, shown: str, problems: Problems) -> list[list[str]] | None:
    import pandas
    from pandas.errors import ParserError

    first = next(line for line in text.splitlines() if line.strip())
    delimiter = max(_DELIMITERS, key=first.count)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            frame = pandas.read_csv(
                io.StringIO(text),
                sep=delimiter,
                header=None,
                dtype=str,
                keep_default_na=False,
                skip_blank_lines=False,
                skipinitialspace=True,
            )
    except (ParserError, Warning, ValueError) as cause:
        words = " ".join(str(cause).removeprefix("Error tokenizing data. C error: ").split())[:120]
        what = f"the lines do not form a table ({words})"
        problems.add(shown, (1, 1), what, "give every line as many cells as the header, and close every quote")
        return None
    return [[str(cell) for cell in row] for row in frame.fillna("").to_numpy().tolist()]


def read_file(source: TableSource, path: Path, data: bytes, shown: str, problems: Problems) -> Table | None:
    """A readings file by the ending of its name."""
    if path.suffix.lower() not in (".csv", ".txt", ".tsv", ".dat"):
        what = f"a readings file ending in '{path.suffix[:10]}' cannot be read"
        problems.add(shown, (0, 0), what, "save it as delimited text, for example load_test.csv")
        return None
    return read_delimited(source, data, shown, problems)
