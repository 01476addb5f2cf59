"""Uncertain inputs between the force on the scale and the tested shaft: lever, gravity, tare, belt."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from certgen.document.build import Toleranced
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Drive
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.mechanics import STANDARD_GRAVITY
from certgen.reduction.torque import shaft_torque
from certgen.reduction.uncertainty.assumed_inputs import assumed_input, greatest_of
from certgen.reduction.uncertainty.model import (
    LOCAL_GRAVITY,
    Measured,
    Perturbation,
    UncertainInput,
    perturb_rig,
    toleranced,
    unknown,
    within,
)
from certgen.standards.assumed_accuracy import assumed_accuracy


@dataclass(frozen=True)
class _Part:
    """A length or torque of the rig by its key, and the kind it is where the rig has none."""

    key: str
    unit: str
    none: str = ""

    @property
    def name(self) -> Message:
        return Message(f"input.{self.key}")


_ARM = _Part("arm_length", "m")
_DRUM = _Part("drum_radius", "m")
_ROPE = _Part("rope_diameter", "m", "rope_of_unknown_diameter")
_TARE = _Part("tare_torque", "N*m", "tare_of_greatest_torque")


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
    if value == Toleranced(0.0):
        return
    stated = None if value is None else toleranced(part.name, part.unit, value, _perturbation_of(part))
    yield _assumed(part, value, measured) if stated is None else stated


def _assumed(part: _Part, value: Toleranced | None, measured: Measured) -> UncertainInput:
    """The error of a part of which the rig states the value alone, or nothing.

    One that is stated is never taken as worse than one that is not.
    """
    limits = {}
    if value is not None:
        limits[part.key] = float(assumed_accuracy(part.key).limit(value.value, 0.0))
    if part.none:
        limits[part.none] = _limit_without(part, measured)
    kind = min((name for name in limits if limits[name] > 0.0), key=lambda name: limits[name], default=None)
    to_state = (
        Message("to_state.rig_tolerance", part=part.key) if value is not None else Message(f"to_state.{part.key}")
    )
    if kind is None:
        return unknown(part.name, part.unit, _perturbation_of(part), size=0.0, to_state=to_state)
    return assumed_input(
        part.name, part.unit, limits[kind], _perturbation_of(part), kind=kind, to_state=to_state,
        estimate=0.0 if value is None else value.value,
    )  # fmt: skip


def _limit_without(part: _Part, measured: Measured) -> float:
    """How far a part may be off that the rig does not state: a rope by its drum, a tare by the greatest torque."""
    found = assumed_accuracy(part.none)
    if part is _ROPE:
        drum = measured.rig.drum_radius
        return 0.0 if drum is None else float(found.limit(drum.value, 0.0))
    torque = shaft_torque(measured.readings, measured.rig, measured.local_gravity).at_absorber
    return float(found.limit(0.0, greatest_of(torque)))


def _perturbation_of(part: _Part) -> Perturbation:
    return {_ROPE: _wider_rope, _TARE: _more_tare}.get(part) or perturb_rig(part.key, "value")


def _wider_rope(measured: Measured, error: float | Array) -> Measured:
    """Half of a rope's diameter adds to the radius of the drum, which stays above zero whatever the error."""
    return perturb_rig("drum_radius", "value")(measured, 0.5 * error)


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
    return UncertainInput(Message("input.out_of_square"), "1", standard, _shorter_arm, shared=True, step=standard)


def _shorter_arm(measured: Measured, error: Any) -> Measured:
    arm = measured.rig.arm_length
    assert arm is not None  # a rig with an arm has its length
    shorter = replace(arm, value=arm.value * (1.0 - error))
    return replace(measured, rig=replace(measured.rig, arm_length=shorter))


def _gravity(stated: Toleranced | None) -> Iterator[UncertainInput]:
    """Gravity that nobody stated may be any on earth; a stated one without a tolerance may be rounded.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.8: limits that do not lie evenly about the estimate, (b+ + b-) / sqrt(12).
    """
    of_job = None if stated is None else toleranced(LOCAL_GRAVITY, "m/s^2", stated, _perturb_gravity)
    if of_job is not None:
        yield of_job
        return
    kind = "local_gravity" if stated is None else "local_gravity_of_a_place"
    yield assumed_input(
        LOCAL_GRAVITY, "m/s^2", assumed_accuracy(kind).constant, _perturb_gravity, kind=kind,
        estimate=STANDARD_GRAVITY if stated is None else stated.value,
        to_state=Message("to_state.local_gravity" if stated is None else "to_state.local_gravity_tolerance"),
    )  # fmt: skip


def _perturb_gravity(measured: Measured, error: Any) -> Measured:
    used = STANDARD_GRAVITY if measured.local_gravity is None else measured.local_gravity
    return replace(measured, local_gravity=used + error) if np.any(error) else measured


def _belt(drive: Drive) -> Iterator[UncertainInput]:
    efficiency, ratio = drive.efficiency, drive.ratio
    assert efficiency is not None and ratio is not None  # a belt has both
    yield _of_belt("belt_efficiency", efficiency, drive.tolerance, _more_efficient)
    of_ratio = None if drive.ratio_tolerance is None else drive.ratio_tolerance * ratio
    yield _of_belt("belt_ratio", ratio, of_ratio, perturb_rig("drive", "ratio"))


def _of_belt(kind: str, value: float, limit: float | None, perturb: Perturbation) -> UncertainInput:
    name = Message(f"input.{kind}")
    if limit is not None:
        return within(name, "1", limit, perturb, shared=True, estimate=value)
    found = float(assumed_accuracy(kind).limit(value, 0.0))
    to_state = Message(f"to_state.{kind}")
    return assumed_input(name, "1", found, perturb, kind=kind, to_state=to_state, estimate=value)


def _more_efficient(measured: Measured, error: Any) -> Measured:
    """No belt gives more than it takes; a stated limit of error stays below that."""
    drive = measured.rig.drive
    assert drive.efficiency is not None
    efficiency: Any = np.minimum(drive.efficiency + error, 1.0)
    return replace(measured, rig=replace(measured.rig, drive=replace(drive, efficiency=efficiency)))
