"""From what the scale showed to the torque at the tested shaft."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from certgen.document.build import Toleranced
from certgen.job.model import Job
from certgen.job.rig import ARM, ROPE, Calibration, Rig
from certgen.physics.curves import straight_line
from certgen.physics.domain import Array
from certgen.physics.mechanics import (
    STANDARD_GRAVITY,
    accelerating_torque,
    lever_arm_torque,
    motor_torque_through_drive,
    referred_inertia,
    rope_brake_torque,
    weight,
)
from certgen.readings.model import ACCELERATION, Readings, Table, Zero
from certgen.reduction.speed import gear_ratio, shaft_speeds

# Inertia of what turns with the tested shaft, and the torque that changes its speed.


def inertia_torque(acceleration: Array, rig: Rig, rotor: Toleranced | None) -> Array:
    """What is added to the torque of a sweep to have that of the motor at steady speed.

    Parameters
    ----------
    acceleration : array, shape (n,)
        Rate of change of the speed the tachometer reads. [rad/s^2]
    rig : Rig
        Its inertia stands at the absorber's shaft.
    rotor : Toleranced or None
        Inertia of the motor's rotor at the judged shaft, where it is known. [kg*m^2]

    Returns
    -------
    array, shape (n,)
        At the judged shaft, negative while the speed falls; ``nan`` where the rig states no inertia. [N*m]

    Notes
    -----
    While the speed falls the masses give their energy to the absorber, which so reads more than the motor gives:
    T_shaft = T_absorber + J_rig dw/dt is what passes the coupling. The rotor's own inertia lies before the coupling:
    T_shaft + J_rotor dw/dt is what the motor would give there at a steady speed, and that is what a certificate
    is about. A rotor inertia that is not stated is left out, and the page says so.
    """
    if rig.inertia is None:
        return np.full(acceleration.shape, np.nan)
    at_motor, at_absorber = shaft_speeds(acceleration, rig)
    torque = np.asarray(accelerating_torque(rig.inertia.value, at_absorber))
    if rig.drive.kind == "belt" and rig.drive.ratio is not None and rig.drive.efficiency is not None:
        torque = np.asarray(motor_torque_through_drive(torque, rig.drive.ratio, rig.drive.efficiency))
    if rotor is not None:
        torque = torque + np.asarray(accelerating_torque(rotor.value, at_motor))
    return torque


def rotor_at_shaft(job: Job) -> Toleranced | None:
    """The rotor's inertia as it is felt at the judged shaft, behind the motor's gear where it has one. [kg*m^2]"""
    rotor, gear = job.motor.rotor_inertia, job.nameplate.gear
    if rotor is None or gear is None:
        return rotor
    return scaled(rotor, float(referred_inertia(1.0, gear_ratio(job))) * (gear.efficiency or 1.0))


def rig_at_shaft(rig: Rig) -> Toleranced | None:
    """The rig's inertia as it is felt at the tested shaft through a belt. [kg*m^2]"""
    if rig.inertia is None or rig.drive.kind != "belt" or not rig.drive.ratio:
        return rig.inertia
    return scaled(rig.inertia, float(referred_inertia(1.0, 1.0 / rig.drive.ratio)))


def scaled(value: Toleranced, factor: float) -> Toleranced:
    """A value with its limits, all times a factor."""
    return replace(
        value,
        value=value.value * factor,
        tolerance=None if value.tolerance is None else value.tolerance * factor,
        expanded_uncertainty=None if value.expanded_uncertainty is None else value.expanded_uncertainty * factor,
    )


# From what the scale showed to the torque at the tested shaft.


@dataclass(frozen=True)
class ShaftTorque:
    """Torque along the way from brake to tested shaft, each shape (n,).

    ``scale_indication`` is the largest raw indication of the two balances, for comparison with the scale's span
    (kg or N; ``nan`` with a torque sensor).
    """

    at_absorber: Array
    at_shaft: Array
    scale_indication: Array


def zero_drift(zero: Zero, count: int, time: Array) -> Array | None:
    """Indication without load at each row, the drift between before and after taken as linear.

    Parameters
    ----------
    zero : Zero
        Indications before and after the test. [kg, N or N*m]
    count : int
        Number of rows n.
    time : array, shape (n,)
        Time of each row; where one is ``nan`` the rows count as equally spaced. [s]

    Returns
    -------
    array, shape (n,), or None
        The zero at each row, or ``None`` where none was read. [as the zero]

    References
    ----------
    Common practice, no source: a drift known at both ends only is spread linearly between them.
    """
    if zero.before is None and zero.after is None:
        return None
    before = zero.before if zero.before is not None else zero.after
    after = zero.after if zero.after is not None else zero.before
    assert before is not None and after is not None  # one of them was read
    return before + (after - before) * _share_of_test(count, time)


def _share_of_test(count: int, time: Array) -> Array:
    if time.size and np.isfinite(time).all() and np.ptp(time) > 0.0:
        first, last = time.min(axis=-1, keepdims=True), time.max(axis=-1, keepdims=True)
        return np.asarray((time - first) / (last - first))
    return np.linspace(0.0, 1.0, count) if count > 1 else np.full(count, 0.5)


