"""The names of readings columns: what each means and in which dimensions it may be written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import yaml

from certgen.document.build import Reader, is_blank, join
from certgen.document.source import Place, place_of
from certgen.document.vocabulary import Measure, Text
from certgen.document.wording import nearest, says
from certgen.units import DIMENSIONS, UnitError, conversion


@dataclass(frozen=True)
class ColumnKind:
    """One column name of the contract; bounds are in SI."""

    meaning: str
    dimensions: tuple[str, ...]
    low: float | None = None
    high: float | None = None
    evaluated: bool = True


def _plain(meaning: str, dimension: str, low: float | None = None, evaluated: bool = True) -> ColumnKind:
    return ColumnKind(meaning, (dimension,), low=low, evaluated=evaluated)


COLUMNS: dict[str, ColumnKind] = {
    "time": _plain("time since the start of the test", "time", 0.0),
    "speed": _plain("speed of the tested shaft (of the absorber where the rig says so)", "speed", 0.0),
    "scale": ColumnKind("indication of the scale, or of the tight-side balance of a rope brake", ("mass", "force")),
    "scale_2": ColumnKind("indication of the slack-side balance of a rope brake", ("mass", "force")),
    "torque": _plain("torque shown by a torque sensor", "torque"),
    "voltage": _plain("supply voltage; mean of the lines where there are three", "voltage", 0.0),
    "voltage_ab": _plain("voltage between lines a and b", "voltage", 0.0),
    "voltage_bc": _plain("voltage between lines b and c", "voltage", 0.0),
    "voltage_ca": _plain("voltage between lines c and a", "voltage", 0.0),
    "current": _plain("line current; mean of the lines where there are three", "current", 0.0),
    "current_a": _plain("current of line a", "current", 0.0),
    "current_b": _plain("current of line b", "current", 0.0),
    "current_c": _plain("current of line c", "current", 0.0),
    "input_power": _plain("electrical power taken in", "power", 0.0),
    "wattmeter_1": _plain("first of two wattmeters", "power"),
    "wattmeter_2": _plain("second of two wattmeters; negative below a power factor of 0.5", "power"),
    "power_factor": ColumnKind("power factor", ("ratio",), 0.0, 1.0),
    "frequency": _plain("supply frequency", "frequency", 1.0),
    "brake_current": _plain("direct current that excites the brake", "current", 0.0),
    "brake_voltage": _plain("voltage that excites the brake", "voltage", 0.0, evaluated=False),
    "winding_temperature": _plain("temperature of the winding", "temperature", 0.0),
    "frame_temperature": _plain("temperature of the frame", "temperature", 0.0),
    "ambient_temperature": _plain("temperature of the cooling air", "temperature", 0.0),
    "winding_resistance": _plain("resistance of the winding", "resistance", 0.0),
    "remark": ColumnKind("a few words on the row", ()),
}

#: The envelope of a brake has its own two columns.
ENVELOPE_COLUMNS = {name: COLUMNS[name] for name in ("speed", "torque")}


def si_unit(column: str, *, scale_reads: str = "mass") -> str:
    """The SI unit a column is kept in; a scale's by what it reads, 'mass' or 'force'."""
    dimensions = COLUMNS[column].dimensions
    return DIMENSIONS[scale_reads if len(dimensions) > 1 else dimensions[0]][0]


# The columns of a table as declared: name, unit, and the header each has in a file.


#: Units of a time column that is no plain count: time of day, date with time of day, minutes and seconds.
CLOCK, STAMP, MINUTES = "clock", "stamp", "mm:ss"
WRITTEN_TIMES = (CLOCK, STAMP, MINUTES)


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
    if unit in WRITTEN_TIMES and "time" in kind.dimensions:
        return "time"
    dimension, _, _ = conversion(unit)
    if dimension not in kind.dimensions:
        raise UnitError(f"'{unit}' is a unit of {dimension}, not of {' or '.join(kind.dimensions)}")
    return dimension


def unit_of(kind: ColumnKind) -> str:
    """A unit to show as an example."""
    return says(Measure(kind.dimensions[0])).rsplit(" ", 1)[-1].rstrip("'") if kind.dimensions else ""
