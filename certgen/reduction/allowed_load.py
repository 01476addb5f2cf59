"""The greatest load within a limit, and the load a heat run was made at: both found on the load curve."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from certgen.job.rig import Rig
from certgen.readings.model import Readings, Table
from certgen.reduction.electrical import electrical_input
from certgen.reduction.model import LoadPoints
from certgen.reduction.torque import shaft_torque

Array = NDArray[np.float64]

#: A heat run whose load wanders further from its mean than this was not made at one load. Common practice, no source.
LOAD_HELD_WITHIN = 0.05


def power_within(curve: LoadPoints, values: Array, limit: float) -> float | None:
    """Greatest shaft power up to the load at which a quantity first passes its limit.

    Parameters
    ----------
    curve : LoadPoints
        The load curve, n points from the lightest load on. [SI]
    values : array, shape (n,)
        The quantity along it. [any]
    limit : float
        Its greatest value allowed. [as values]

    Returns
    -------
    float or None
        Power, at most the greatest on the curve; ``None`` where the quantity is not known along the whole curve or
        passes its limit at the lightest load already. [W]

    Notes
    -----
    A tighter limit never gives a greater power: the loads it allows are among those the wider one allows.
    """
    if curve.count == 0 or not np.isfinite(values).all() or values[0] > limit:
        return None
    over = np.flatnonzero(values > limit)
    if not over.size:
        return float(curve.shaft_power.max())
    first = int(over[0])
    part = (limit - values[first - 1]) / (values[first] - values[first - 1])
    power = curve.shaft_power
    at_limit = power[first - 1] + part * (power[first] - power[first - 1])
    return float(max(power[:first].max(), at_limit))


def load_where(curve: LoadPoints, name: str, wanted: float) -> LoadPoints | None:
    """The lightest load of a power, or the heaviest load of any other quantity, that has a wanted value.

    Parameters
    ----------
    curve : LoadPoints
        The load curve. [SI]
    name : str
        A quantity of a load point.
    wanted : float
        Its value. [SI]

    Returns
    -------
    LoadPoints or None
        One point between two neighbours of the curve; ``None`` where the curve does not reach the value.
    """
    off = getattr(curve, name) - wanted
    if not np.isfinite(off).all():
        return None
    meets = np.flatnonzero((off[:-1] <= 0.0) != (off[1:] <= 0.0))
    on = np.flatnonzero(off == 0.0)
    if on.size:
        return curve.chosen(on[:1] if name == "shaft_power" else on[-1:])
    if not meets.size:
        return None
    left = int(meets[0] if name == "shaft_power" else meets[-1])
    return _between(curve, left, float(off[left] / (off[left] - off[left + 1])))


def _between(curve: LoadPoints, left: int, part: float) -> LoadPoints:
    arrays = {}
    for field in fields(curve):
        if field.name != "remarks":
            values = getattr(curve, field.name)
            arrays[field.name] = np.array([(1.0 - part) * values[left] + part * values[left + 1]])
    return LoadPoints(**arrays, remarks=("",))


def heat_run_load(
    readings: Readings, rig: Rig, curve: LoadPoints, *, motor_type: str, gravity: float | None
) -> LoadPoints | str:
    """The load a heat run was made at, from whatever was read beside its temperatures.

    Parameters
    ----------
    readings : Readings
        The tables, the heat run among them. [SI]
    rig : Rig
        The bench, where the heat run has torque or scale.
    curve : LoadPoints
        The load curve. [SI]
    motor_type : str
        Kind of motor.
    gravity : float or None
        Gravity at the bench. [m/s^2]

    Returns
    -------
    LoadPoints or str
        The load; or, in words, what to read for want of it.
    """
    run = readings.others.get("heat_run")
    if run is None:
        return "a heat run at the load the motor is to be rated for"
    for name, values in _loads(readings, run, rig, motor_type, gravity):
        known = values[np.isfinite(values)]
        if not known.size:
            continue
        mean = float(known.mean())
        if not np.all(np.abs(known - mean) <= LOAD_HELD_WITHIN * abs(mean)):
            return f"a heat run at one load; its {name.replace('_', ' ')} wandered by more than 5 %"
        found = load_where(curve, name, mean)
        return found or "load points on both sides of the load of the heat run"
    return "the load of the heat run: a column 'current', 'input_power', or speed and torque, beside its temperatures"


def _loads(readings: Readings, run: Table, rig: Rig, motor_type: str, gravity: float | None) -> list[tuple[str, Array]]:
    electrical = electrical_input(run, motor_type)
    torque = np.full(run.rows, math.nan)
    if {"scale", "torque"} & run.columns.keys():
        turning = run if "speed" in run.columns else Table({**run.columns, "speed": np.ones(run.rows)}, run.remarks)
        torque = shaft_torque(replace(readings, load_test=turning), rig, gravity).at_shaft
    return [("torque", torque), ("input_power", electrical.active), ("current", electrical.current)]
