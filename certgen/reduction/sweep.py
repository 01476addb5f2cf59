"""A log of runs through the torque-speed curve made into load points at spaced speeds, and how far its runs agree."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from certgen.document.build import Toleranced
from certgen.errors import RefusedTest
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.physics.domain import Array, Mask
from certgen.physics.smoothing import Smoothed, averaged, smooth, width_of
from certgen.physics.uncertainty import half_width_to_standard
from certgen.readings.model import ACCELERATION, Readings, Runs, SweptRows, Table, Zero
from certgen.reduction.log.model import LeftOut, Reason, Reasons, listed, marked
from certgen.reduction.log.reduce import signals_of
from certgen.reduction.log.spans import spans_of, without_overloads
from certgen.reduction.log.swept_samples import mark_swept_samples
from certgen.reduction.model import SweepFound, SweepGap
from certgen.reduction.speed import shaft_speeds
from certgen.reduction.torque import rig_at_shaft, rotor_at_shaft, shaft_torque, table_torque, zero_drift
from certgen.reduction.uncertainty.model import Measured

# The runs of a log through the speeds, down and up again, and the times at which each passes a speed.


#: A run goes through at least this part of the range of speeds; smaller turns are hunting. Common practice, no source.
LEAST_RUN = 0.2
#: ... and through at least this part of the highest speed; less is no sweep. Common practice, no source.
LEAST_SPAN = 0.02


@dataclass(frozen=True, eq=False)
class Run:
    """Part of a smoothed log in which the speed goes one way: times [s] and speeds [rad/s], shape (n,).

    Only instants at which the speed went further than ever before in the run are kept, so that speeds are strictly
    falling or strictly rising.
    """

    time: Array
    speed: Array

    @property
    def falls(self) -> bool:
        """Whether the speed falls in this run."""
        return bool(self.speed[-1] < self.speed[0])

    @property
    def span(self) -> float:
        """Range of its speeds [rad/s]."""
        return float(abs(self.speed[-1] - self.speed[0]))

    def time_at(self, speed: Array) -> Array:
        """When the run passes speeds of shape (m,) [rad/s]; ``nan`` where it does not. [s]"""
        sign = -1.0 if self.falls else 1.0
        inner = np.interp(sign * speed, sign * self.speed, self.time, left=np.nan, right=np.nan)
        return np.asarray(inner)


def find_runs(time: Array, speed: Array) -> tuple[Run, ...]:
    """The runs of a smoothed log, in order.

    Parameters
    ----------
    time : array, shape (n,)
        Times, rising. [s]
    speed : array, shape (n,)
        Smoothed speeds, ``nan`` where there is none. [rad/s]

    Returns
    -------
    tuple of Run
        Between turning points of the speed; a turn of less than a fifth of the whole range, or than a fiftieth of the
        highest speed, is none.
    """
    known = np.isfinite(speed)
    time, speed = time[known], speed[known]
    if speed.size < 2:
        return ()
    least = max(LEAST_RUN * float(np.ptp(speed)), LEAST_SPAN * float(speed.max()))
    ends = _turning_points(speed, least) if least > 0.0 else [0]
    runs = [_monotonic_run(time[a : b + 1], speed[a : b + 1]) for a, b in itertools.pairwise(ends)]
    return tuple(run for run in runs if run.span >= least)


def _turning_points(speed: Array, least: float) -> list[int]:
    """Indices of the ends and of each extreme from which the speed comes back by at least ``least``."""
    turns = []
    low = high = 0
    wanted = 0  # 1: coming up to a maximum; -1: going down to a minimum; 0: not known yet
    for index, value in enumerate(speed):
        if value > speed[high]:
            high = index
        if value < speed[low]:
            low = index
        if wanted >= 0 and speed[high] - value >= least:
            turns.append(high)
            low, wanted = index, -1
        elif wanted <= 0 and value - speed[low] >= least:
            turns.append(low)
            high, wanted = index, 1
    last = low if wanted < 0 else high
    return [*turns, last] if turns and last > turns[-1] else turns


def _monotonic_run(time: Array, speed: Array) -> Run:
    sign = -1.0 if speed[-1] < speed[0] else 1.0
    furthest = np.maximum.accumulate(sign * speed)
    new = np.concatenate(([True], np.diff(furthest) > 0.0))
    return Run(time[new], speed[new])


# A log of runs through the torque-speed curve made into load points at spaced speeds.


#: Steps of the smoothed log, in widths of the low-pass.
_STEP = 0.5
#: Most steps of the smoothed log; a log that is longer than its bandwidth needs is looked at more coarsely.
_MOST_STEPS = 20_000
#: Below this part of the highest speed a tachometer loses its pulses and the shaft may stand. Common practice, no source.
_LOWEST = 0.02
#: The greatest and the least torque of the curve replace a spaced point nearer than this part of the range of speeds.
_NEAR = 0.01
_TORQUE_COLUMNS = ("scale", "scale_2", "torque")


@dataclass(frozen=True, eq=False)
class _Log:
    """The rows of the log, their zero drift taken out, and how they are smoothed."""

    table: Table
    bandwidth: float

    @property
    def time(self) -> Array:
        return self.table.column("time")

    def smoothed(self, name: str, at: Array) -> Smoothed:
        return smooth(self.time, self.table.column(name), at, self.bandwidth)

    def at(self, times: Array, names: Sequence[str]) -> tuple[dict[str, Array], dict[str, Array]]:
        """Columns at some times, with the rate of change of the speed, and their standard deviations."""
        values, deviations = {}, {}
        for name in names:
            smoothed = self.smoothed(name, times)
            values[name], deviations[name] = smoothed.value, smoothed.value_deviation
            if name == "speed":
                values[ACCELERATION], deviations[ACCELERATION] = smoothed.slope, smoothed.slope_deviation
        return values, deviations


def points_of_sweep(job: Job, rig: Rig, readings: Readings) -> Readings:
    """The readings with a load test of spaced points, where it was read as a sweep; else as they are.

    Parameters
    ----------
    job : Job
        Says whether the load test is a sweep, with which bandwidth and how many points. [SI]
    rig : Rig
        The bench. [SI]
    readings : Readings
        The log. [SI]

    Returns
    -------
    Readings
        One row a point, from the highest speed down, each the mean of the runs with falling and with rising speed.

    Raises
    ------
    RefusedTest
        The log holds no run through speeds.

    Notes
    -----
    All columns go through the same low-pass, so that they are in step. The points are spaced evenly along the curve of
    the longest run, torque and speed each over its range, with its greatest torque and the least one below it. Where runs go
    both ways, an error of the inertia and a lag of the scale enter them with opposite signs, and less into their mean.

    References
    ----------
    See :func:`certgen.physics.smoothing.smooth`. Averaging of both directions: common practice, no source.
    """
    source = job.readings.load_test
    if source is None or source.sweep is None:
        return readings
    load_test, over = without_overloads(readings.load_test, rig)
    why, times = mark_swept_samples(signals_of(load_test, rig), spans_of(rig), over), load_test.column("time")
    readings = _without_drift(replace(readings, load_test=_without_faults(load_test, why)))
    log = _log(readings.load_test, source.sweep.bandwidth)
    names = [name for name in log.table.columns if name != "time"]
    runs = _runs(log)
    at_span = bool(marked(why, Reason.FULL_SPAN).any())
    swept = SweptRows(log.bandwidth, {}, None, None, rotor_at_shaft(job), at_span, reasons=why, times=times)
    frame = replace(readings, sweep=swept)
    levels = _spaced(log, max(runs, key=lambda run: run.span), frame, rig, source.sweep.points)
    ways = [_one_way(log, [run for run in runs if run.falls is falls], levels, names) for falls in (True, False)]
    known = [way for way in ways if way is not None]
    if not known:
        raise _no_sweep("no run lies far enough within the log to be smoothed")
    columns = _mean([way.columns for way in known])
    deviations = _deviation_of_mean([way.deviations for way in known])
    used = np.isfinite(columns["speed"]) & np.isfinite(
        sum(columns[name] for name in _TORQUE_COLUMNS if name in columns)
    )
    falling, rising = (_kept(way, used) for way in ways)
    if not used.any():
        raise _no_sweep("no speed was passed with torque and speed read often enough")
    table = Table({name: values[used] for name, values in columns.items()}, ("",) * int(used.sum()))
    scatter = {name: values[used] for name, values in deviations.items()}
    swept = replace(swept, deviations=scatter, falling=falling, rising=rising, beside_gap=_beside_gap(used))
    return replace(frame, load_test=table, sweep=swept)


def _without_faults(table: Table, why: Reasons) -> Table:
    """The rows with ``nan`` where a sample is left out; nothing is filled in, and the low-pass leaves a gap there."""
    if not why.any():
        return table
    columns = {
        name: values if name == "time" else np.where(why != 0, np.nan, values) for name, values in table.columns.items()
    }
    return Table(columns, table.remarks)


def _beside_gap(used: Mask) -> Mask:
    """Which of the used levels have an unused one between them and the next used one: shape (m,)."""
    rows = np.flatnonzero(used)
    apart = np.diff(rows) > 1
    return np.concatenate((apart, [False])) | np.concatenate(([False], apart))


def _log(table: Table, bandwidth: float) -> _Log:
    columns = averaged(table.column("time"), table.columns, bandwidth)
    return _Log(Table(columns, ("",) * columns["time"].size), bandwidth)


def _no_sweep(why: str) -> RefusedTest:
    return RefusedTest(
        f"the log of the load test holds no sweep: {why}; let it begin and end with the speed steady, and sweep slowly "
        "enough for the bandwidth, or leave 'sweep' out."
    )


def _without_drift(readings: Readings) -> Readings:
    """The zero's drift is one of time, which spaced points have none of: it is taken out of the log."""
    table, time = readings.load_test, readings.load_test.column("time")
    columns = dict(table.columns)
    zeros: dict[str, Any] = {}
    for which, names in (("zero", ("scale", "torque")), ("zero_2", ("scale_2",))):
        drift = zero_drift(getattr(readings, which), table.rows, time)
        if drift is None:
            continue
        middle = float(np.mean(drift))
        columns.update({name: columns[name] - (drift - middle) for name in names if name in columns})
        zero: Zero = getattr(readings, which)
        zeros[which] = Zero(middle if zero.before is not None else None, middle if zero.after is not None else None)
    return replace(readings, load_test=replace(table, columns=columns), **zeros)


