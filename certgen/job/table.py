"""Tables of readings as declared in a job: named columns with units, and rows typed in or a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import yaml

from certgen.document.build import FileReference, Reader
from certgen.document.source import Place, place_of
from certgen.document.wording import nearest, says
from certgen.document.vocabulary import Custom, Group, Measure, Reference, Text, key
from certgen.job.columns import COLUMNS, ColumnKind
from certgen.units import DIMENSIONS, UnitError, conversion

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
class Steady:
    """How steady stretches are found in a log."""

    hold: float | None = key(Measure("time", above=0.0, example="5 s"), "How long speed and torque must hold.")
    speed_band: float | None = key(Measure("ratio", above=0.0, high=1.0, example="0.5 %"), "Band of the speed.")
    torque_band: float | None = key(Measure("ratio", above=0.0, high=1.0, example="1 %"), "Band of the torque.")


@dataclass(frozen=True)
class TableSource:
    """A table as declared: exactly one of ``rows`` and ``file`` is given."""

    path: str
    place: Place
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...] | None = None
    file: FileReference | None = None

    @property
    def names(self) -> frozenset[str]:
        """The names of its columns."""
        return frozenset(column.name for column in self.columns)


def table(known: Mapping[str, ColumnKind] = COLUMNS) -> Custom:
    """The kind of a key that holds a table with some of the ``known`` columns."""

    def read(node: yaml.Node, reader: Reader, path: str) -> TableSource | None:
        return _read_table(node, reader, path, known)

    return Custom(read, lambda: _schema(known), "columns with their units, and rows or a file")


def _read_table(node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind]) -> TableSource | None:
    pairs = reader.pairs(node, path)
    if pairs is None:
        return None
    keys = ("columns", "rows", "file", "steady")
    for name, (key_node, _) in pairs.items():
        if name not in keys:
            reader.wrong(key_node, f"{path}.{name}", "unknown key", nearest(name, keys))
    if ("rows" in pairs) == ("file" in pairs):
        reader.wrong(
            node, path, "a table needs either rows or a file", "write 'rows:' with lists, or 'file:' with a name"
        )
        return None
    if "columns" not in pairs:
        reader.wrong(node, f"{path}.columns", "this key is missing", "write {speed: rpm, scale: kg, ..}")
        return None
    if "steady" in pairs:
        reader.not_evaluated.append(f"{path}.steady")
        reader.value(Group(Steady), pairs["steady"][1], f"{path}.steady")
    columns = _read_columns(pairs["columns"][1], reader, f"{path}.columns", known)
    place = place_of(node)
    if columns is None:
        return None
    if "rows" in pairs:
        rows = _read_rows(pairs["rows"][1], reader, f"{path}.rows", columns)
        return None if rows is None else TableSource(path, place, columns, rows=rows)
    file = reader.value(Reference(), pairs["file"][1], f"{path}.file")
    return None if file is None else TableSource(path, place, columns, file=file)


def _read_columns(
    node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind]
) -> tuple[Column, ...] | None:
    pairs = reader.pairs(node, path)
    if pairs is None:
        return None
    columns = []
    for name, (key_node, value_node) in pairs.items():
        if name not in known:
            reader.wrong(key_node, f"{path}.{name}", "unknown column", nearest(name, known))
            continue
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
                reader.wrong(key_node, f"{path}.{inner}", "unknown key", nearest(inner, ("from", "unit")))
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
        dimension, _, _ = conversion(unit.strip())
        if dimension not in kind.dimensions:
            raise UnitError(f"'{unit}' is a unit of {dimension}, not of {' or '.join(kind.dimensions)}")
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
    for number, row in enumerate(node.value, start=1):
        where = f"{path}[{number}]"
        if not isinstance(row, yaml.SequenceNode) or not all(isinstance(item, yaml.ScalarNode) for item in row.value):
            reader.wrong(row, where, "a row is a list of plain values", f"write {_row_example(columns)}")
        elif len(row.value) != len(columns):
            reader.wrong(
                row,
                where,
                f"the row has {len(row.value)} values for {len(columns)} columns",
                f"write {_row_example(columns)}",
            )
        else:
            rows.append(tuple(Cell(str(item.value), place_of(item)) for item in row.value))
    return tuple(rows)


def _row_example(columns: tuple[Column, ...]) -> str:
    return "[" + ", ".join(column.name for column in columns) + "]"


def _example(kind: ColumnKind) -> str:
    return says(Measure(kind.dimensions[0])).rsplit(" ", 1)[-1].rstrip("'") if kind.dimensions else ""


def _schema(known: Mapping[str, ColumnKind]) -> dict[str, Any]:
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
    steady = {name: {"type": ["string", "number"]} for name in ("hold", "speed_band", "torque_band")}
    return {
        "type": "object",
        "required": ["columns"],
        "additionalProperties": False,
        "properties": {
            "columns": {"type": "object", "properties": columns, "additionalProperties": False},
            "rows": {"type": "array", "minItems": 1, "items": {"type": "array"}},
            "file": {"type": "string"},
            "steady": {"type": "object", "properties": steady, "additionalProperties": False},
        },
    }


def examples_of(dimension: str) -> str:
    """An example quantity of a dimension."""
    return DIMENSIONS[dimension][1]
