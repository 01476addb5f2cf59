"""From a torque at the tested shaft back to what the scale will show: the reduction's way, walked the other way."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.build import Dimensioned
from certgen.job.model import Job
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
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
    return next((one.unit for one in written if one is not None and one.unit), _PLAIN_UNIT[rig.scale.reads])


def scale_basis(job: Job, rig: Rig) -> tuple[str, ...]:
    """In sentences, how a reading of the scale was worked out."""
    return tuple(
        sentence for sentence in (_lever(rig), _gravity(job, rig), _tare(rig), _zero(job, rig), _drive(rig)) if sentence
    )


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
    return next((one.value for one in zeros if one is not None), otherwise)


def _lever(rig: Rig) -> str:
    if rig.absorber.kind == ARM and rig.arm_length is not None:
        return f"Arm of {rig.arm_length.value:g} m."
    if rig.absorber.kind == ROPE and rig.drum_radius is not None:
        rope = rig.rope_diameter.value if rig.rope_diameter else 0.0
        radius = 1000.0 * (rig.drum_radius.value + rope / 2.0)
        return f"Tight side less slack side, at a radius of {radius:g} mm to the middle of the rope."
    return "The torque sensor is read as it stands."


def _gravity(job: Job, rig: Rig) -> str:
    if rig.absorber.kind == TORQUE_SENSOR or rig.scale is None or rig.scale.reads != "mass":
        return ""
    basis = "standard, as the job states none" if job.conditions.local_gravity is None else "of the job"
    return f"Gravity {_local_gravity(job):.5g} m/s² ({basis})."


def _tare(rig: Rig) -> str:
    if rig.tare_torque is None:
        return "No tare torque is stated: none is taken off."
    return f"Tare torque {rig.tare_torque.value:.3g} N·m taken off: the scale does not see it."


def _zero(job: Job, rig: Rig) -> str:
    read = job.readings
    if read.zero_before is not None or (rig.absorber.kind == ROPE and read.zero_before_2 is not None):
        return "Zero as the job gives it."
    if rig.scale is not None and rig.scale.calibration is not None and rig.absorber.kind != ROPE:
        return "Zero where the calibration's line begins; add what the zero of the day differs from it."
    return "Zero taken as nothing; add the zero of the day."


def _drive(rig: Rig) -> str:
    drive = rig.drive
    if drive.kind != "belt" or drive.ratio is None or drive.efficiency is None:
        return ""
    return f"Belt {drive.ratio:g} to 1, efficiency {drive.efficiency:g}: the brake feels torque times both."