def _runs(log: _Log) -> tuple[Run, ...]:
    length = float(np.ptp(log.time))
    step = max(_STEP * width_of(log.bandwidth), length / _MOST_STEPS)
    times = log.time[0] + step * np.arange(int(length / step) + 1)
    runs = find_runs(times, log.smoothed("speed", times).value)
    if not runs:
        raise _no_sweep("the speed does not go from one end to another")
    return runs


def _spaced(log: _Log, run: Run, frame: Readings, rig: Rig, count: int) -> Array:
    """Speeds [as read] evenly along the curve of a run, with its summit and the dip below, from the highest down."""
    names = [name for name in ("speed", *_TORQUE_COLUMNS) if name in log.table.columns]
    values, _ = log.at(run.time, names)
    track = replace(frame, load_test=Table(values, ("",) * run.time.size))
    torques = shaft_torque(track, rig, None)
    torque = torques.at_shaft if np.isfinite(torques.at_shaft).any() else torques.at_absorber
    used = np.isfinite(torque) & np.isfinite(values["speed"]) & (run.speed > _LOWEST * float(run.speed.max()))
    if np.count_nonzero(used) < 2:
        raise _no_sweep("torque and speed are not read often enough in its longest run")
    order = np.argsort(-run.speed[used])
    speed, height = run.speed[used][order], torque[used][order]
    ranges = float(np.ptp(speed)), float(np.ptp(height)) or 1.0
    along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(speed) / ranges[0], np.diff(height) / ranges[1]))))
    levels = np.interp(np.linspace(0.0, along[-1], count), along, speed)
    summit = int(np.argmax(height))
    for extreme in (summit, summit + int(np.argmin(height[summit:]))):
        far = np.abs(levels - speed[extreme]) > _NEAR * ranges[0]
        levels = np.append(levels[far], speed[extreme])
    return np.sort(levels)[::-1]


