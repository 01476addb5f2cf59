"""One load test reduced: torque, speed and power of every row, the load curve, and the points at the rating."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics import electrics
from certgen.physics.domain import Array, Index, Mask
from certgen.readings.model import Readings, SweptRows, Table
from certgen.reduction import load_curve
from certgen.reduction.electrical import ElectricalInput, apparent_power, electrical_input
from certgen.reduction.heat import held_runs
from certgen.reduction.load_curve import CLEAR_DROP, torque_speed_of
from certgen.reduction.load_directions import branch_curves, find_sweeps
from certgen.reduction.load_points import is_without_load, lightest_index, load_points
from certgen.reduction.locked_rotor import locked_rotor_of
from certgen.reduction.log.model import ReducedLog
from certgen.reduction.log.spans import load_at_span, meters_at_full_scale
from certgen.reduction.model import (
    LoadPoints,
    OperatingPoint,
    Poles,
    Reduction,
    RunDownFound,
    RunDownMissing,
    SweepFound,
    TorqueAtSpeed,
    TorqueSpeed,
)
from certgen.reduction.speed import find_poles, shaft_speeds, shaft_synchronous_speed, supply_frequency
from certgen.reduction.torque import shaft_torque
from certgen.reduction.uncertainty.inputs import uncertain_inputs
from certgen.reduction.uncertainty.model import Measured
from certgen.reduction.uncertainty.propagation import Fitted, RowErrors, propagate, row_errors
from certgen.reduction.uncertainty.repeats import originals, repeat_inputs, repeated_rows, torque_scatter
from certgen.reduction.uncertainty.winding_errors import every_table

#: What the remark of a row says of a brake that was off but coupled, with any absorber.
BRAKE_OFF = "brake off"


def reduce_test(job: Job, rig: Rig, readings: Readings) -> Reduction:
    """Compute everything one load test says before it is judged.

    Parameters
    ----------
    job : Job
        Motor, nameplate and conditions. [SI]
    rig : Rig
        The bench. [SI]
    readings : Readings
        The tables. [SI]

    Returns
    -------
    Reduction
        Points, curve and operating points. [SI]
    """
    log = _reduced_log(job, rig, readings)
    if log is not None:
        readings = log.readings
    at_span = load_at_span(readings.load_test, rig)
    readings, at_full_scale = _without_full_scale(readings, rig, log)
    table = readings.load_test
    measured = Measured(rig, readings, job.conditions.local_gravity)
    torque = shaft_torque(readings, rig, job.conditions.local_gravity)
    speed, absorber_speed = shaft_speeds(table.column("speed"), rig)
    frequency, frequency_basis = supply_frequency(job, table.column("frequency"))
    lightest = lightest_index(torque.at_shaft)
    light_speed = math.nan if lightest is None else float(speed[lightest])
    poles = find_poles(job, light_speed, _mean(frequency))
    points = measured_points(measured, job, poles)
    of_rows, scatter = _errors_of_rows(job, measured, points, poles)
    sweeps = find_sweeps(points, scatter)
    fitted = originals(table, np.arange(points.count) if sweeps is None else sweeps.downward)
    running = fitted[_runs(points, job)[fitted]]
    curve = load_curve.fit_load_curve(points, derivation(job, poles), rows=running, scatter=scatter)
    drawn = None if curve is None else load_curve.drawn_curve(curve)
    operating = _operating_points(job, curve)
    return Reduction(
        log=log,
        load_at_span=at_span,
        at_full_scale=at_full_scale,
        points=points,
        absorber_torque=torque.at_absorber,
        absorber_speed=absorber_speed,
        scale_indication=torque.scale_indication,
        brake_current=excitation_of_brake(table),
        meter_power_factor=table.column("power_factor"),
        poles=poles,
        synchronous_speed=_rated_synchronous_speed(poles, frequency, job),
        frequency_basis=frequency_basis,
        operating=operating,
        curve=drawn,
        torque_speed=None if curve is None or drawn is None else load_curve.torque_over_speed(points, curve, drawn),
        no_load_point=_no_load_point(points, lightest),
        peak=None if curve is None else _peak(points, curve),
        curve_missing=_why_no_curve(points) if curve is None else None,
        held_runs=held_runs(job, rig, readings, points, drawn),
        sweeps=sweeps,
        branches=() if sweeps is None else branch_curves(points, sweeps, derivation(job, poles), scatter),
        locked_rotor=locked_rotor_of(job, rig, readings, points),
        extremes=_extremes(
            job, points, fitted, sweep=readings.sweep, reached_span=_reached_span(at_span, log, readings)
        ),
        sweep=_sweep(measured),
        run_down=_run_down(job, rig, readings),
        uncertainties=propagate(
            of_rows, None if curve is None else Fitted(curve, operating), tables=every_table(job, readings)
        ),
    )


# Logs, sweeps and run-downs are rare, and what reduces them is much: it is loaded with the first of them.


def _reduced_log(job: Job, rig: Rig, readings: Readings) -> ReducedLog | None:
    """The load test as one row a plateau, where the job says that it is a log."""
    if job.readings is None or job.readings.load_test is None or job.readings.load_test.steady is None:
        return None
    from certgen.reduction.log.reduce import reduced_log

    return reduced_log(job, rig, readings)


def _sweep(measured: Measured) -> SweepFound | None:
    """Speed, inertia and agreement of a sweep, where the load test is one."""
    if measured.readings.sweep is None:
        return None
    from certgen.reduction.sweep import sweep_found

    return sweep_found(measured)


def _run_down(job: Job, rig: Rig, readings: Readings) -> RunDownFound | RunDownMissing | None:
    """Friction and inertia by the run-down tables, where there is one."""
    if "run_down" not in readings.others:
        return None
    from certgen.reduction.run_down import run_down_of

    return run_down_of(job, rig, readings)


def excitation_of_brake(table: Table) -> Array:
    """Current that excites the brake [A]; none in a row of which the remark says that the brake was off."""
    off = np.array([BRAKE_OFF in str(remark).casefold() for remark in table.remarks], dtype=bool)
    return np.where(off, 0.0, table.column("brake_current")) if off.any() else table.column("brake_current")


def _without_full_scale(
    readings: Readings, rig: Rig, log: ReducedLog | None
) -> tuple[Readings, tuple[tuple[str, int], ...]]:
    """The readings without those of meters that stood at full scale, and where these stood: column and row."""
    of_log = () if log is None else log.plateaus
    found = [(name, row) for row, plateau in enumerate(of_log) for name in plateau.at_full_scale]
    columns = dict(readings.load_test.columns)
    for name, at_end in meters_at_full_scale(columns, rig).items():
        columns[name] = np.where(at_end, np.nan, columns[name])
        found += [(name, int(row)) for row in np.flatnonzero(at_end)]
    if not found:
        return readings, ()
    return replace(readings, load_test=replace(readings.load_test, columns=columns)), tuple(found)


def _errors_of_rows(job: Job, measured: Measured, points: LoadPoints, poles: Poles) -> tuple[RowErrors, Array]:
    """The rows with their errors, and the standard uncertainty of each torque against those of other rows. [N*m]

    The points of a sweep are means about speeds of its own choosing, none of them a load read again.
    """

    def points_of(perturbed: Measured) -> LoadPoints:
        return measured_points(perturbed, job, poles)

    inputs = uncertain_inputs(job, measured) if points.count else ()
    of_rows = row_errors(measured, inputs, points, points_of)
    if measured.readings.sweep is not None:
        return of_rows, np.zeros(points.count)
    rows = originals(measured.readings.load_test, np.flatnonzero(_runs(points, job)))
    scatter = torque_scatter(of_rows, rows)
    repeats = tuple(repeat_inputs(of_rows, repeated_rows(points, scatter, rows)))
    if not repeats:
        return of_rows, scatter
    of_rows = row_errors(measured, (*inputs, *repeats), points, points_of)
    return of_rows, torque_scatter(of_rows, rows)


def _reached_span(at_span: Mask, log: ReducedLog | None, readings: Readings) -> bool:
    """Whether the load went, in any row, beyond what scale or sensor can show."""
    of_log = (log is not None and log.reached_span) or (readings.sweep is not None and readings.sweep.reached_span)
    return of_log or bool(at_span.any())


def _extremes(
    job: Job, points: LoadPoints, fitted: Index, *, sweep: SweptRows | None, reached_span: bool
) -> TorqueSpeed | None:
    """Breakdown and pull-up torque; none beside speeds that were left out of a sweep.

    No breakdown, either, where the load went beyond what scale or sensor can show.
    """
    if job.motor.type not in INDUCTION:
        return None
    extremes = torque_speed_of(points.chosen(fitted))
    if extremes is None:
        return None
    summit = extremes.summit
    if summit is not None:
        extremes = replace(extremes, summit=replace(summit, rows=fitted[summit.rows]))
    if reached_span:
        extremes = replace(extremes, breakdown=None, summit=None)
    if sweep is None or sweep.beside_gap is None or sweep.beside_gap.size != points.count:
        return extremes
    beside = points.speed[sweep.beside_gap]
    if _is_at_one_of(beside, extremes.breakdown):
        extremes = replace(extremes, breakdown=None, summit=None)
    return replace(extremes, pull_up=None) if _is_at_one_of(beside, extremes.pull_up) else extremes


def _is_at_one_of(speeds: Array, extreme: TorqueAtSpeed | None) -> bool:
    return extreme is not None and bool(np.isin(extreme.speed, speeds))


def measured_points(measured: Measured, job: Job, poles: Poles) -> LoadPoints:
    """Load points of the rows of a load test.

    Parameters
    ----------
    measured : Measured
        Rig, readings and gravity. [SI]
    job : Job
        Motor, nameplate and conditions. [SI]
    poles : Poles
        Number of poles, as found for the test.

    Returns
    -------
    LoadPoints
        One point a row. [SI]
    """
    table = measured.readings.load_test
    speed, _ = shaft_speeds(table.column("speed"), measured.rig)
    frequency, _ = supply_frequency(job, table.column("frequency"))
    return load_points(
        speed=speed,
        torque=shaft_torque(measured.readings, measured.rig, measured.local_gravity).at_shaft,
        electrical=electrical_input(table, job.motor.type),
        synchronous_speed=shaft_synchronous_speed(poles, frequency, job),
        frequency=frequency,
        temperature=table.column("winding_temperature"),
        time=table.column("time"),
        remarks=tuple(table.remarks),
    )


def _runs(points: LoadPoints, job: Job) -> Mask:
    """Which points may be of the load curve: an induction motor at standstill is on another branch."""
    return points.speed > 0.0 if job.motor.type in INDUCTION else np.ones(points.count, dtype=bool)


def _no_load_point(points: LoadPoints, lightest: int | None) -> LoadPoints | None:
    if lightest is None or not is_without_load(points.torque, lightest):
        return None
    return points.chosen(np.array([lightest]))


def derivation(job: Job, poles: Poles) -> load_curve.Derive:
    """How a point read off the curve gets the quantities that follow from the interpolated ones."""

    def derive(torque: Array, primary: Mapping[str, Array]) -> LoadPoints:
        voltage, current, active = primary["voltage"], primary["current"], primary["input_power"]
        apparent = apparent_power(voltage, current, job.motor.type)
        measured = np.asarray(electrics.power_factor(active, apparent))
        nothing = np.full(torque.shape, np.nan)
        factor = np.where(np.isfinite(measured), measured, primary["power_factor"])
        electrical = ElectricalInput(voltage, current, active, apparent, factor, nothing, nothing)
        return load_points(
            speed=primary["speed"],
            torque=torque,
            electrical=electrical,
            synchronous_speed=shaft_synchronous_speed(poles, primary["frequency"], job),
            frequency=primary["frequency"],
            temperature=primary["temperature"],
            time=nothing,
            remarks=("",) * torque.size,
        )

    return derive


def _rated_synchronous_speed(poles: Poles, frequency: Array, job: Job) -> float:
    return float(shaft_synchronous_speed(poles, np.array([_mean(frequency)]), job)[0])


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if np.isfinite(values).any() else math.nan


def _operating_points(job: Job, curve: load_curve.LoadCurve | None) -> dict[str, OperatingPoint | None]:
    plate = job.nameplate
    raised = plate.power * plate.service_factor if plate.power and plate.service_factor else None
    wanted = {
        "at_rated_current": plate.current,
        "at_rated_power": plate.power,
        "at_service_factor": raised,
        "at_rated_speed": plate.speed,
    }
    if curve is None:
        return dict.fromkeys(wanted)
    return {name: load_curve.read_off(curve, load_curve.READ_OFF_BY[name], value) for name, value in wanted.items()}


def _peak(points: LoadPoints, curve: load_curve.LoadCurve) -> LoadPoints | None:
    """The greatest shaft power, if lighter and clearly slower points both gave less.

    The same load held on a warming motor gives a little less too, and is no end of the motor's power.
    """
    drawn = load_curve.drawn_curve(curve, 400)
    summit = int(np.nanargmax(drawn.shaft_power))
    slower = (points.speed > 0.0) & (points.speed <= (1.0 - CLEAR_DROP) * drawn.speed[summit])
    slower_and_weaker = slower & (points.shaft_power < drawn.shaft_power[summit])
    if summit == 0 or not slower_and_weaker.any():
        return None
    return drawn.chosen(np.array([summit]))


def _why_no_curve(points: LoadPoints) -> Message:
    usable = int(np.unique(points.torque[np.isfinite(points.torque) & ~points.impossible]).size)
    if points.count == 1:
        return Message("curve.one_point")
    if usable >= load_curve.LEAST_POINTS:
        return Message("curve.few_torques")
    impossible = int(points.impossible.sum())
    if impossible:
        return Message("curve.few_points_and_impossible", count=usable, impossible=impossible)
    return Message("curve.few_points", count=usable)
