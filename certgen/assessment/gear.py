"""A motor's own gear: the ratio its speeds imply, and what it loses."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from certgen.assessment.results import Caution
from certgen.job.model import INDUCTION, Job
from certgen.physics.induction import synchronous_speed
from certgen.physics.mechanics import gear_loss
from certgen.reduction.model import Reduction

#: Ratios further apart than this are not told by the slip of a motor without load. [1] Common practice, no source.
_RATIOS_AGREE = 0.02


def ratio_by_speed(job: Job, reduction: Reduction) -> float | None:
    """Gear ratio as the speeds imply it: synchronous speed over no-load output speed [1].

    ``None`` without a gear, a no-load point, a frequency, or poles on the plate itself (poles found from speeds rest on
    the plate's ratio). The rotor runs below synchronous speed, so the true ratio is at most this.
    """
    idle, frequency = reduction.no_load_point, reduction.points.frequency
    if job.nameplate.gear is None or job.nameplate.poles is None or job.motor.type not in INDUCTION:
        return None
    if idle is None or not float(idle.speed[0]) > 0.0 or not np.isfinite(frequency).any():
        return None
    synchronous = synchronous_speed(float(np.nanmean(frequency)), job.nameplate.poles)
    return float(synchronous) / float(idle.speed[0])


def loss_at_rated_power(job: Job, reduction: Reduction) -> float | None:
    """Loss of the gear [W] at rated power by the plate's gear efficiency, where that power was reached."""
    gear, reached = job.nameplate.gear, reduction.operating["at_rated_power"]
    if gear is None or gear.efficiency is None or reached is None:
        return None
    return float(gear_loss(float(reached.point.shaft_power[0]), gear.efficiency))


def gear_cautions(job: Job, reduction: Reduction) -> Iterator[Caution]:
    """A caution where the speeds imply another gear ratio than the plate's."""
    found, gear = ratio_by_speed(job, reduction), job.nameplate.gear
    if found is None or gear is None or abs(found / gear.ratio - 1.0) <= _RATIOS_AGREE:
        return
    text = "The no-load speed implies another gear ratio than the plate's: doubt slip, poles and the gear itself."
    yield Caution("gear_ratio", text, f"{found:.4g} by speed, {gear.ratio:.4g} on the plate")
