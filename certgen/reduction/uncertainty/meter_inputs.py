"""What is not sure of the meters: their makers' limits of error, and the last digit they show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from certgen.job.meters import Meter
from certgen.job.rig import Rig
from certgen.readings.model import Table
from certgen.reduction.uncertainty.limits import unstated, within
from certgen.reduction.uncertainty.model import UncertainInput
from certgen.reduction.uncertainty.shifts import Moved, shift_columns, shift_rows

Array = NDArray[np.float64]


@dataclass(frozen=True)
class _Read:
    """A meter, what it reads, and where its scale begins in SI."""

    key: str
    name: str
    unit: str
    columns: tuple[str, ...]
    lines: tuple[str, ...] = ("",)
    origin: float = 0.0


_LINES = ("", ", line ab", ", line bc", ", line ca")
_PHASES = ("", ", line a", ", line b", ", line c")
_OF_THE_LOAD = "torque"  # its single readings stand with those of the scales
_ABSOLUTE_ZERO = 273.15  # a thermometer's parts count from 0 degC
_METERS = (
    _Read("voltage", "voltmeter", "V", ("voltage", "voltage_ab", "voltage_bc", "voltage_ca"), _LINES),
    _Read("current", "ammeter", "A", ("current", "current_a", "current_b", "current_c"), _PHASES),
    _Read("input_power", "wattmeter", "W", ("input_power", "wattmeter_1", "wattmeter_2"), ("", ", first", ", second")),
    _Read("power_factor", "power-factor meter", "1", ("power_factor",)),
    _Read("frequency", "frequency meter", "Hz", ("frequency",)),
    _Read("winding_temperature", "winding thermometer", "K", ("winding_temperature",), origin=_ABSOLUTE_ZERO),
    _Read("frame_temperature", "frame thermometer", "K", ("frame_temperature",), origin=_ABSOLUTE_ZERO),
    _Read("ambient_temperature", "room thermometer", "K", ("ambient_temperature",), origin=_ABSOLUTE_ZERO),
    _Read("winding_resistance", "ohmmeter", "ohm", ("winding_resistance",)),
    _Read("insulation_resistance", "insulation tester", "ohm", ("insulation_resistance",)),
    _Read("torque", "torque sensor", "N*m", ("torque",)),
)
_WATCH = _Read("time", "watch", "s", ("time",))


def meter_inputs(rig: Rig, tables: Iterable[Table], cooling: Table | None = None) -> Iterator[UncertainInput]:
    """The limits of error and the resolution of every meter that gave a column of a table.

    A watch counts in ``cooling`` only, the resistances read after switching off: elsewhere times are taken as exact.
    """
    read_in = tuple(tables)
    for read in _METERS:
        yield from _meter(read, rig, read_in)
    if cooling is not None:
        yield from _meter(_WATCH, rig, (cooling,))


def _meter(read: _Read, rig: Rig, tables: tuple[Table, ...]) -> Iterator[UncertainInput]:
    columns = tuple(name for name in read.columns if any(_was_read(table, name) for table in tables))
    if columns:
        meter: Meter = getattr(rig.meters, read.key, None) or Meter()
        yield replace(_limit_of_error(read, columns, meter, tables), columns=frozenset(columns))
        yield from _resolutions(read, columns, meter)


def _was_read(table: Table, name: str) -> bool:
    return bool(np.isfinite(table.column(name)).any())


def _limit_of_error(read: _Read, columns: tuple[str, ...], meter: Meter, tables: tuple[Table, ...]) -> UncertainInput:
    """A maker's limit is the sum of its parts, and the meter's own error some part of it, the same at every reading.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7, example 2: part of reading and part of range together are the half-width.
    """
    name = f"{read.name}, part of its limit of error"
    if meter.reading is None and meter.range is None and meter.digits is None:
        readings = [table.columns[one] for table in tables for one in columns if _was_read(table, one)]
        greatest = max(float(np.nanmax(np.abs(values))) for values in readings)
        lacking = f"meters.{read.key} with reading, range or digits in the rig file"
        return unstated(read.name, read.unit, shift_columns(columns), size=greatest, lacking=lacking)
    return within(name, "1", 1.0, shift_columns(columns, _by_part_of_limit(meter, read.origin)), shared=True)


def limit_of_error(meter: Meter, readings: Array, origin: float = 0.0) -> Array:
    """A maker's limit of error at each reading.

    Parameters
    ----------
    meter : Meter
        Part of reading, part of range with full scale, digits with resolution. [SI]
    readings : array, shape (n,)
        What it showed. [SI]
    origin : float
        Where its scale begins: 273.15 for a thermometer in degrees Celsius. [SI]

    Returns
    -------
    array, shape (n,)
        The parts added up. [as readings]
    """
    span = (meter.full_scale or origin) - origin
    constant = (meter.range or 0.0) * span + (meter.digits or 0) * (meter.resolution or 0.0)
    return np.asarray((meter.reading or 0.0) * np.abs(readings - origin) + constant)


def _by_part_of_limit(meter: Meter, origin: float) -> Moved:
    def moved(readings: Array, part: float | Array) -> Array:
        return readings + part * limit_of_error(meter, readings, origin)

    return moved


def _resolutions(read: _Read, columns: tuple[str, ...], meter: Meter) -> Iterator[UncertainInput]:
    """Half a step of the last digit, where no count of digits holds it already.

    References
    ----------
    JCGM 100:2008 (GUM), F.2.2.1: a step q gives q / sqrt(12).
    """
    if meter.resolution is None or meter.digits is not None or read.key == _OF_THE_LOAD:
        return
    for column, line in zip(read.columns, read.lines, strict=True):
        if column in columns:
            name = f"{read.name} resolution{line}"
            step = within(name, read.unit, 0.5 * meter.resolution, shift_rows(column), shared=False)
            yield replace(step, columns=frozenset({column}))
