"""A log of runs through the torque-speed curve made into load points at spaced speeds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from certgen.errors import RefusedTest
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.physics.smoothing import Smoothed, averaged, smooth, width_of
from certgen.readings.model import Readings, Table, Zero
from certgen.readings.swept import ACCELERATION, Runs, SweptRows
from certgen.reduction.inertia import rotor_at_shaft
from certgen.reduction.sweep_runs import Run, find_runs
from certgen.reduction.torque import shaft_torque, zero_drift

Array = NDArray[np.float64]

#: Steps of the smoothed log, in widths of the low-pass.
_STEP = 0.5
#: Most steps of the smoothed log; a log that is longer than its bandwidth needs is looked at more coarsely.
_MOST_STEPS = 20_000
#: Below this part of the highest speed a tachometer loses its pulses and the shaft may stand. Common practice, no source.
_LOWEST = 0.02
#: The greatest and the least torque of the curve replace a spaced point nearer than this part of the range of speeds.
_NEAR = 0.01
_TORQUE = ("scale", "scale_2", "torque")


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
            found = self.smoothed(name, times)
            values[name], deviations[name] = found.value, found.value_deviation
            if name == "speed":
                values[ACCELERATION], deviations[ACCELERATION] = found.slope, found.slope_deviation
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
    readings = _without_drift(readings)
    log = _log(readings.load_test, source.sweep.bandwidth)
    names = [name for name in log.table.columns if name != "time"]
    runs = _runs(log)
    frame = replace(readings, sweep=SweptRows(log.bandwidth, {}, None, None, rotor_at_shaft(job)))
    levels = _spaced(log, max(runs, key=lambda run: run.span), frame, rig, source.sweep.points)
    ways = [_one_way(log, [run for run in runs if run.falls is falls], levels, names) for falls in (True, False)]
    known = [way for way in ways if way is not None]
    if not known:
        raise _no_sweep("no run lies far enough within the log to be smoothed")
    columns = _mean([way.columns for way in known])
    deviations = _deviation_of_mean([way.deviations for way in known])
    used = np.isfinite(columns["speed"]) & np.isfinite(sum(columns[name] for name in _TORQUE if name in columns))
    falling, rising = (_kept(way, used) for way in ways)
    if not used.any():
        raise _no_sweep("no speed was passed with torque and speed read often enough")
    table = Table({name: values[used] for name, values in columns.items()}, ("",) * int(used.sum()))
    scatter = {name: values[used] for name, values in deviations.items()}
    assert frame.sweep is not None  # made above
    return replace(
        frame, load_test=table, sweep=replace(frame.sweep, deviations=scatter, falling=falling, rising=rising)
    )


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
    names = [name for name in ("speed", *_TORQUE) if name in log.table.columns]
    values, _ = log.at(run.time, names)
    track = replace(frame, load_test=Table(values, ("",) * run.time.size))
    found = shaft_torque(track, rig, None)
    torque = found.at_shaft if np.isfinite(found.at_shaft).any() else found.at_absorber
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
    found = [log.at(run.time_at(levels), names) for run in runs]
    columns = _mean([values for values, _ in found])
    deviations = _deviation_of_mean([values for _, values in found])
    return Runs(columns, deviations, len(runs))


def _mean(parts: Sequence[Mapping[str, Array]]) -> dict[str, Array]:
    """Means by row of those parts that are known."""
    means = {}
    for name in parts[0]:
        stack = np.array([part[name] for part in parts])
        known = np.isfinite(stack)
        count = known.sum(axis=0)
        sums = np.where(known, stack, 0.0).sum(axis=0)
        means[name] = np.where(count > 0, sums / np.maximum(count, 1), np.nan)
    return means


def _deviation_of_mean(parts: Sequence[Mapping[str, Array]]) -> dict[str, Array]:
    deviations = {}
    for name in parts[0]:
        stack = np.array([part[name] for part in parts])
        known = np.isfinite(stack)
        count = known.sum(axis=0)
        squares = np.where(known, stack**2, 0.0).sum(axis=0)
        deviations[name] = np.where(count > 0, np.sqrt(squares) / np.maximum(count, 1), np.nan)
    return deviations


def _kept(way: Runs | None, used: NDArray[np.bool_]) -> Runs | None:
    if way is None:
        return None
    columns, deviations = ({name: values[used] for name, values in of.items()} for of in (way.columns, way.deviations))
    return replace(way, columns=columns, deviations=deviations)
