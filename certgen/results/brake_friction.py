"""Torque that the brake takes and its scale does not show, by a run with the brake off: put into every load point."""

from __future__ import annotations

import math
from dataclasses import replace

from certgen.document.build import Toleranced
from certgen.job.model import THREE_PHASE, Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.mechanics import motor_torque_through_drive
from certgen.quantity import Quantity
from certgen.readings.model import Readings
from certgen.reduction.model import BrakeFriction, Reduction, TooFewReadings
from certgen.reduction.reduce import excitation_of_brake, reduce_test
from certgen.results.heat import heat_figures
from certgen.results.losses import LossTest, friction_of_brake
from certgen.standards.criteria import TablesBeside

#: Friction above this part of rated torque is a fault of bench or readings, and no correction. [1] Common practice, no
#: source.
MOST_OF_RATED = 0.1


#: So small an uncertainty [N*m] that it counts as none: that of the tare torque plays no part in what the run shows.
_EXACT = 1e-9


def with_brake_friction(
    job: Job, rig: Rig, readings: Readings, companions: TablesBeside
) -> tuple[Rig, BrakeFriction | None]:
    """The rig with the torque that a run with the brake off shows beside its scale, in place of its tare torque.

    Parameters
    ----------
    job, rig : Job, Rig
        Motor, plate and bench. [SI]
    readings : Readings
        The tables. [SI]
    companions : TablesBeside
        The loss procedure and the limits of temperature beside the criteria.

    Returns
    -------
    tuple of (Rig, BrakeFriction or None)
        The rig as it was where there is no such run, or its torque is not used; then the reason is with it.

    Notes
    -----
    The torque is what the motor gives by its input less its losses, less what the scale shows, so that it holds whatever
    tare torque the rig states; its uncertainty takes the place of that of the tare torque and holds what the no-load
    test itself may be off. It is added to every load point as a torque that does not change with speed or load.

    References
    ----------
    CSA C390, annex C, and IEEE Std 112, method B; from memory.
    """
    plain = job.motor.type == THREE_PHASE and job.nameplate.gear is None and job.nameplate.power is not None
    if not plain or "no_load" not in readings.others or readings.sweep is not None:
        return rig, None
    typed = job.readings.load_test is None or job.readings.load_test.steady is None  # no log of many samples
    if typed and not (excitation_of_brake(readings.load_test) == 0.0).any():
        return rig, None
    tare = rig.tare_torque or Toleranced(0.0)
    exact = replace(rig, tare_torque=Toleranced(tare.value, expanded_uncertainty=_EXACT))
    reduction = reduce_test(job, exact, readings)
    if not (reduction.brake_current == 0.0).any():
        return rig, None
    beyond = _beyond_tare(job, readings, reduction, companions)
    if beyond is None:
        return rig, None
    found = _judged(beyond, tare, _per_tare(rig), job)
    if not found.used:
        return rig, found
    value = tare.value + beyond.value / _per_tare(rig)
    spread = (beyond.expanded_uncertainty or 0.0) / _per_tare(rig)
    return replace(rig, tare_torque=Toleranced(value, expanded_uncertainty=spread)), found


def _beyond_tare(job: Job, readings: Readings, reduction: Reduction, companions: TablesBeside) -> Quantity | None:
    """Torque at the shaft beyond the rig's tare torque, its uncertainty with k = 2. [N*m]"""
    if reduction.log is not None:
        readings = reduction.log.readings
    thermal = heat_figures(job, readings, reduction, companions).thermal
    try:
        return friction_of_brake(LossTest(job, readings, reduction, thermal, companions.procedure))
    except TooFewReadings:
        return None


def _per_tare(rig: Rig) -> float:
    """Torque at the shaft for a torque at the absorber [1]."""
    if rig.drive.kind == "belt" and rig.drive.ratio is not None and rig.drive.efficiency is not None:
        return float(motor_torque_through_drive(1.0, rig.drive.ratio, rig.drive.efficiency))
    return 1.0


def _judged(beyond: Quantity, tare: Toleranced, per_tare: float, job: Job) -> BrakeFriction:
    """Whether the load points are corrected by it, with the reason where they are not."""
    stated = tare.tolerance if tare.tolerance is not None else tare.expanded_uncertainty
    spread = beyond.expanded_uncertainty
    plate, total = job.nameplate, tare.value * per_tare + beyond.value
    if spread is None:
        return BrakeFriction(beyond, used=False, reason=Message("brake_friction.not_known"))
    if abs(beyond.value) <= math.hypot(spread, (stated or 0.0) * per_tare):
        return BrakeFriction(beyond, used=False, reason=Message("brake_friction.within", spread=spread))
    if total < -spread:
        return BrakeFriction(beyond, used=False, reason=Message("brake_friction.negative"))
    rated = None if plate.power is None or plate.speed is None else plate.power / plate.speed
    if rated is not None and abs(total) > MOST_OF_RATED * rated:
        return BrakeFriction(beyond, used=False, reason=Message("brake_friction.too_large", part=abs(total) / rated))
    return BrakeFriction(beyond, used=True)
