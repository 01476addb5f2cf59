"""What is not sure between the force on the scale and the tested shaft: lever, gravity, tare, belt."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from certgen.document.build import Toleranced
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Drive
from certgen.physics.domain import Array
from certgen.physics.mechanics import STANDARD_GRAVITY
from certgen.reduction.uncertainty.model import (
    LOCAL_GRAVITY,
    Measured,
    Shift,
    UncertainInput,
    shift_rig,
    toleranced,
    unstated,
    within,
)

#: Least and greatest gravity on the earth's surface. [m/s^2] C. Hirt, S. Claessens, T. Fecher, M. Kuhn, R. Pail and
#: M. Rexer, Geophys. Res. Lett. 40 (2013) 4279: Nevado Huascaran, and the Arctic Ocean.
LEAST_GRAVITY, GREATEST_GRAVITY = 9.7639, 9.8337


@dataclass(frozen=True)
class _Part:
    """A length or torque of the rig by its key, and what stands in the file where there is none."""

    key: str
    name: str
    unit: str
    none: str = ""


_ARM = _Part("arm_length", "arm length", "m")
_DRUM = _Part("drum_radius", "drum radius", "m")
_ROPE = _Part("rope_diameter", "rope diameter", "m", "'rope_diameter: 0 mm' for a thin band")
_TARE = _Part("tare_torque", "tare torque", "N*m", "'tare_torque: 0 N*m' where the scale sees all friction")


def lever_inputs(measured: Measured, gravity: Toleranced | None) -> Iterator[UncertainInput]:
    """Lever, gravity, tare torque and belt of a rig; ``gravity`` is what the job states of it."""
    rig = measured.rig
    kind = rig.absorber.kind
    tare = (_TARE,) if rig.tare_torque is not None else ()
    parts = {ARM: (_ARM, _TARE), ROPE: (_DRUM, _ROPE, *tare), TORQUE_SENSOR: tare}[kind]
    for part in parts:
        yield from _error_of(part, measured)
    if kind == ARM and rig.out_of_square is not None:
        yield _out_of_square(rig.out_of_square)
    if kind != TORQUE_SENSOR and rig.scale is not None and rig.scale.reads == "mass":
        yield from _gravity(gravity)
    if rig.drive.kind == "belt":
        yield from _belt(rig.drive)


def _error_of(part: _Part, measured: Measured) -> Iterator[UncertainInput]:
    """The error of a part; a plain zero says that it is not there."""
    value: Toleranced | None = getattr(measured.rig, part.key)
    if value is None:
        missing_inputs = f"{part.key} in the rig file ({part.none})"
        yield unstated(part.name, part.unit, _shift_of(part), size=0.0, missing_inputs=missing_inputs)
    elif value != Toleranced(0.0):
        missing_inputs = f"{part.key}.tolerance in the rig file"
        yield toleranced(part.name, part.unit, value, _shift_of(part), missing_inputs=missing_inputs)


def _shift_of(part: _Part) -> Shift:
    return {_ROPE: _wider_rope, _TARE: _more_tare}.get(part) or shift_rig(part.key, "value")


def _wider_rope(measured: Measured, error: float | Array) -> Measured:
    """Half of a rope's diameter adds to the radius of the drum, which stays above zero whatever the error."""
    return shift_rig("drum_radius", "value")(measured, 0.5 * error)


def _more_tare(measured: Measured, error: Any) -> Measured:
    tare = measured.rig.tare_torque or Toleranced(0.0)
    more = replace(tare, value=tare.value + error)
    return replace(measured, rig=replace(measured.rig, tare_torque=more)) if np.any(error) else measured


def _out_of_square(limit: float) -> UncertainInput:
    """The arm counts by the cosine of an angle that lies anywhere up to a limit [rad], which always makes it shorter.

    References
    ----------
    JCGM 100:2008 (GUM), F.2.4.4 (cosine error). With 1 - cos(b) near b^2/2, and b rectangular within a either side,
    the root mean square of the error is a^2 / sqrt(20); its mean, a^2/6, is not taken out.
    """
    standard = limit**2 / math.sqrt(20.0)
    return UncertainInput("arm out of square", "1", standard, _shorter_arm, shared=True, step=standard)


def _shorter_arm(measured: Measured, error: Any) -> Measured:
    arm = measured.rig.arm_length
    assert arm is not None  # a rig with an arm has its length
    shorter = replace(arm, value=arm.value * (1.0 - error))
    return replace(measured, rig=replace(measured.rig, arm_length=shorter))


def _gravity(stated: Toleranced | None) -> Iterator[UncertainInput]:
    """Gravity that nobody stated may be any on earth; a stated one without a tolerance is taken as exact.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.8: limits that do not lie evenly about the estimate, (b+ + b-) / sqrt(12).
    """
    if stated is None:
        standard = (GREATEST_GRAVITY - LEAST_GRAVITY) / math.sqrt(12.0)
        yield UncertainInput(
            LOCAL_GRAVITY, "m/s^2", standard, _shift_gravity, shared=True, step=standard, estimate=STANDARD_GRAVITY
        )
    elif stated != Toleranced(stated.value):
        yield toleranced(LOCAL_GRAVITY, "m/s^2", stated, _shift_gravity, missing_inputs="")


def _shift_gravity(measured: Measured, error: Any) -> Measured:
    used = STANDARD_GRAVITY if measured.local_gravity is None else measured.local_gravity
    return replace(measured, local_gravity=used + error) if np.any(error) else measured


def _belt(drive: Drive) -> Iterator[UncertainInput]:
    efficiency, ratio = drive.efficiency, drive.ratio
    assert efficiency is not None and ratio is not None  # a belt has both
    if drive.tolerance is None:
        missing_inputs = "drive.tolerance in the rig file"
        yield unstated("belt efficiency", "1", _more_efficient, size=efficiency, missing_inputs=missing_inputs)
    else:
        yield within("belt efficiency", "1", drive.tolerance, _more_efficient, shared=True, estimate=efficiency)
    shift = shift_rig("drive", "ratio")
    if drive.ratio_tolerance is None:
        missing_inputs = "drive.ratio_tolerance in the rig file"
        yield unstated("belt ratio", "1", shift, size=ratio, missing_inputs=missing_inputs)
    else:
        yield within("belt ratio", "1", drive.ratio_tolerance * ratio, shift, shared=True, estimate=ratio)


def _more_efficient(measured: Measured, error: Any) -> Measured:
    """No belt gives more than it takes; a stated limit of error stays below that."""
    drive = measured.rig.drive
    assert drive.efficiency is not None
    efficiency: Any = np.minimum(drive.efficiency + error, 1.0)
    return replace(measured, rig=replace(measured.rig, drive=replace(drive, efficiency=efficiency)))