def corrected_indication(indication: Array, zero: Array | None, calibration: Calibration | None) -> Array:
    """Load on the scale from its indication, by zero and calibration.

    Parameters
    ----------
    indication : array, shape (n,)
        What the scale showed. [kg or N]
    zero : array, shape (n,), or None
        What it showed without load at each row. [as indication]
    calibration : Calibration or None
        Applied loads and indications; the line through them is fitted by least squares.

    Returns
    -------
    array, shape (n,)
        Load applied. With a zero read in the test, (indication - zero) / slope; without, (indication -
        intercept) / slope; without a calibration the slope is 1 and the intercept 0. [as indication]

    Raises
    ------
    ValueError
        The calibration has fewer than two different loads.

    References
    ----------
    JCGM 100:2008 (GUM), annex H.3: calibration line by least squares.
    """
    slope, intercept = 1.0, 0.0
    if calibration is not None:
        applied = [load.value for load in calibration.applied]
        indicated = [load.value for load in calibration.indicated]
        line = straight_line(applied, indicated)
        slope, intercept = line.slope, line.intercept
    return (indication - (intercept if zero is None else zero)) / slope


def shaft_torque(readings: Readings, rig: Rig, local_gravity: float | None) -> ShaftTorque:
    """Torque at the tested shaft for each row of the load test [N*m]; parameters as for :func:`table_torque`.

    Rows made from a sweep get the torque that changed the speed of the turning masses.
    """
    table = readings.load_test
    measured = table_torque(table, (readings.zero, readings.zero_2), rig, local_gravity)
    if ACCELERATION not in table.columns:
        return measured
    rotor = readings.sweep.rotor_inertia if readings.sweep is not None else None
    return replace(measured, at_shaft=measured.at_shaft + inertia_torque(table.column(ACCELERATION), rig, rotor))


def table_torque(table: Table, zeros: tuple[Zero, Zero], rig: Rig, local_gravity: float | None) -> ShaftTorque:
    """Torque at the tested shaft for each row of a table read on the rig.

    Parameters
    ----------
    table : Table
        Its columns scale, scale_2 or torque, with speed and time where they were read. [SI]
    zeros : tuple of (Zero, Zero)
        Indications without load of the scale or torque sensor, and of a rope brake's second balance. [kg, N or N*m]
    rig : Rig
        Absorber, arm or drum, scale, tare torque and drive.
    local_gravity : float or None
        Gravity at the bench, used where the scale shows mass; standard gravity where it is not given. [m/s^2]

    Returns
    -------
    ShaftTorque
        Torques of shape (n,), ``nan`` where the table has none. [N*m]

    Notes
    -----
    The tare torque (friction and windage of the absorber that the scale does not see) is added wherever the
    shaft turns. A belt divides by ratio and efficiency: the motor also drives the belt's loss.

    References
    ----------
    Torque is force times lever arm; for a rope brake (S1 - S2)(R + d/2), R. K. Rajput, A Textbook of
    Internal Combustion Engines, chapter 17.
    """
    if rig.absorber.kind in (ARM, ROPE):
        measured, raw = _from_scale(table, zeros, rig, local_gravity)
    else:
        raw = np.full(table.rows, np.nan)
        zero = zero_drift(zeros[0], table.rows, table.column("time"))
        measured = table.column("torque") - (0.0 if zero is None else zero)
    speed = table.column("speed")
    tare = rig.tare_torque.value if rig.tare_torque else 0.0
    at_absorber = measured + np.where(speed > 0.0, tare, 0.0)
    at_shaft = at_absorber
    if rig.drive.kind == "belt" and rig.drive.ratio is not None and rig.drive.efficiency is not None:
        at_shaft = np.asarray(motor_torque_through_drive(at_absorber, rig.drive.ratio, rig.drive.efficiency))
    return ShaftTorque(at_absorber, at_shaft, raw)


def _from_scale(table: Table, zeros: tuple[Zero, Zero], rig: Rig, local_gravity: float | None) -> tuple[Array, Array]:
    force = _force(table, "scale", zeros[0], rig, local_gravity)
    raw = table.column("scale")
    if rig.absorber.kind == ARM:
        assert rig.arm_length is not None  # a rig with an arm has its length
        return np.asarray(lever_arm_torque(force, rig.arm_length.value)), raw
    slack = _force(table, "scale_2", zeros[1], rig, local_gravity)
    assert rig.drum_radius is not None  # a rope brake has its drum
    rope = rig.rope_diameter.value if rig.rope_diameter else 0.0
    torque = rope_brake_torque(force, slack, rig.drum_radius.value, rope)
    return np.asarray(torque), np.fmax(raw, table.column("scale_2"))


def _force(table: Table, name: str, zero: Zero, rig: Rig, local_gravity: float | None) -> Array:
    assert rig.scale is not None  # an arm or a rope brake has a scale
    drift = zero_drift(zero, table.rows, table.column("time"))
    load = corrected_indication(table.column(name), drift, rig.scale.calibration)
    if rig.scale.reads == "force":
        return load
    return np.asarray(weight(load, STANDARD_GRAVITY if local_gravity is None else local_gravity))
