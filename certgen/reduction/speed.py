"""Supply frequency, number of poles and synchronous speed."""

from __future__ import annotations

import math

import numpy as np

from certgen.job.model import DC, INDUCTION, Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.induction import poles_from_speed, synchronous_speed
from certgen.physics.mechanics import gear_motor_speed, gear_output_speed
from certgen.reduction.model import Poles

#: What a supply frequency rests on.
MEASURED, STATED, NAMEPLATE = (
    Message("frequency.measured"),
    Message("frequency.stated"),
    Message("frequency.nameplate"),
)


def supply_frequency(job: Job, measured: Array) -> tuple[Array, Message | None]:
    """Supply frequency of every row and what it rests on.

    Parameters
    ----------
    job : Job
        Its conditions and nameplate stand in where no frequency was measured.
    measured : array, shape (n,)
        Frequency column, ``nan`` where absent. [Hz]

    Returns
    -------
    tuple of (array, shape (n,), Message or None)
        Frequency [Hz], and one of ``MEASURED``, ``STATED`` and ``NAMEPLATE``; ``None`` where no frequency is known, and
        for direct current, which has none.
    """
    if job.motor.type == DC:
        return np.full(measured.shape, np.nan), None
    if np.isfinite(measured).all():
        return measured, MEASURED
    stated = job.conditions.supply_frequency
    fallback, basis = (stated, STATED) if stated else (job.nameplate.frequency, NAMEPLATE)
    if fallback is None:
        return measured, MEASURED if np.isfinite(measured).any() else None
    return np.where(np.isfinite(measured), measured, fallback), basis


def find_poles(job: Job, light_load_speed: float, frequency: float) -> Poles:
    """Number of poles: from the plate, its speed, or the speed at light load.

    Parameters
    ----------
    job : Job
        Motor kind, nameplate and gear.
    light_load_speed : float
        Speed of the judged shaft at the lightest load, ``nan`` where no load was light. [rad/s]
    frequency : float
        Supply frequency of the test. [Hz]

    Returns
    -------
    Poles
        The count with its basis; ``None`` for a motor that has no synchronous speed, or where nothing gives it.
    """
    if job.motor.type not in INDUCTION:
        return Poles(None, None)
    plate = job.nameplate
    if plate.poles is not None:
        return Poles(plate.poles, Message("poles.nameplate"))
    ratio = gear_ratio(job)
    if plate.speed is not None and plate.frequency is not None:
        poles = poles_from_speed(float(gear_motor_speed(plate.speed, ratio)), plate.frequency)
        if poles is not None:
            return Poles(poles, Message("poles.nameplate_speed"))
    if math.isfinite(light_load_speed) and math.isfinite(frequency):
        poles = poles_from_speed(float(gear_motor_speed(light_load_speed, ratio)), frequency)
        if poles is not None:
            return Poles(poles, Message("poles.lightest_load"))
    return Poles(None, None)


def shaft_synchronous_speed(poles: Poles, frequency: Array, job: Job) -> Array:
    """Synchronous speed at the judged shaft for each frequency.

    Parameters
    ----------
    poles : Poles
        Number of poles, if known.
    frequency : array, shape (n,)
        Supply frequency. [Hz]
    job : Job
        Its gear divides the speed.

    Returns
    -------
    array, shape (n,)
        Synchronous speed over the gear ratio, ``nan`` where the poles are not known. [rad/s]
    """
    if poles.count is None:
        return np.full(frequency.shape, np.nan)
    return np.asarray(gear_output_speed(synchronous_speed(frequency, poles.count), gear_ratio(job)))


def gear_ratio(job: Job) -> float:
    """Ratio of the motor's own gear, 1 where there is none."""
    gear = job.nameplate.gear
    return gear.ratio if gear is not None else 1.0


def shaft_speeds(read: Array, rig: Rig) -> tuple[Array, Array]:
    """Speed of the tested shaft and of the absorber, or their rates of change, from what the tachometer looked at.

    Parameters
    ----------
    read : array, shape (n,)
        As the tachometer read it. [rad/s], [rad/s^2]
    rig : Rig
        Its drive and tachometer.

    Returns
    -------
    tuple of (array, array), shape (n,)
        Of the tested shaft and of the absorber's. [as read]
    """
    ratio = rig.drive.ratio if rig.drive.kind == "belt" and rig.drive.ratio is not None else 1.0
    if rig.tachometer.on == "absorber":
        return read * ratio, read
    return read, read / ratio
