"""How warm the motor became: the runs at one load, and the winding's rise by its resistance."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.curves import distinct
from certgen.physics.domain import Array, Index
from certgen.physics.thermal import resistance_of_rise, rise_at_switch_off, rise_by_resistance
from certgen.readings.model import COOLING, Readings, Table
from certgen.reduction.electrical import electrical_input
from certgen.reduction.held_run import FRAME, WINDING, HeldRun, held_run
from certgen.reduction.model import LoadPoints
from certgen.reduction.torque import shaft_torque
from certgen.reduction.winding import winding_with_cold

# The greatest load within a limit, and the load a heat run was made at: both found on the load curve.


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
) -> LoadPoints | Message:
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
    LoadPoints or Message
        The load; or what to read for want of it, as an item of a list.
    """
    run = readings.others.get("heat_run")
    if run is None:
        return Message("heat_run.missing")
    for name, values in _loads(readings, run, rig, motor_type, gravity):
        known = values[np.isfinite(values)]
        if not known.size:
            continue
        mean = float(known.mean())
        if not np.all(np.abs(known - mean) <= LOAD_HELD_WITHIN * abs(mean)):
            return Message("heat_run.wandered", quantity=Message(f"name.{name}"), part=LOAD_HELD_WITHIN)
        return load_where(curve, name, mean) or Message("heat_run.beyond_curve")
    return Message("heat_run.load_missing")


def _loads(readings: Readings, run: Table, rig: Rig, motor_type: str, gravity: float | None) -> list[tuple[str, Array]]:
    electrical = electrical_input(run, motor_type)
    torque = np.full(run.rows, math.nan)
    if {"scale", "torque"} & run.columns.keys():
        turning = run if "speed" in run.columns else Table({**run.columns, "speed": np.ones(run.rows)}, run.remarks)
        torque = shaft_torque(replace(readings, load_test=turning), rig, gravity).at_shaft
    return [("torque", torque), ("input_power", electrical.active), ("current", electrical.current)]


# How warm the motor became: the runs at one load, and the winding's rise by its resistance.


#: Fewer rows than this at one load are no run.
_LEAST_ROWS = 3
#: Fewer readings than this after switching off are not carried back: two always lie on a line.
_LEAST_COOLING = 3


def held_runs(
    job: Job, rig: Rig, readings: Readings, points: LoadPoints, curve: LoadPoints | None
) -> tuple[HeldRun, ...]:
    """Every run at one load: the heat run first, then stretches of the load test.

    Parameters
    ----------
    job : Job
        Motor, plate and conditions. [SI]
    rig : Rig
        The bench.
    readings : Readings
        The tables. [SI]
    points : LoadPoints
        The load points, one a row of the load test.
    curve : LoadPoints or None
        The load curve, by which current, power or torque of the heat run tell its load.

    Returns
    -------
    tuple of HeldRun
        The winding's temperature where it was read, else the frame's.
    """
    runs = [_heat_run(job, rig, readings, curve)]
    runs += _stretches(readings.load_test, points, job.conditions.ambient, ends="heat_run" not in readings.others)
    return tuple(run for run in runs if run is not None)


def _heat_run(job: Job, rig: Rig, readings: Readings, curve: LoadPoints | None) -> HeldRun | None:
    table = readings.others.get("heat_run")
    if table is None:
        return None
    load, missing = _load_held(job, rig, readings, curve)
    part, temperature = _warmth(table)
    return held_run(
        table.column("time"),
        temperature,
        _air(table, job.conditions.ambient),
        where=Message("held_run.heat_run"),
        part=part,
        ends_the_test=True,
        load=load,
        load_missing=missing,
        table="heat_run",
    )


def rises_of(table: Table, room: float | None) -> HeldRun:
    """The temperatures of a table as those of one run; ``room`` where it has none of the cooling air. [K]"""
    part, temperature = _warmth(table)
    run = held_run(
        table.column("time"), temperature, _air(table, room), where=None, part=part, ends_the_test=False, load=None
    )
    assert run is not None  # the caller has a run of it
    return run


def _load_held(job: Job, rig: Rig, readings: Readings, curve: LoadPoints | None) -> tuple[float | None, Message | None]:
    """Shaft power held in the heat run [W], or why it is not known: as measured in it, else as stated."""
    if curve is not None:
        load = heat_run_load(readings, rig, curve, motor_type=job.motor.type, gravity=job.conditions.local_gravity)
        if not isinstance(load, Message):
            return float(load.shaft_power[0]), None
    source = job.readings.heat_run
    stated = source.also.load if source is not None and source.also is not None else None
    if stated is None:
        return None, Message("heat_run.load_unknown")
    if job.nameplate.power is None:
        return None, Message("heat_run.load_of_no_power")
    return stated * job.nameplate.power, None


def _warmth(table: Table) -> tuple[str, Array]:
    winding = table.column("winding_temperature")
    if np.isfinite(winding).any():
        return WINDING, winding
    return FRAME, table.column("frame_temperature")


