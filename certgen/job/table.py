"""Tables of readings as declared in a job: named columns with units, and rows typed in or a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import yaml

from certgen.document.build import Pairs, Reader, is_blank, join
from certgen.document.schema import key_schemas
from certgen.document.source import Place, place_of
from certgen.document.vocabulary import Custom, Group, keys_of
from certgen.job.columns import COLUMNS, ColumnKind
from certgen.job.dialect import Dialect, FileSource, Join
from certgen.job.log import EVALUATED_LOGS, LOG_KINDS, Steady, Sweep
from certgen.job.table_columns import Column, read_columns
from certgen.job.table_files import file_schema, files_schema, only, read_file_source, read_files

MOST_ROWS = 5000


@dataclass(frozen=True)
class Cell:
    """One typed value and where it stands."""

    text: str
    place: Place


@dataclass(frozen=True)
class TableSource:
    """A table as declared: exactly one of ``rows`` and ``files`` is given; ``join`` puts several files side by side."""

    path: str
    place: Place
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...] | None = None
    files: tuple[FileSource, ...] = ()
    join: Join | None = None
    steady: Steady | None = None  # a log: its steady stretches are the points
    sweep: Sweep | None = None  # a log of a run through the curve
    also: Any = None  # what stands beside the columns, as the dataclass the table's kind names

    @property
    def names(self) -> frozenset[str]:
        """The names of its columns."""
        return frozenset(column.name for column in self.columns)


def table(known: Mapping[str, ColumnKind] = COLUMNS, also: type | None = None) -> Custom:
    """The kind of a key that holds a table with some of the ``known`` columns.

    ``also`` is a dataclass whose keys may stand beside the columns.
    """

    def read(node: yaml.Node, reader: Reader, path: str) -> TableSource | None:
        return _read_table(node, reader, path, known, also)

    return Custom(read, lambda: _schema(known, also), "columns and their units, and rows or a file", also)


def _read_table(
    node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind], also: type | None
) -> TableSource | None:
    pairs = reader.pairs(node, path)
    if pairs is None:
        return None
    beside = () if also is None else tuple(keys_of(also))
    of_a_file = tuple(keys_of(Dialect))
    keys = ("columns", "rows", "file", "files", "join", *LOG_KINDS, *beside, *of_a_file)
    for name, (key_node, _) in pairs.items():
        if name not in keys:
            reader.unknown(key_node, join(path, name), name, keys)
    given = {name: value for name, (_, value) in pairs.items() if not is_blank(value)}
    log = {
        name: reader.value(Group(kind), given[name], f"{path}.{name}") if name in given else kind()
        for name, kind in LOG_KINDS.items()
        if name in pairs  # left empty, it asks for the usual bands
    }
    reader.not_evaluated.extend(f"{path}.{name}" for name in log if (path, name) not in EVALUATED_LOGS)
    stated = None if also is None else reader.group(also, only(beside, pairs, node), path)
    kind = _kind(given, pairs, node, reader, path)
    for name in given:
        if (name in of_a_file and kind in ("rows", "files")) or (name == "join" and kind in ("rows", "file")):
            what = "this says how files are joined" if name == "join" else "this says how a file is written"
            reader.wrong(pairs[name][0], join(path, name), what, _WHERE[name == "join"])
    if kind == "files":
        parts = read_files(given["files"], reader, f"{path}.files", known)
        joined = _read_join(pairs, given, node, reader, path)
        if parts is None or joined is None or joined.by is None or joined.within is None:
            return None
        parts = tuple(replace(part, log="steady" in log) for part in parts)
        columns = tuple({column.name: column for part in parts for column in part.columns}.values())
        return TableSource(
            path,
            place_of(node),
            columns,
            files=tuple(replace(part, log="steady" in log) for part in parts),
            join=joined,
            **log,
            also=stated,
        )
    if kind == "file":
        source = read_file_source(pairs, node, reader, path, known)
        if source is None:
            return None
        return TableSource(
            path, place_of(node), source.columns, files=(replace(source, log="steady" in log),), **log, also=stated
        )
    columns_ = _typed_columns(pairs, given, node, reader, path, known=known)
    if kind is None or columns_ is None:
        return None
    rows = _read_rows(given["rows"], reader, f"{path}.rows", columns_)
    return None if rows is None else TableSource(path, place_of(node), columns_, rows=rows, **log, also=stated)


#: Where a key of a file belongs, and where one of a join does.
_WHERE = ("write it beside 'file:', or in an entry of 'files:'", "write it beside 'files:'")


def _kind(given: Mapping[str, yaml.Node], pairs: Pairs, node: yaml.Node, reader: Reader, path: str) -> str | None:
    """Which of rows, file and files is given; none or several of them is a mistake."""
    found = [name for name in ("rows", "file", "files") if name in given]
    if len(found) == 1:
        return found[0]
    what = "neither rows nor a file is given" if not found else "both rows and a file are given"
    what = "both file and files are given" if found == ["file", "files"] else what
    reader.wrong(node, path, what, "write either 'rows:' with lists, or 'file:' with a name")
    return None


def _typed_columns(
    pairs: Pairs,
    given: Mapping[str, yaml.Node],
    node: yaml.Node,
    reader: Reader,
    path: str,
    *,
    known: Mapping[str, ColumnKind],
) -> tuple[Column, ...] | None:
    if not reader.require("columns", pairs, node, path, "'columns: {speed: rpm, ..}', each column with its unit"):
        return None
    reader.places[f"{path}.columns"] = place_of(given["columns"])
    return read_columns(given["columns"], reader, f"{path}.columns", known, in_file=False)


def _read_join(pairs: Pairs, given: Mapping[str, yaml.Node], node: yaml.Node, reader: Reader, path: str) -> Join | None:
    if "columns" in given:
        what = "each of several files has columns of its own"
        reader.wrong(pairs["columns"][0], f"{path}.columns", what, "write them in the entries of 'files:'")
    if not reader.require("join", pairs, node, path, "'join: {by: nearest, within: 0.5 s}'"):
        return None
    found: Join | None = reader.value(Group(Join), given["join"], f"{path}.join")
    return found


def _read_rows(
    node: yaml.Node, reader: Reader, path: str, columns: tuple[Column, ...]
) -> tuple[tuple[Cell, ...], ...] | None:
    if not isinstance(node, yaml.SequenceNode):
        reader.wrong(node, path, "a list of rows is needed here", "write one line '- [..]' a row")
        return None
    if not node.value:
        reader.wrong(node, path, "the table is empty", "write at least one row '- [..]'")
        return None
    if len(node.value) > MOST_ROWS:
        reader.wrong(node, path, f"the table has {len(node.value)} rows", f"put more than {MOST_ROWS} into a file")
        return None
    rows = []
    for row in node.value:
        if not isinstance(row, yaml.SequenceNode) or not all(isinstance(item, yaml.ScalarNode) for item in row.value):
            reader.wrong(row, path, "a row is a list of plain values", f"write {_row_example(columns)}")
        elif len(row.value) != len(columns):
            count = "1 value" if len(row.value) == 1 else f"{len(row.value)} values"
            what = f"the row has {count} for {len(columns)} columns"
            reader.wrong(row, path, what, f"write {_row_example(columns)}")
        else:
            rows.append(tuple(Cell(str(item.value), place_of(item)) for item in row.value))
    return tuple(rows)


def _row_example(columns: tuple[Column, ...]) -> str:
    names = ", ".join(column.name for column in columns)
    return f"one value for each column, [{names}], commas between, a point in a decimal"


def _schema(known: Mapping[str, ColumnKind], also: type | None) -> dict[str, Any]:
    logs = {
        name: {"type": "object", "properties": key_schemas(kind), "additionalProperties": False}
        for name, kind in LOG_KINDS.items()
    }
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "rows": {"type": "array", "minItems": 1, "items": {"type": "array"}},
            **file_schema(known)["properties"],
            "files": files_schema(known),
            "join": {"type": "object", "properties": key_schemas(Join), "additionalProperties": False},
            **logs,
            **({} if also is None else key_schemas(also)),
        },
    }
