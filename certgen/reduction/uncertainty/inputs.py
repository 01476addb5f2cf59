"""The list of everything that makes the readings of one test uncertain."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from certgen.document.build import Toleranced
from certgen.job.columns import si_unit
from certgen.job.model import INDUCTION, Job
from certgen.job.rig import Meter, Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.readings.model import ACCELERATION, COOLING, OfMeans, Table
from certgen.reduction.speed import supply_frequency
from certgen.reduction.uncertainty.assumed_inputs import (
    AssumedInstrument,
    assumed_input,
    greatest_of,
    instrument_inputs,
    last_digit,
    limit_in_words,
    typed_steps,
)
from certgen.reduction.uncertainty.model import (
    LimitOfReading,
    Measured,
    Moved,
    Perturbation,
    UncertainInput,
    perturb_columns,
    perturb_rig,
    perturb_rows,
    toleranced,
    with_column,
    within,
)
from certgen.reduction.uncertainty.scale_inputs import scale_inputs
from certgen.reduction.uncertainty.torque_path_inputs import lever_inputs
from certgen.reduction.uncertainty.winding_errors import every_table
from certgen.standards.assumed_accuracy import assumed_accuracy

# The meters: their makers' limits of error, and the last digit they show.


@dataclass(frozen=True)
class _Read:
    """A meter, what it reads, and where its scale begins in SI."""

    key: str
    kind: str  # of the table of assumed accuracies, and of its name
    unit: str
    columns: tuple[str, ...]
    lines: tuple[str, ...] = ("",)
    origin: float = 0.0

    @property
    def name(self) -> Message:
        return Message(f"instrument.{self.kind}")

    def resolution_of(self, column: str) -> Message:
        """What the resolution of one of its columns is called."""
        which = self.lines[self.columns.index(column)]
        if not which:
            return Message("input.resolution", instrument=self.name)
        return Message("input.resolution_of", instrument=self.name, which=Message(f"input.{which}"))


_LINES = ("", "line_ab", "line_bc", "line_ca")
_PHASES = ("", "line_a", "line_b", "line_c")
_OF_THE_LOAD = "torque"  # its single readings stand with those of the scales
_ABSOLUTE_ZERO = 273.15  # a thermometer's parts count from 0 degC
_METERS = (
    _Read("voltage", "voltmeter", "V", ("voltage", "voltage_ab", "voltage_bc", "voltage_ca"), _LINES),
    _Read("current", "ammeter", "A", ("current", "current_a", "current_b", "current_c"), _PHASES),
    _Read("input_power", "wattmeter", "W", ("input_power", "wattmeter_1", "wattmeter_2"), ("", "first", "second")),
    _Read("power_factor", "power_factor_meter", "1", ("power_factor",)),
    _Read("frequency", "frequency_meter", "Hz", ("frequency",)),
    _Read("winding_temperature", "winding_thermometer", "K", ("winding_temperature",), origin=_ABSOLUTE_ZERO),
    _Read("frame_temperature", "frame_thermometer", "K", ("frame_temperature",), origin=_ABSOLUTE_ZERO),
    _Read("ambient_temperature", "room_thermometer", "K", ("ambient_temperature",), origin=_ABSOLUTE_ZERO),
    _Read("winding_resistance", "ohmmeter", "ohm", ("winding_resistance",)),
    _Read("insulation_resistance", "insulation_tester", "ohm", ("insulation_resistance",)),
    _Read("torque", "torque_sensor", "N*m", ("torque",)),
)
#: The quantity of a load point that a meter reads by itself.
_OF_A_POINT = {
    "voltage": "voltage",
    "current": "current",
    "input_power": "input_power",
    "power_factor": "power_factor",
    "frequency": "frequency",
    "winding_temperature": "temperature",
    "torque": "torque",
}
_TACHOMETER = Message("instrument.tachometer")
_WATCH = _Read("time", "watch", "s", ("time",))


def meter_inputs(
    rig: Rig, tables: Iterable[Table], cooling: Table | None = None, *, steps: Mapping[str, float] | None = None
) -> Iterator[UncertainInput]:
    """The limits of error and the resolution of every meter that gave a column of a table.

    A watch counts in ``cooling`` only, the resistances read after switching off: elsewhere times are taken as exact.
    ``steps`` are the last digits as typed, by column [SI], for meters of which nothing is stated.
    """
    read_in = tuple(tables)
    for read in _METERS:
        yield from _meter(read, rig, read_in, steps or {})
    if cooling is not None:
        yield from _meter(_WATCH, rig, (cooling,), steps or {})


def _meter(read: _Read, rig: Rig, tables: tuple[Table, ...], steps: Mapping[str, float]) -> Iterator[UncertainInput]:
    columns = tuple(name for name in read.columns if any(_was_read(table, name) for table in tables))
    if not columns:
        return
    meter: Meter = getattr(rig.meters, read.key, None) or Meter()
    ordinary = _ordinary(read, columns, tables)
    stated = meter.reading is not None or meter.range is not None or meter.digits is not None
    if stated:
        yield replace(_limit_of_error(read, columns, meter), columns=frozenset(columns))
    else:
        yield from instrument_inputs(ordinary)
    if meter.resolution is not None:
        yield from _resolutions(read, columns, meter)
    elif not stated and read.key != _OF_THE_LOAD:
        yield from _assumed_resolutions(read, ordinary, tables, steps)


def _ordinary(read: _Read, columns: tuple[str, ...], tables: tuple[Table, ...]) -> AssumedInstrument:
    """A meter of which nothing is stated, or its resolution alone."""
    greatest = greatest_of(*(table.column(name) for table in tables for name in columns), origin=read.origin)
    to_state = Message("to_state.meter", meters=(f"meters.{read.key}",))
    return AssumedInstrument(read.kind, read.name, read.unit, columns, to_state, greatest, read.origin)


def _assumed_resolutions(
    read: _Read, ordinary: AssumedInstrument, tables: tuple[Table, ...], steps: Mapping[str, float]
) -> Iterator[UncertainInput]:
    for column in ordinary.columns:
        greatest = greatest_of(*(table.column(column) for table in tables), origin=read.origin)
        step = last_digit(read.kind, steps, column, greatest)
        if step > 0.0:
            made = ordinary.resolution(read.resolution_of(column), step, perturb_rows(column))
            yield replace(made, columns=frozenset({column}))


def _was_read(table: Table, name: str) -> bool:
    return bool(np.isfinite(table.column(name)).any())


def _limit_of_error(read: _Read, columns: tuple[str, ...], meter: Meter) -> UncertainInput:
    """A maker's limit is the sum of its parts, and the meter's own error some part of it, the same at every reading.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7, example 2: part of reading and part of range together are the half-width.
    """
    name = Message("input.part_of_limit", instrument=read.name)
    made = within(name, "1", 1.0, perturb_columns(columns, _by_part_of_limit(meter, read.origin)), shared=True)
    if read.key not in _OF_A_POINT or "wattmeter_1" in columns:
        return made  # the limits of two wattmeters are no limit of their sum

    def limit(reading: float) -> float:
        return float(limit_of_error(meter, np.array([reading]), read.origin)[0])

    return replace(made, of_reading=LimitOfReading(_OF_A_POINT[read.key], read.unit, limit, meter.full_scale))


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
    for column in columns:
        half = 0.5 * meter.resolution
        step = within(read.resolution_of(column), read.unit, half, perturb_rows(column), shared=False)
        yield replace(step, columns=frozenset({column}))


# Speed and supply frequency.


def speed_inputs(measured: Measured, steps: Mapping[str, float] | None = None) -> Iterator[UncertainInput]:
    """The tachometer: one pulse more or less in its counting time, and its limit of error.

    ``steps`` are the last digits as typed, by column [SI], for a tachometer of which nothing is stated.
    """
    tachometer = measured.rig.tachometer
    speed = measured.readings.load_test.column("speed")
    pulses, gate = tachometer.pulses_per_revolution, tachometer.gate
    if not np.isfinite(speed).any():
        return
    if pulses is not None and gate is not None:
        limit = pulse_limit(pulses, gate)
        yield within(Message("input.one_pulse"), "rad/s", limit, perturb_rows("speed", _where_it_turns), shared=False)
    if tachometer.tolerance is not None:
        perturb = perturb_columns(("speed",), _where_it_turns)
        name = Message("input.limit_of_error", instrument=_TACHOMETER)
        yield within(name, "rad/s", tachometer.tolerance, perturb, shared=True)
    elif pulses is None or gate is None:
        to_state = Message("to_state.tachometer" if pulses is None else "to_state.gate")
        yield from _hand_tachometer(speed, to_state, steps or {})


def _hand_tachometer(speed: Array, to_state: Message, steps: Mapping[str, float]) -> Iterator[UncertainInput]:
    """An ordinary one, at which a shaft at standstill is seen to stand."""
    greatest = greatest_of(speed)
    of = AssumedInstrument("tachometer", _TACHOMETER, "rad/s", ("speed",), to_state, greatest)
    for one in instrument_inputs(of):
        offset = one.unit != "1"
        yield replace(one, perturb=perturb_columns(("speed",), _where_it_turns)) if offset else one
    step = last_digit("tachometer", steps, "speed", greatest)
    if step > 0.0:
        name = Message("input.resolution", instrument=_TACHOMETER)
        yield of.resolution(name, step, perturb_rows("speed", _where_it_turns))


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


#: The kind of a supply whose frequency nobody measured, by what the job says of it; the public grid otherwise.
PUBLIC_GRID = "public_grid"
_SUPPLIES = {"generator": "generator", "converter": "converter"}


def frequency_inputs(job: Job, measured: Measured) -> Iterator[UncertainInput]:
    """A supply frequency that was not measured, where slip rests on it; a measured one is its meter's matter."""
    column = measured.readings.load_test.column("frequency")
    used, basis = supply_frequency(job, column)
    if job.motor.type not in INDUCTION or not basis or np.isfinite(column).any():
        return
    value = float(used[0])
    name, perturb = Message("input.supply_frequency"), _perturb_frequency(used)
    spread = job.conditions.spreads.get("supply_frequency") if job.conditions.supply_frequency is not None else None
    stated = None if spread is None else toleranced(name, "Hz", spread, perturb)
    kind = _SUPPLIES.get(job.conditions.supply or "", PUBLIC_GRID)
    yield stated or assumed_input(
        name, "Hz", float(assumed_accuracy(kind).limit(value, 0.0)), perturb, kind=kind, estimate=value,
        to_state=Message("to_state.supply_frequency"),
    )  # fmt: skip