def _one_way(log: _Log, runs: list[Run], levels: Array, names: list[str]) -> Runs | None:
    """The mean of the runs of one direction at some speeds; ``None`` where there are none."""
    if not runs:
        return None
    columns_of_runs = [log.at(run.time_at(levels), names) for run in runs]
    columns = _mean([values for values, _ in columns_of_runs])
    deviations = _deviation_of_mean([values for _, values in columns_of_runs])
    return Runs(columns, deviations, len(runs))


def _mean(parts: Sequence[Mapping[str, Array]]) -> dict[str, Array]:
    """Means by row of those parts that are known."""
    return _by_count(parts, lambda known: np.asarray(known.sum(axis=0)))


def _deviation_of_mean(parts: Sequence[Mapping[str, Array]]) -> dict[str, Array]:
    """Standard deviations by row of the mean of those parts that are known, from the deviation of each."""
    return _by_count(parts, lambda known: np.asarray(np.sqrt((known**2).sum(axis=0))))


def _by_count(parts: Sequence[Mapping[str, Array]], total: Callable[[Array], Array]) -> dict[str, Array]:
    """A total over parts (first axis; zero where one is not known), divided by how many are known in each row."""
    found = {}
    for name in parts[0]:
        stack = np.array([part[name] for part in parts])
        known = np.isfinite(stack)
        count = known.sum(axis=0)
        found[name] = np.where(count > 0, total(np.where(known, stack, 0.0)) / np.maximum(count, 1), np.nan)
    return found


