"""What was found in the readings files, and what was done to them, as ``certgen check`` tells it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from certgen.readings.model import FileRead


def files_told(files: Sequence[FileRead]) -> Iterator[str]:
    """A heading and a few lines for each readings file; nothing where every table is typed in the job."""
    if not files:
        return
    yield "readings files:"
    for one in files:
        yield f"  {one.file} ({one.table}): {', '.join(_layout(one))}"
        if one.units:
            yield "    units: " + ", ".join(f"{name} in {unit}" for name, unit in one.units.items())
        if one.joined is not None:
            yield f"    joined: {one.joined}"
        yield from (f"    {note}" for note in one.notes)


def _layout(one: FileRead) -> Iterator[str]:
    """How the file is written, in a few words each."""
    if one.sheet is not None:
        yield f"sheet '{one.sheet}'" + (f" {one.cells}" if one.cells else "")
    if one.encoding is not None:
        yield one.encoding
        yield f"delimiter {one.delimiter}" if one.delimiter else "one column"
        yield f"decimal {one.decimal}"
    if one.thousands is not None:
        yield f"thousands {one.thousands}"
    yield f"headers in line {one.header_row}" if one.header_row else "no headers"
    if one.unit_row is not None:
        yield f"units in line {one.unit_row}"
    yield "1 row" if one.rows == 1 else f"{one.rows} rows"
    if one.skipped:
        yield "1 line passed over" if one.skipped == 1 else f"{one.skipped} lines passed over"
