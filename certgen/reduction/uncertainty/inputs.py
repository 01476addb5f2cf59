"""The list of everything that is not sure about the readings of one test."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from certgen.document.build import Toleranced
from certgen.job.columns import si_unit
from certgen.job.model import INDUCTION, Job
from certgen.job.rig import Meter, Rig
from certgen.physics.domain import Array
from certgen.readings.model import ACCELERATION, COOLING, OfMeans, Table
from certgen.reduction.speed import supply_frequency
from certgen.reduction.uncertainty.model import (
    Measured,
    Moved,
    Shift,
    UncertainInput,
    shift_columns,
    shift_rig,
    shift_rows,
    toleranced,
    unstated,
    with_column,
    within,
)
from certgen.reduction.uncertainty.scale_inputs import scale_inputs
from certgen.reduction.uncertainty.torque_path_inputs import lever_inputs
from certgen.reduction.uncertainty.winding_errors import every_table

# What is not sure of the meters: their makers' limits of error, and the last digit they show.


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
        missing_inputs = f"meters.{read.key} with reading, range or digits in the rig file"
        return unstated(read.name, read.unit, shift_columns(columns), size=greatest, missing_inputs=missing_inputs)
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


# What is not sure of speed and supply frequency.


def speed_inputs(measured: Measured) -> Iterator[UncertainInput]:
    """The tachometer: one pulse more or less in its counting time, and its stated limit of error."""
    tachometer = measured.rig.tachometer
    speed = measured.readings.load_test.column("speed")
    pulses, gate = tachometer.pulses_per_revolution, tachometer.gate
    if not np.isfinite(speed).any():
        return
    if pulses is not None and gate is not None:
        limit = pulse_limit(pulses, gate)
        yield within("tachometer, one pulse", "rad/s", limit, shift_rows("speed", _where_it_turns), shared=False)
    if tachometer.tolerance is not None:
        shift = shift_columns(("speed",), _where_it_turns)
        yield within("tachometer, limit of error", "rad/s", tachometer.tolerance, shift, shared=True)
    elif pulses is None or gate is None:
        part = "gate" if pulses is not None else "tolerance, or pulses_per_revolution and gate"
        shift = shift_columns(("speed",), _where_it_turns)
        greatest = float(np.nanmax(speed))
        yield unstated("tachometer", "rad/s", shift, size=greatest, missing_inputs=f"tachometer.{part} in the rig file")


def pulse_limit(pulses_per_revolution: int, gate: float) -> float:
    """Speed of one pulse in the counting time.

    Parameters
    ----------
    pulses_per_revolution : int
        Pulses p of one turn.
    gate : float
        Counting time t. [s]

    Returns
    -------
    float
        2 pi / (p t): gate and pulses are not in step, so a count may be one off. [rad/s]

    References
    ----------
    Common practice, no source: the error of plus or minus one count of a counter with a gate.
    """
    return 2.0 * math.pi / (pulses_per_revolution * gate)


def _where_it_turns(speed: Array, error: float | Array) -> Array:
    """A shaft at standstill gives no pulses, and is seen to stand."""
    return np.where(speed > 0.0, speed + error, speed)


def frequency_inputs(job: Job, measured: Measured) -> Iterator[UncertainInput]:
    """A supply frequency that was not measured, where slip rests on it; a measured one is its meter's matter."""
    column = measured.readings.load_test.column("frequency")
    used, basis = supply_frequency(job, column)
    if job.motor.type not in INDUCTION or not basis or np.isfinite(column).any():
        return
    stated = Toleranced(float(used[0]))
    if job.conditions.supply_frequency is not None:
        stated = job.conditions.spreads.get("supply_frequency", stated)
    missing_inputs = "conditions.supply_frequency.tolerance in the job file, or a column frequency in the readings"
    yield toleranced("supply frequency", "Hz", stated, _shift_frequency(used), missing_inputs=missing_inputs)


def _shift_frequency(used: Array) -> Shift:
    def shift(measured: Measured, error: float | Array) -> Measured:
        if not np.any(error):
            return measured
        rows = measured.readings.load_test.rows
        return with_column(measured, "frequency", np.full(rows, used[0]) + error)

    return shift


# The scatter behind the means of a log: how sure each plateau's mean of each column is.


