"""From a torque at the tested shaft back to what the scale will show: the reduction's way, walked the other way."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.build import Dimensioned
from certgen.job.model import Job
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
from certgen.messages.catalogue import Message
from certgen.physics.curves import straight_line
from certgen.physics.mechanics import (
    STANDARD_GRAVITY,
    absorber_torque_through_drive,
    lever_arm_torque,
    rope_brake_torque,
    weight,
)

#: The unit a scale is read in where neither job nor rig writes one.
_PLAIN_UNIT = {"mass": "kg", "force": "N", "torque": "N*m"}


@dataclass(frozen=True)
class ScaleLine:
    """How the scale answers a load: indication = zero + slope * load. [kg, N or N*m]"""

    zero: float
    slope: float
    unit: str  # the scale's own
    si_unit: str


def absorber_torque(rig: Rig, shaft_torque: float) -> float:
    """Torque that reaches the absorber.

    Parameters
    ----------
    rig : Rig
        Its drive multiplies by ratio and efficiency.
    shaft_torque : float
        At the tested shaft. [N*m]

    Returns
    -------
    float
        At the absorber. [N*m]

    References
    ----------
    As :func:`certgen.physics.mechanics.absorber_torque_through_drive`.
    """
    drive = rig.drive
    if drive.kind == "belt" and drive.ratio and drive.efficiency:
        return float(absorber_torque_through_drive(shaft_torque, drive.ratio, drive.efficiency))
    return shaft_torque


def scale_reading(job: Job, rig: Rig, shaft_torque: float) -> float:
    """What the scale will show at a torque of the tested shaft.

    Parameters
    ----------
    job : Job
        Its zero before the test and its gravity; standard gravity where none is given.
    rig : Rig
        Drive, tare torque, arm or drum, scale and calibration.
    shaft_torque : float
        At the tested shaft, which turns. [N*m]

    Returns
    -------
    float
        Indication; with a rope brake that of the tight side less that of the slack side. [kg, N or N*m]

    Notes
    -----
    The inverse of :func:`certgen.reduction.torque.table_torque`: its result fed back gives the torque again.
    """
    tare = rig.tare_torque.value if rig.tare_torque else 0.0
    measured = absorber_torque(rig, shaft_torque) - tare
    line = scale_line(job, rig)
    if rig.absorber.kind == TORQUE_SENSOR:
        return line.zero + measured
    return line.zero + line.slope * measured / _torque_of_one(job, rig)


def scale_line(job: Job, rig: Rig) -> ScaleLine:
    """Zero and slope of the scale [as it reads], and the unit it is read in.

    The zero is the job's where it was read, else where the calibration's line begins. A rope brake's is the difference
    of its balances' zeros.
    """
    slope, intercept = 1.0, 0.0
    sensor = rig.absorber.kind == TORQUE_SENSOR or rig.scale is None
    calibration = rig.scale.calibration if rig.scale is not None else None
    if calibration is not None and not sensor:
        line = straight_line([one.value for one in calibration.applied], [one.value for one in calibration.indicated])
        slope, intercept = line.slope, line.intercept
    reads = "torque" if sensor or rig.scale is None else rig.scale.reads
    read = job.readings
    zero = _first((read.zero_before, read.zero_after), intercept)
    if rig.absorber.kind == ROPE:
        zero -= _first((read.zero_before_2, read.zero_after_2), intercept)
    return ScaleLine(zero, slope, own_unit(job, rig), _PLAIN_UNIT[reads])


def own_unit(job: Job, rig: Rig) -> str:
    """The unit the scale is read in: the job's column, else as the rig writes it, else SI."""
    sensor = rig.absorber.kind == TORQUE_SENSOR or rig.scale is None
    table = job.readings.load_test
    for column in table.columns if table is not None else ():
        if column.name == ("torque" if sensor else "scale"):
            return column.unit
    if sensor or rig.scale is None:
        return _PLAIN_UNIT["torque"]
    calibration = rig.scale.calibration
    written = (rig.scale.resolution, *(calibration.indicated if calibration is not None else ()), rig.limits.scale)
    return next((value.unit for value in written if value is not None and value.unit), _PLAIN_UNIT[rig.scale.reads])


def scale_basis(job: Job, rig: Rig) -> tuple[Message, ...]:
    """How a reading of the scale was worked out, step by step."""
    steps = (_lever(rig), _gravity(job, rig), _tare(rig), _zero(job, rig), _drive(rig))
    return tuple(step for step in steps if step is not None)


def _torque_of_one(job: Job, rig: Rig) -> float:
    """Torque at the absorber for one unit of load on the scale: N*m a kilogram or a newton."""
    force = 1.0
    if rig.scale is not None and rig.scale.reads == "mass":
        force = float(weight(1.0, _local_gravity(job)))
    if rig.absorber.kind == ARM:
        assert rig.arm_length is not None  # a rig with an arm has its length
        return float(lever_arm_torque(force, rig.arm_length.value))
    assert rig.drum_radius is not None  # a rope brake has its drum
    rope = rig.rope_diameter.value if rig.rope_diameter else 0.0
    return float(rope_brake_torque(force, 0.0, rig.drum_radius.value, rope))


def _local_gravity(job: Job) -> float:
    return STANDARD_GRAVITY if job.conditions.local_gravity is None else job.conditions.local_gravity


def _first(zeros: tuple[Dimensioned | None, ...], otherwise: float) -> float:
    return next((zero.value for zero in zeros if zero is not None), otherwise)


def _lever(rig: Rig) -> Message:
    if rig.absorber.kind == ARM and rig.arm_length is not None:
        return Message("plan.scale.arm", length=rig.arm_length.value)
    if rig.absorber.kind == ROPE and rig.drum_radius is not None:
        rope = rig.rope_diameter.value if rig.rope_diameter else 0.0
        return Message("plan.scale.rope", radius=rig.drum_radius.value + rope / 2.0)
    return Message("plan.scale.torque_sensor")


def _gravity(job: Job, rig: Rig) -> Message | None:
    if rig.absorber.kind == TORQUE_SENSOR or rig.scale is None or rig.scale.reads != "mass":
        return None
    key = "plan.scale.standard_gravity" if job.conditions.local_gravity is None else "plan.scale.local_gravity"
    return Message(key, gravity=_local_gravity(job))


def _tare(rig: Rig) -> Message:
    if rig.tare_torque is None:
        return Message("plan.scale.no_tare")
    return Message("plan.scale.tare", torque=rig.tare_torque.value)


def _zero(job: Job, rig: Rig) -> Message:
    read = job.readings
    if read.zero_before is not None or (rig.absorber.kind == ROPE and read.zero_before_2 is not None):
        return Message("plan.scale.zero_of_job")
    if rig.scale is not None and rig.scale.calibration is not None and rig.absorber.kind != ROPE:
        return Message("plan.scale.zero_of_calibration")
    return Message("plan.scale.zero_of_day")


def _drive(rig: Rig) -> Message | None:
    drive = rig.drive
    if drive.kind != "belt" or drive.ratio is None or drive.efficiency is None:
        return None
    return Message("plan.scale.belt", ratio=drive.ratio, efficiency=drive.efficiency)
