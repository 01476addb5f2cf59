"""How fast a sweep was, what its inertia amounts to, and whether its runs down and up agree."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from certgen.document.build import Toleranced
from certgen.physics.uncertainty import half_width_to_standard
from certgen.readings.model import Readings, Table
from certgen.readings.swept import ACCELERATION, Runs, SweptRows
from certgen.reduction.changing_speed import SweepFound, SweepGap
from certgen.reduction.inertia import rig_at_shaft
from certgen.reduction.speed import shaft_speeds
from certgen.reduction.torque import shaft_torque, table_torque
from certgen.reduction.uncertainty.model import Measured

Array = NDArray[np.float64]

#: Speeds passed both ways that it takes to tell an inertia.
_LEAST_SPEEDS = 3
_TORQUE = ("scale", "scale_2", "torque", ACCELERATION)


def sweep_found(measured: Measured) -> SweepFound | None:
    """Speed, inertia and agreement of a sweep; ``None`` where the load test is none.

    Parameters
    ----------
    measured : Measured
        Rig, readings with the points of a sweep, gravity. [SI]

    Returns
    -------
    SweepFound or None
        Where no inertia is stated the gap is that of the torques at the absorber, and tells the inertia all the same.
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
    )


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
    doubt = math.sqrt(float((faster[known] ** 2) @ (scatter[known] ** 2))) / size if size > 0.0 else math.nan
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
        closing_deviation=doubt,
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
    for name in _TORQUE:
        if name in way.columns:
            moved = {**way.columns, name: way.columns[name] + way.deviations[name]}
            squares += (_torque(replace(way, columns=moved), measured, total) - nominal) ** 2
    return np.asarray(np.sqrt(squares))


def _inertia_deviation(sweep: SweptRows, measured: Measured) -> float:
    """Standard uncertainty of the inertia allowed for, as far as it is stated. [kg*m^2]"""
    return math.hypot(*(_standard(one) for one in (rig_at_shaft(measured.rig), sweep.rotor_inertia)))


def _standard(value: Toleranced | None) -> float:
    if value is None:
        return 0.0
    if value.tolerance is not None:
        return float(half_width_to_standard(value.tolerance, "rectangular"))
    stated = value.expanded_uncertainty
    return 0.0 if stated is None else float(half_width_to_standard(stated, "normal"))
