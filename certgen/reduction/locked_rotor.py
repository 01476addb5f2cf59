"""Locked-rotor current and torque, from a table of their own or from a load test's row at standstill."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.job.rig import Rig
from certgen.physics.domain import Array
from certgen.physics.induction import locked_rotor_current_at, locked_rotor_torque_at, supply_ratio
from certgen.readings.model import Readings, Zero
from certgen.reduction.electrical import electrical_input
from certgen.reduction.model import HeldRotor, LoadPoints, LockedRotor
from certgen.reduction.speed import supply_frequency
from certgen.reduction.torque import table_torque
from certgen.reduction.uncertainty.model import Measured

#: Frequencies this near are one frequency, and voltages of machines that are not scaled one voltage. [1] Common
#: practice, no source.
_SAME = 0.01
TABLE = "locked_rotor"


def locked_rotor_of(job: Job, rig: Rig, readings: Readings, points: LoadPoints) -> LockedRotor | None:
    """Locked-rotor current and torque as read and at rated voltage and frequency.

    Parameters
    ----------
    job : Job
        Motor, nameplate and conditions. [SI]
    rig : Rig
        The bench. [SI]
    readings : Readings
        The table of locked-rotor readings, if there is one. [SI]
    points : LoadPoints
        The load test; its points at standstill count too. [SI]

    Returns
    -------
    LockedRotor or None
        Current and torque, each of the row nearest rated voltage that has it, or of the highest voltage where the
        plate gives none; ``None`` where the rotor was not locked. [SI]

    Notes
    -----
    Induction motors are brought to the plate's voltage and, where the test's frequency was another, to its frequency:
    current with volts per hertz, torque with their square. Other machines do not follow that law and are left as read;
    what was read within 1 % of rated voltage stands for rated voltage.
    The zero of the scale is the mean of those before and after: when in the test the rotor was locked is not known.

    References
    ----------
    C. I. Hubert, Electric Machines, chapter 5, examples 5.4, 5.7 and 5.8.
    """
    voltage, frequency, current, torque = _rows(job, rig, readings, points)
    figures = LockedRotor(
        current=_nearest(job, voltage, frequency, current, is_torque=False),
        torque=_nearest(job, voltage, frequency, torque, is_torque=True),
    )
    return None if figures.current is None and figures.torque is None else figures


def _rows(job: Job, rig: Rig, readings: Readings, points: LoadPoints) -> tuple[Array, Array, Array, Array]:
    """Voltage, frequency, current and torque of every row with the rotor locked, the table's first."""
    at_rest = points.chosen(points.speed == 0.0)
    rest = (at_rest.voltage, at_rest.frequency, at_rest.current, at_rest.torque)
    table = readings.others.get(TABLE)
    if table is None:
        return rest
    measured = Measured(rig, replace(readings, load_test=table), job.conditions.local_gravity)
    read = tuple(held_rows(measured, job).values())
    voltage, frequency, current, torque = (np.concatenate(pair) for pair in zip(read, rest, strict=True))
    return voltage, frequency, current, torque


def held_rows(measured: Measured, job: Job) -> dict[str, Array]:
    """Supply [V], [Hz], current [A] and torque [N*m] of a table with the rotor locked, in place of the load test."""
    table, readings = measured.readings.load_test, measured.readings
    electrical = electrical_input(table, job.motor.type)
    frequency, _ = supply_frequency(job, table.column("frequency"))
    zeros = (_middle(readings.zero), _middle(readings.zero_2))
    torque = table_torque(table, zeros, measured.rig, measured.local_gravity)
    return {
        "voltage": electrical.voltage, "frequency": frequency, "current": electrical.current, "torque": torque.at_shaft,
    }  # fmt: skip


def _middle(zero: Zero) -> Zero:
    read = [reading for reading in (zero.before, zero.after) if reading is not None]
    return Zero(sum(read) / len(read)) if read else Zero()


def _nearest(job: Job, voltage: Array, frequency: Array, values: Array, *, is_torque: bool) -> HeldRotor | None:
    """The reading of the row nearest rated voltage, and what it becomes at rated voltage."""
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        return None
    rated = job.nameplate.voltage
    if not np.isfinite(voltage[known]).any():
        row = known[0]
    elif rated is None:
        row = known[np.nanargmax(voltage[known])]
    else:
        row = known[np.nanargmin(np.abs(voltage[known] / rated - 1.0))]
    read = float(values[row])
    ratio, to_frequency = _to_rated(job, float(voltage[row]), float(frequency[row]))
    scale = locked_rotor_torque_at if is_torque else locked_rotor_current_at
    return HeldRotor(
        read=read,
        voltage=float(voltage[row]),
        frequency=float(frequency[row]),
        at_rated=float(scale(read, ratio)) if math.isfinite(ratio) else math.nan,
        other_frequency=to_frequency,
        row=int(row),
    )


def _to_rated(job: Job, voltage: float, frequency: float) -> tuple[float, bool]:
    """Ratio of supplies, ``nan`` where it is not known or has no meaning, and whether the frequencies differ."""
    plate = job.nameplate
    if plate.voltage is None or not voltage > 0.0:
        return math.nan, False
    if job.motor.type not in INDUCTION:
        return (1.0 if abs(voltage / plate.voltage - 1.0) <= _SAME else math.nan), False
    if plate.frequency is None or not frequency > 0.0 or abs(frequency / plate.frequency - 1.0) <= _SAME:
        return plate.voltage / voltage, False
    ratio = supply_ratio(voltage, frequency, at_voltage=plate.voltage, at_frequency=plate.frequency)
    return float(ratio), True