def mean_inputs(measured: Measured) -> Iterator[UncertainInput]:
    """One input for each column of means, independent from row to row and from column to column.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2.3: the standard deviation of a mean, s / sqrt(n), with n_eff in place of n for samples that
    are correlated (4.2.7); n_eff - 1 degrees of freedom. Fluctuations that channels have in common (of the supply, of
    the load) are taken as independent.
    """
    table = measured.readings.load_test
    for name, found in table.of_means.items():
        typical = float(np.sqrt(np.mean(found.standard_uncertainty**2))) if found.standard_uncertainty.size else 0.0
        if typical > 0.0 and np.isfinite(table.columns[name]).any():
            yield _input(name, found, typical, measured)


def _input(name: str, found: OfMeans, typical: float, measured: Measured) -> UncertainInput:
    parts = found.standard_uncertainty / typical
    return UncertainInput(
        f"{name.replace('_', ' ')}, scatter of the means",
        si_unit(name, scale_reads=measured.rig.scale.reads if measured.rig.scale is not None else "mass"),
        typical,
        _shift(name, parts),
        shared=False,
        step=typical,
        degrees_of_freedom=float(found.degrees_of_freedom.min()),
        distribution="normal",
        row_freedom=found.degrees_of_freedom,
    )


def _shift(name: str, parts: Array) -> Shift:
    """An error of the typical size moves each row in proportion to how unsure its mean is."""
    return shift_rows(name, lambda values, error: values + error * parts)


# What is not sure of the points of a sweep besides its instruments: scatter about the low-pass, and the inertia.


_WORDS = {ACCELERATION: "rate of change of speed", "scale_2": "slack-side balance"}


def sweep_inputs(measured: Measured) -> Iterator[UncertainInput]:
    """Scatter of each column, independent from point to point, and the inertias; none where there is no sweep.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2 (scatter, type A), 4.3 (limits stated for the inertia, type B).
    """
    sweep = measured.readings.sweep
    if sweep is None:
        return
    for name, deviations in sweep.deviations.items():
        known = np.where(np.isfinite(deviations), deviations, 0.0)
        if known.any():
            words = _WORDS.get(name, name.replace("_", " "))
            yield UncertainInput(
                f"scatter of the sweep, {words}", "1", 1.0, shift_rows(name, _scattered(known)), shared=False,
                step=1.0, distribution="normal",
            )  # fmt: skip
    if measured.rig.inertia is not None:
        missing_inputs, shift = "inertia.tolerance in the rig file", shift_rig("inertia", "value")
        yield toleranced("inertia of the rig", "kg*m^2", measured.rig.inertia, shift, missing_inputs=missing_inputs)
    if sweep.rotor_inertia is not None:
        missing_inputs = "motor.rotor_inertia.tolerance in the job file"
        yield toleranced(
            "inertia of the rotor", "kg*m^2", sweep.rotor_inertia, _heavier_rotor, missing_inputs=missing_inputs
        )


def _scattered(deviations: Array) -> Moved:
    """An error of one standard deviation of each row, times a number."""

    def moved(values: Array, error: float | Array) -> Array:
        return values + np.asarray(error) * deviations

    return moved


def _heavier_rotor(measured: Measured, error: Any) -> Measured:
    sweep = measured.readings.sweep
    assert sweep is not None and sweep.rotor_inertia is not None  # else there is no such input
    heavier = replace(sweep.rotor_inertia, value=sweep.rotor_inertia.value + error)
    return replace(measured, readings=replace(measured.readings, sweep=replace(sweep, rotor_inertia=heavier)))


# The list of everything that is not sure about the readings of one test.


def uncertain_inputs(job: Job, measured: Measured) -> tuple[UncertainInput, ...]:
    """Every source of doubt about the readings of a test, each with its standard uncertainty.

    Parameters
    ----------
    job : Job
        Kind of motor, plate and conditions. [SI]
    measured : Measured
        Rig, readings and gravity. [SI]

    Returns
    -------
    tuple of UncertainInput
        One for each source, names all different. What the files say nothing of stands with ``nan`` and what to state.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2 and 4.3: type A and type B evaluation.
    """
    return tuple(_inputs(job, measured))


def _inputs(job: Job, measured: Measured) -> Iterator[UncertainInput]:
    yield from lever_inputs(measured, _gravity(job))
    yield from scale_inputs(measured)
    yield from speed_inputs(measured)
    tables = every_table(job, measured.readings)
    yield from meter_inputs(measured.rig, tables.values(), tables.get(COOLING))
    yield from frequency_inputs(job, measured)
    yield from sweep_inputs(measured)
    yield from mean_inputs(measured)


def _gravity(job: Job) -> Toleranced | None:
    stated = job.conditions.local_gravity
    return None if stated is None else job.conditions.spreads.get("local_gravity", Toleranced(stated))
