"""A run-down test in the results: friction, inertia, and how they compare with what the files say."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.changing_speed import RunDown
from certgen.assessment.results import Caution, Losses
from certgen.job.rig import Rig
from certgen.job.run_down import MOTOR, RIG
from certgen.quantity import Quantity, measured
from certgen.reduction.changing_speed import RunDownFound, RunDownMissing, Sure
from certgen.reduction.model import Reduction

_RPM = 60.0 / math.tau
_METHOD = "run-down with the supply off (retardation method, IEC 60034-2-2:2024)"
#: Friction and tare torque differ clearly where one is more than so many times the other; an inertia found differs
#: clearly from the stated one by this part. Both beyond their uncertainties. Common practice, no source.
_TIMES = 1.5
_PART = 0.1


def run_down_result(reduction: Reduction, losses: Losses | None) -> RunDown | None:
    """The run-down of a test; ``None`` where there is none that tells anything."""
    found = reduction.run_down
    if not isinstance(found, RunDownFound):
        return None
    units = ("N*m", "N*m*s", "N*m*s^2")
    terms = (
        [None] * 3 if found.terms is None else [_term(one, unit) for one, unit in zip(found.terms, units, strict=True)]
    )
    return RunDown(
        coasting=found.coasting,
        method=_METHOD,
        lowest_speed=Quantity(found.lowest, "rad/s"),
        highest_speed=Quantity(found.highest, "rad/s"),
        at_speed=Quantity(found.at_speed, "rad/s"),
        at_rated_speed=found.at_rated,
        deceleration=Quantity(found.deceleration, "rad/s^2"),
        residual=measured(found.residual, "rad/s"),
        inertia=_quantity(found.inertia, "kg*m^2"),
        inertia_found=found.inertia_found,
        inertia_stated=measured(found.inertia_stated, "kg*m^2"),
        friction_torque=_quantity(found.friction_torque, "N*m"),
        friction_loss=_quantity(found.friction_loss, "W"),
        constant_term=terms[0],
        viscous_term=terms[1],
        windage_term=terms[2],
        notes=tuple(_notes(found, losses)),
    )


def _quantity(sure: Sure | None, unit: str) -> Quantity | None:
    return None if sure is None else Quantity(sure.value, unit, sure.expanded, sure.coverage_factor)


def _term(sure: Sure, unit: str) -> Quantity | None:
    return _quantity(sure, unit) if sure.value else None


def _notes(found: RunDownFound, losses: Losses | None) -> Iterator[str]:
    if not found.at_rated:
        yield "Rated speed was not passed in the run-down: friction is told at its highest speed, not extrapolated."
    of_no_load = None if losses is None else losses.friction_windage
    if found.coasting == MOTOR and of_no_load is not None and found.friction_loss is not None:
        yield (
            f"Friction and windage by the no-load test {of_no_load.value:.3g} W, by the run-down "
            f"{found.friction_loss.value:.3g} W."
        )


def run_down_method(reduction: Reduction) -> Iterator[str]:
    """How friction was found, in a sentence."""
    found = reduction.run_down
    if isinstance(found, RunDownFound) and found.inertia is not None:
        inertia = "found by a second run under a known load" if found.inertia_found else "as stated"
        yield f"Friction of the {found.coasting} by {_METHOD}, inertia {inertia}."


def missing_run_down(reduction: Reduction) -> Iterator[str]:
    """What keeps a run-down from telling friction or its uncertainty."""
    found = reduction.run_down
    if isinstance(found, RunDownMissing):
        yield f"Run-down: {found.why}."
    elif found is not None and found.inertia is None:
        yield (
            f"Friction by run-down: {' and '.join(found.lacking)} missing; the speed fell by "
            f"{found.deceleration:.3g} rad/s² at {found.at_speed * _RPM:.0f} rpm. A second run-down with a known load "
            "(run_down_braked) tells the inertia."
        )
    elif found is not None and found.lacking:
        yield f"Uncertainty of the run-down: not stated, {' and '.join(found.lacking)} missing."


def run_down_cautions(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    """For people first; then where the run-down contradicts the rig or the stated inertia."""
    found = reduction.run_down
    if not isinstance(found, RunDownFound):
        return
    yield Caution(
        "coasting",
        "With the supply off the shaft coasts on: keep it guarded and let it stop by itself, never by hand.",
        f"{found.lasted:.0f} s of run-down from {found.highest * _RPM:.0f} rpm",
    )
    yield from _tare(rig, found)
    stated, inertia = found.inertia_stated, found.inertia
    if stated is not None and inertia is not None:
        off = abs(inertia.value - stated)
        if off > max(_PART * stated, inertia.expanded or 0.0):
            text = "The inertia found by run-down is not the one stated: weigh up both before a sweep is trusted."
            yield Caution("inertia", text, f"{inertia.value:.3g} kg·m² found, {stated:.3g} kg·m² stated")


def _tare(rig: Rig, found: RunDownFound) -> Iterator[Caution]:
    """The rig's own friction against its tare torque; of motor and rig together it can only be less."""
    friction, tare = found.friction_torque, rig.tare_torque
    if friction is None or tare is None or found.coasting == MOTOR:
        return
    doubt = math.hypot(friction.expanded or 0.0, tare.tolerance or tare.expanded_uncertainty or 0.0)
    ratio = tare.value / friction.value
    apart = abs(tare.value - friction.value) > doubt
    clearly = ratio > _TIMES or (found.coasting == RIG and ratio < 1.0 / _TIMES)
    if apart and clearly:
        text = (
            "Tare torque and friction by run-down differ: measure the tare anew (friction that reacts on the cradle is "
            "seen by the scale and no part of it)."
        )
        because = f"tare {tare.value:.2g} N·m, run-down of {found.coasting} {friction.value:.2g} N·m"
        yield Caution("tare_against_run_down", text, because)