def _perturb_frequency(used: Array) -> Perturbation:
    def perturb(measured: Measured, error: float | Array) -> Measured:
        if not np.any(error):
            return measured
        rows = measured.readings.load_test.rows
        return with_column(measured, "frequency", np.full(rows, used[0]) + error)

    return perturb


# The scatter behind the means of a log: the uncertainty of each plateau's mean of each column.


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
        Message("input.scatter_of_means", column=name.replace("_", " ")),
        si_unit(name, scale_reads=measured.rig.scale.reads if measured.rig.scale is not None else "mass"),
        typical,
        _perturbed_rows(name, parts),
        shared=False,
        step=typical,
        degrees_of_freedom=float(found.degrees_of_freedom.min()),
        distribution="normal",
        row_freedom=found.degrees_of_freedom,
    )


def _perturbed_rows(name: str, parts: Array) -> Perturbation:
    """An error of the typical size moves each row in proportion to how unsure its mean is."""
    return perturb_rows(name, lambda values, error: values + error * parts)


# The points of a sweep, besides its instruments: scatter about the low-pass, and the inertia.


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
                Message("input.scatter_of_sweep", column=words),
                "1",
                1.0,
                perturb_rows(name, _scattered(known)),
                shared=False,
                step=1.0,
                distribution="normal",
            )
    if measured.rig.inertia is not None:
        to_state = Message("to_state.rig_tolerance", part="inertia")
        perturb = perturb_rig("inertia", "value")
        yield _inertia(Message("input.inertia_of_rig"), measured.rig.inertia, perturb, to_state)
    if sweep.rotor_inertia is not None:
        to_state = Message("to_state.rotor_inertia")
        yield _inertia(Message("input.inertia_of_rotor"), sweep.rotor_inertia, _heavier_rotor, to_state)


