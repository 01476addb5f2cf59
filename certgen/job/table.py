"""Tables of readings as declared in a job: named columns with units, and rows typed in or a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import yaml

from certgen.document.build import FileReference, Pairs, Reader, is_blank, join
from certgen.document.schema import key_schemas
from certgen.document.source import Place, place_of
from certgen.document.vocabulary import Custom, Group, Measure, Reference, Text, keys_of
from certgen.document.wording import nearest, says
from certgen.job.columns import COLUMNS, ColumnKind
from certgen.job.log import EVALUATED_LOGS, LOG_KINDS, Steady, Sweep
from certgen.units import UnitError, conversion

MOST_ROWS = 5000


@dataclass(frozen=True)
class Column:
    """One column: its name, the unit its numbers are written in, and the header it has in a file."""

    name: str
    unit: str
    dimension: str
    header: str
    place: Place


@dataclass(frozen=True)
class Cell:
    """One typed value and where it stands."""

    text: str
    place: Place


@dataclass(frozen=True)
class TableSource:
    """A table as declared: exactly one of ``rows`` and ``file`` is given."""

    path: str
    place: Place
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...] | None = None
    file: FileReference | None = None
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
    keys = ("columns", "rows", "file", *LOG_KINDS, *beside)
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
    stated = None if also is None else reader.group(also, _only(beside, pairs, node), path)
    columns = None
    if reader.require("columns", pairs, node, path, "'columns: {speed: rpm, ..}', each column with its unit"):
        reader.places[f"{path}.columns"] = place_of(given["columns"])
        columns = _read_columns(given["columns"], reader, f"{path}.columns", known)
    if ("rows" in given) == ("file" in given):
        what = "both rows and a file are given" if "rows" in given else "neither rows nor a file is given"
        reader.wrong(node, path, what, "write either 'rows:' with lists, or 'file:' with a name")
        return None
    if "file" in given:
        file = reader.value(Reference(), given["file"], f"{path}.file")
        if file is None or columns is None:
            return None
        return TableSource(path, place_of(node), columns, file=file, **log, also=stated)
    if columns is None:
        return None
    rows = _read_rows(given["rows"], reader, f"{path}.rows", columns)
    return None if rows is None else TableSource(path, place_of(node), columns, rows=rows, **log, also=stated)


def _only(names: tuple[str, ...], pairs: Pairs, node: yaml.Node) -> yaml.MappingNode:
    """A mapping of those of its pairs that have one of the names."""
    kept = [pair for name, pair in pairs.items() if name in names]
    return yaml.MappingNode(node.tag, kept, node.start_mark, node.end_mark)


def _read_columns(
    node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind]
) -> tuple[Column, ...] | None:
    if not isinstance(node, yaml.MappingNode):
        reader.wrong(node, path, "each column needs its unit", "write {speed: rpm, scale: kg, ..}")
        return None
    pairs = reader.pairs(node, path)
    if pairs is None:
        return None
    columns = []
    for name, (key_node, value_node) in pairs.items():
        if name not in known:
            reader.wrong(key_node, join(path, name), "unknown column", nearest(name, known))
            continue
        reader.places[f"{path}.{name}"] = place_of(key_node)
        if not known[name].evaluated:
            reader.not_evaluated.append(f"{path}.{name}")
        column = _read_column(name, known[name], value_node, reader, f"{path}.{name}")
        if column is not None:
            columns.append(column)
    if not pairs:
        reader.wrong(node, path, "no column is named", "write {speed: rpm, scale: kg, ..}")
    return tuple(columns) if len(columns) == len(pairs) and columns else None


def _read_column(name: str, kind: ColumnKind, node: yaml.Node, reader: Reader, path: str) -> Column | None:
    header, unit_node = name, node
    if isinstance(node, yaml.MappingNode):
        pairs = reader.pairs(node, path) or {}
        for inner, (key_node, _) in pairs.items():
            if inner not in ("from", "unit"):
                reader.unknown(key_node, join(path, inner), inner, ("from", "unit"))
        if "from" in pairs:
            header = reader.value(Text(120, "n (1/min)"), pairs["from"][1], f"{path}.from") or name
        if "unit" not in pairs and kind.dimensions:
            reader.wrong(node, f"{path}.unit", "this key is missing", f"write a unit, for example '{_example(kind)}'")
            return None
        unit_node = pairs["unit"][1] if "unit" in pairs else node
    if not kind.dimensions:
        return Column(name, "", "text", header, place_of(node))
    unit = reader.scalar(unit_node, path, f"write a unit, for example '{_example(kind)}'")
    if unit is None:
        return None
    try:
        if not unit.strip():
            raise UnitError("the unit of this column is missing")
        dimension, _, _ = conversion(unit.strip())
        if dimension not in kind.dimensions:
            raise UnitError(f"'{unit.strip()}' is a unit of {dimension}, not of {' or '.join(kind.dimensions)}")
    except UnitError as cause:
        reader.wrong(unit_node, path, str(cause), f"write a unit, for example '{_example(kind)}'")
        return None
    return Column(name, unit.strip(), dimension, header, place_of(unit_node))


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


def _example(kind: ColumnKind) -> str:
    return says(Measure(kind.dimensions[0])).rsplit(" ", 1)[-1].rstrip("'") if kind.dimensions else ""


def _schema(known: Mapping[str, ColumnKind], also: type | None) -> dict[str, Any]:
    unit = {"type": "string", "description": "unit of the column"}
    spelt_out = {
        "type": "object",
        "properties": {"from": {"type": "string"}, "unit": unit},
        "additionalProperties": False,
    }
    columns = {
        name: {"description": kind.meaning, "anyOf": [unit, {"type": ["integer", "null"]}, spelt_out]}
        for name, kind in known.items()
    }
    logs = {
        name: {"type": "object", "properties": key_schemas(kind), "additionalProperties": False}
        for name, kind in LOG_KINDS.items()
    }
    return {
        "type": "object",
        "required": ["columns"],
        "additionalProperties": False,
        "properties": {
            "columns": {"type": "object", "properties": columns, "additionalProperties": False},
            "rows": {"type": "array", "minItems": 1, "items": {"type": "array"}},
            "file": {"type": "string"},
            **logs,
            **({} if also is None else key_schemas(also)),
        },
    }