def _kept(way: Runs | None, used: Mask) -> Runs | None:
    if way is None:
        return None
    columns, deviations = ({name: values[used] for name, values in of.items()} for of in (way.columns, way.deviations))
    return replace(way, columns=columns, deviations=deviations)


# How fast a sweep was, what its inertia amounts to, and whether its runs down and up agree.


#: Speeds passed both ways that it takes to tell an inertia.
_LEAST_SPEEDS = 3
_TORQUE_INPUTS = ("scale", "scale_2", "torque", ACCELERATION)


def sweep_found(measured: Measured) -> SweepFound | None:
    """Speed, inertia and agreement of a sweep; ``None`` where the load test is none.

    Parameters
    ----------
    measured : Measured
        Rig, readings with the points of a sweep, gravity. [SI]

    Returns
    -------
    SweepFound or None
        Where no inertia is stated the gap is that of the torques at the absorber, and gives the inertia all the same.
    """
    sweep = measured.readings.sweep
    if sweep is None:
        return None
    ways = [way for way in (sweep.falling, sweep.rising) if way is not None]
    fastest = max(float(np.nanmax(np.abs(_acceleration(way, measured)))) for way in ways)
    rig_inertia = rig_at_shaft(measured.rig)
    rotor = 0.0 if sweep.rotor_inertia is None else sweep.rotor_inertia.value
    total = None if rig_inertia is None else rig_inertia.value + rotor
    return SweepFound(
        bandwidth=sweep.bandwidth,
        falling_runs=0 if sweep.falling is None else sweep.falling.count,
        rising_runs=0 if sweep.rising is None else sweep.rising.count,
        greatest_acceleration=fastest,
        inertia=total,
        rotor_included=sweep.rotor_inertia is not None,
        inertia_torque=None if total is None else total * fastest,
        gap=_gap(sweep, measured, total),
        left_out=_left_out(sweep),
    )


