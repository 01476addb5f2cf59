"""The plate of a geared motor, brought to its output shaft."""

from __future__ import annotations

import math
from dataclasses import replace

from certgen.job.model import INDUCTION, MOTOR_SHAFT, OUTPUT_SHAFT, Job

#: Taken where the plate gives no frequency: the higher of the two mains frequencies, so that the speed of the
#: motor is never thought impossible when it is not. [Hz]
_HIGHEST_MAINS = 60.0


def at_output_shaft(job: Job) -> Job:
    """The same job with the plate's speed at the output shaft of its gear.

    A plate gives either the speed of the output shaft or that of the motor inside. ``gear.speed_of`` says which;
    where it is left out and the output shaft would need a motor faster than its synchronous speed, the speed is
    the motor's. Otherwise it is taken as the output shaft's.
    """
    plate = job.nameplate
    gear = plate.gear if plate is not None else None
    if plate is None or gear is None or plate.speed is None or gear.ratio is None:
        return job
    speed_of = gear.speed_of or (MOTOR_SHAFT if _too_fast(job) else OUTPUT_SHAFT)
    speed = plate.speed / gear.ratio if speed_of == MOTOR_SHAFT else plate.speed
    return replace(job, nameplate=replace(plate, speed=speed, gear=replace(gear, speed_of=speed_of)))


def _too_fast(job: Job) -> bool:
    """Whether the plate's speed at the output shaft would drive the motor past its synchronous speed."""
    plate = job.nameplate
    if job.motor is None or job.motor.type not in INDUCTION or plate.gear is None or plate.speed is None:
        return False
    pole_pairs = (plate.poles or 2) / 2
    synchronous = 2.0 * math.pi * (plate.frequency or _HIGHEST_MAINS) / pole_pairs
    return plate.speed * plate.gear.ratio > synchronous
