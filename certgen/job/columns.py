"""The names of readings columns: what each means and in which dimensions it may be written."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.units import DIMENSIONS


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