def _air(table: Table, room: float | None) -> Array:
    read = table.column("ambient_temperature")
    if np.isfinite(read).any():
        return read
    return np.full(table.rows, math.nan if room is None else room)


def _stretches(table: Table, points: LoadPoints, room: float | None, *, ends: bool) -> Iterator[HeldRun | None]:
    """Stretches of the load test, in order of time, over which the torque stayed the same."""
    time = points.time
    if not np.isfinite(time).all():
        return
    part, temperature = _warmth(table)
    air = _air(table, room)
    order = np.argsort(time, kind="stable")
    for rows in _same_load(order, points.torque):
        if len(rows) >= _LEAST_ROWS and np.isfinite(temperature[rows]).sum() >= _LEAST_ROWS:
            yield held_run(
                time[rows],
                temperature[rows],
                air[rows],
                where=Message("held_run.load_test", rows=len(rows)),
                part=part,
                ends_the_test=ends and rows[-1] == order[-1],
                load=float(points.shaft_power[rows].mean()),
            )


def _same_load(order: Index, torque: Array) -> Iterator[list[int]]:
    rows: list[int] = []
    for row in order.tolist():
        if rows and not abs(torque[row] - torque[rows[0]]) <= LOAD_HELD_WITHIN * abs(torque[rows[0]]):
            yield rows
            rows = []
        rows.append(row)
    yield rows


@dataclass(frozen=True)
class WindingRise:
    """Rise of the winding by its resistance.

    ``after`` is the time since switching off for which it holds [s]: 0 where it was carried back to that instant,
    ``None`` where it was not recorded.
    """

    rise: float  # K
    resistance: float  # ohm, as read
    after: float | None
    note: Message | None  # how it was found, where more than one reading is behind it
    carried_back: bool = False
    u_rise: float = math.nan  # of a rise carried back, by the scatter of its readings alone [K]


def winding_rise(job: Job, readings: Readings, *, constant: float) -> WindingRise | Message:
    """Rise of the winding above the cooling air at the end of the run, by its resistance cold and hot.

    Parameters
    ----------
    job : Job
        Winding readings and conditions. [SI]
    readings : Readings
        Holds the resistances read after switching off, if there were several.
    constant : float
        Temperature below 0 degC at which the linear law gives no resistance, as a positive number. [degC]

    Returns
    -------
    WindingRise or Message
        From several readings, carried back to the instant of switching off; from one, as it was read. Or what is
        missing, as the end of a sentence.
    """
    winding = winding_with_cold(job)
    if winding is None or winding.hot is None:
        return Message("winding_rise.no_hot")
    if winding.cold is None:
        return Message("winding_rise.no_cold")
    hot, cold = winding.hot, winding.cold
    ambient = job.conditions.ambient if hot.ambient is None else hot.ambient
    if ambient is None:
        return Message("winding_rise.no_ambient")
    known = {
        "cold": cold.resistance, "cold_temperature": cold.temperature, "ambient": ambient, "constant": constant,
    }  # fmt: skip
    table = readings.others.get(COOLING)
    rise = _single(hot.resistance, hot.after, known) if table is None else _carried_back(table, known)
    if isinstance(rise, Message) or rise.rise > 0.0:
        return rise
    return Message("winding_rise.no_rise")


def _single(
    resistance: float | None, after: float | None, known: dict[str, float], note: Message | None = None
) -> WindingRise | Message:
    if resistance is None:
        return Message("winding_rise.no_hot")
    rise = float(rise_by_resistance(resistance, **known))
    return WindingRise(rise, resistance, after, note)


def _carried_back(table: Table, known: dict[str, float]) -> WindingRise | Message:
    usable = np.isfinite(table.column("time")) & (table.column("winding_resistance") > 0.0)
    order = np.argsort(table.column("time")[usable], kind="stable")
    time, resistance = (table.column(name)[usable][order] for name in ("time", "winding_resistance"))
    if not time.size:
        return Message("winding_rise.no_hot")
    first = float(time[0])
    if distinct(time).size < _LEAST_COOLING:
        note = Message("winding_rise.few_readings", count=time.size, least=_LEAST_COOLING)
        return _single(float(resistance[0]), first, known, note)
    if first > np.ptp(time):
        note = Message("winding_rise.late_readings")
        return _single(float(resistance[0]), first, known, note)
    carried = rise_at_switch_off(time, np.asarray(rise_by_resistance(resistance, **known)))
    if not math.isfinite(carried.rise):
        return _single(float(resistance[0]), first, known, Message("winding_rise.no_fall"))
    at_zero = float(resistance_of_rise(carried.rise, **known))
    note = Message("winding_rise.carried_back", count=time.size, first=first, last=float(time[-1]))
    return WindingRise(carried.rise, at_zero, 0.0, note, carried_back=True, u_rise=carried.u_rise)
