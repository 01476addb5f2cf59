"""The columns of a table as declared: name, unit, and the header each has in a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import yaml

from certgen.document.build import Reader, is_blank, join
from certgen.document.source import Place, place_of
from certgen.document.vocabulary import Measure, Text
from certgen.document.wording import nearest, says
from certgen.job.columns import ColumnKind
from certgen.units import UnitError, conversion

#: Units of a time column that is no count: time of day, and date with time of day.
CLOCK, STAMP = "clock", "stamp"


@dataclass(frozen=True)
class Column:
    """One column: its name, the unit its numbers are written in, and the header it has in a file.

    Unit and dimension are empty where the unit is left to the file.
    """

    name: str
    unit: str
    dimension: str
    header: str
    place: Place


def read_columns(
    node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind], *, in_file: bool
) -> tuple[Column, ...] | None:
    """The columns of a table; units may be left to the headers of a file, not to typed rows."""
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
        column = _read_column((name, known[name]), value_node, reader, f"{path}.{name}", in_file=in_file)
        if column is not None:
            columns.append(column)
    if not pairs:
        reader.wrong(node, path, "no column is named", "write {speed: rpm, scale: kg, ..}")
    return tuple(columns) if len(columns) == len(pairs) and columns else None


def _read_column(
    named: tuple[str, ColumnKind], node: yaml.Node, reader: Reader, path: str, *, in_file: bool
) -> Column | None:
    name, kind = named
    header, unit_node = name, node
    if isinstance(node, yaml.MappingNode):
        pairs = reader.pairs(node, path) or {}
        for inner, (key_node, _) in pairs.items():
            if inner not in ("from", "unit"):
                reader.unknown(key_node, join(path, inner), inner, ("from", "unit"))
        if "from" in pairs:
            header = reader.value(Text(120, "n (1/min)"), pairs["from"][1], f"{path}.from") or name
        if "unit" not in pairs and kind.dimensions and in_file:
            return Column(name, "", "", header, place_of(node))
        if "unit" not in pairs and kind.dimensions:
            reader.wrong(node, f"{path}.unit", "this key is missing", f"write a unit, for example '{unit_of(kind)}'")
            return None
        unit_node = pairs["unit"][1] if "unit" in pairs else node
    if not kind.dimensions:
        return Column(name, "", "text", header, place_of(node))
    if in_file and is_blank(unit_node):
        return Column(name, "", "", header, place_of(unit_node))
    unit = reader.scalar(unit_node, path, f"write a unit, for example '{unit_of(kind)}'")
    if unit is None:
        return None
    try:
        dimension = dimension_in(unit.strip(), kind)
    except UnitError as cause:
        reader.wrong(unit_node, path, str(cause), f"write a unit, for example '{unit_of(kind)}'")
        return None
    return Column(name, unit.strip(), dimension, header, place_of(unit_node))


def dimension_in(unit: str, kind: ColumnKind) -> str:
    """Dimension of a unit as a column of this kind may have it.

    Raises
    ------
    UnitError
        No unit, an unknown one, or one of something else.
    """
    if not unit:
        raise UnitError("the unit of this column is missing")
    if unit in (CLOCK, STAMP) and "time" in kind.dimensions:
        return "time"
    dimension, _, _ = conversion(unit)
    if dimension not in kind.dimensions:
        raise UnitError(f"'{unit}' is a unit of {dimension}, not of {' or '.join(kind.dimensions)}")
    return dimension


def unit_of(kind: ColumnKind) -> str:
    """A unit to show as an example."""
    return says(Measure(kind.dimensions[0])).rsplit(" ", 1)[-1].rstrip("'") if kind.dimensions else ""
