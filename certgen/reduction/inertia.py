"""Inertia of what turns with the tested shaft, and the torque that changes its speed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from certgen.document.build import Toleranced
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.physics.mechanics import accelerating_torque, motor_torque_through_drive, referred_inertia
from certgen.reduction.speed import gear_ratio, shaft_speeds

Array = NDArray[np.float64]


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