def _left_out(sweep: SweptRows) -> tuple[LeftOut, ...]:
    if sweep.reasons is None or sweep.times is None:
        return ()
    return listed(sweep.reasons, sweep.times, width_of(sweep.bandwidth))


def _acceleration(way: Runs, measured: Measured) -> Array:
    return shaft_speeds(way.columns[ACCELERATION], measured.rig)[0]


def _gap(sweep: SweptRows, measured: Measured, total: float | None) -> SweepGap | None:
    if sweep.falling is None or sweep.rising is None:
        return None
    torques = [_torque(way, measured, total) for way in (sweep.falling, sweep.rising)]
    rates = [_acceleration(way, measured) for way in (sweep.falling, sweep.rising)]
    speed = shaft_speeds(measured.readings.load_test.column("speed"), measured.rig)[0]
    apart, faster = torques[0] - torques[1], rates[0] - rates[1]
    known = np.isfinite(apart) & np.isfinite(faster)
    if np.count_nonzero(known) < _LEAST_SPEEDS:
        return None
    scatter = np.hypot(*(_scatter(way, measured, total) for way in (sweep.falling, sweep.rising)))
    widest = int(np.nanargmax(np.where(known, np.abs(apart), np.nan)))
    size = float(faster[known] @ faster[known])
    missing = -float(apart[known] @ faster[known]) / size if size > 0.0 else math.nan
    closing_deviation = (
        math.sqrt(float((faster[known] ** 2) @ (scatter[known] ** 2))) / size if size > 0.0 else math.nan
    )
    of_inertia = _inertia_deviation(sweep, measured) * float(faster[widest])
    currents = [way.columns.get("current", np.full(speed.size, np.nan)) for way in (sweep.falling, sweep.rising)]
    return SweepGap(
        speed=float(speed[widest]),
        falling=float(torques[0][widest]),
        rising=float(torques[1][widest]),
        falling_current=float(currents[0][widest]),
        rising_current=float(currents[1][widest]),
        deviation=math.hypot(float(scatter[widest]), of_inertia),
        closing_inertia=(total or 0.0) + missing,
        closing_deviation=closing_deviation,
    )


def _torque(way: Runs, measured: Measured, total: float | None) -> Array:
    """At the judged shaft; without the masses' part where the rig states no inertia."""
    table = Table(way.columns, ("",) * measured.readings.load_test.rows)
    readings = replace(measured.readings, load_test=table)
    return _at_shaft(readings, measured, total)


def _at_shaft(readings: Readings, measured: Measured, total: float | None) -> Array:
    if total is None:
        zeros = (readings.zero, readings.zero_2)
        return table_torque(readings.load_test, zeros, measured.rig, measured.local_gravity).at_shaft
    return shaft_torque(readings, measured.rig, measured.local_gravity).at_shaft


def _scatter(way: Runs, measured: Measured, total: float | None) -> Array:
    """Standard deviation of the torque of one direction by the scatter of what it is made of. [N*m]"""
    nominal = _torque(way, measured, total)
    squares = np.zeros(nominal.shape)
    for name in _TORQUE_INPUTS:
        if name in way.columns:
            moved = {**way.columns, name: way.columns[name] + way.deviations[name]}
            squares += (_torque(replace(way, columns=moved), measured, total) - nominal) ** 2
    return np.asarray(np.sqrt(squares))


def _inertia_deviation(sweep: SweptRows, measured: Measured) -> float:
    """Standard uncertainty of the inertia allowed for, as far as it is stated. [kg*m^2]"""
    return math.hypot(*(_standard(inertia) for inertia in (rig_at_shaft(measured.rig), sweep.rotor_inertia)))


def _standard(value: Toleranced | None) -> float:
    if value is None:
        return 0.0
    if value.tolerance is not None:
        return float(half_width_to_standard(value.tolerance, "rectangular"))
    stated = value.expanded_uncertainty
    return 0.0 if stated is None else float(half_width_to_standard(stated, "normal"))