def _inertia(name: Message, value: Toleranced, perturb: Perturbation, to_state: Message) -> UncertainInput:
    limit = float(assumed_accuracy("inertia").limit(value.value, 0.0))
    assumption = Message("assumed.input", what=name, limits=(limit_in_words(limit / value.value, "1"),))
    return toleranced(name, "kg*m^2", value, perturb) or assumed_input(
        name, "kg*m^2", limit, perturb, kind="inertia", to_state=to_state, estimate=value.value, assumption=assumption
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


# The list of everything that makes the readings of one test uncertain.


def uncertain_inputs(job: Job, measured: Measured) -> tuple[UncertainInput, ...]:
    """Every source of uncertainty of the readings of a test, each with its standard uncertainty.

    Parameters
    ----------
    job : Job
        Kind of motor, plate and conditions. [SI]
    measured : Measured
        Rig, readings and gravity. [SI]

    Returns
    -------
    tuple of UncertainInput
        One for each source, names all different. What the files say nothing of is taken as ordinary of its kind, and
        says so.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2 and 4.3: type A and type B evaluation.
    """
    return tuple(_inputs(job, measured))


def _inputs(job: Job, measured: Measured) -> Iterator[UncertainInput]:
    yield from lever_inputs(measured, _gravity(job))
    steps = typed_steps(job)
    yield from scale_inputs(measured, steps)
    yield from speed_inputs(measured, steps)
    tables = every_table(job, measured.readings)
    yield from meter_inputs(measured.rig, tables.values(), tables.get(COOLING), steps=steps)
    yield from frequency_inputs(job, measured)
    yield from sweep_inputs(measured)
    yield from mean_inputs(measured)


def _gravity(job: Job) -> Toleranced | None:
    stated = job.conditions.local_gravity
    return None if stated is None else job.conditions.spreads.get("local_gravity", Toleranced(stated))
