"""A sweep and a run-down test in the results: what they rest on, what they give, and what is missing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.job.model import MOTOR, RIG
from certgen.job.rig import Rig
from certgen.quantity import Quantity, measured
from certgen.reduction.model import Reduction, RunDownFound, RunDownMissing, Sure, SweepFound, SweepGap
from certgen.results.model import Caution, Comparison, Difference, Losses, RunDown, Sweep

_RPM = 60.0 / math.tau
#: A gap between falling and rising speed is told as one when it is wider than so many standard uncertainties ...
_SURELY = 4.0
#: ... and than this part of the greatest torque. Common practice, no source.
_CLEAR = 0.03
#: An inertia that would close the gap is named when it differs by so many of its standard deviations.
_TOLD = 3.0


def sweep_of(reduction: Reduction) -> Sweep | None:
    """The sweep behind the load points; ``None`` where they were read one by one."""
    found = reduction.sweep
    if found is None:
        return None
    gap = found.gap
    return Sweep(
        bandwidth=Quantity(found.bandwidth, "Hz"),
        falling_runs=found.falling_runs,
        rising_runs=found.rising_runs,
        greatest_acceleration=Quantity(found.greatest_acceleration, "rad/s^2"),
        inertia=measured(found.inertia, "kg*m^2"),
        inertia_torque=measured(found.inertia_torque, "N*m"),
        gap_speed=None if gap is None else measured(gap.speed, "rad/s"),
        falling_torque=None if gap is None else measured(gap.falling, "N*m"),
        rising_torque=None if gap is None else measured(gap.rising, "N*m"),
        closing_inertia=None if gap is None else _closing(gap),
    )


def _closing(gap: SweepGap) -> Quantity | None:
    if not math.isfinite(gap.closing_inertia) or not gap.closing_inertia > 0.0:
        return None
    if not math.isfinite(gap.closing_deviation):
        return Quantity(gap.closing_inertia, "kg*m^2")
    return Quantity(gap.closing_inertia, "kg*m^2", 2.0 * gap.closing_deviation, 2.0)


def sweep_method(reduction: Reduction) -> Iterator[str]:
    """How the load points were made, in sentences."""
    found = reduction.sweep
    if found is None:
        return
    runs = " and ".join(
        f"{count} with {way} speed"
        for count, way in ((found.falling_runs, "falling"), (found.rising_runs, "rising"))
        if count
    )
    mean = ", each the mean of both ways" if found.falling_runs and found.rising_runs else ""
    yield (
        f"Load points made from a sweep ({runs}{mean}): torque, speed and its rate of change through one low-pass of "
        f"{found.bandwidth:.3g} Hz."
    )
    if found.inertia is not None:
        rotor = "rig and rotor" if found.rotor_included else "the rig alone; the rotor's is not stated"
        yield (
            f"Inertia {found.inertia:.3g} kg·m² ({rotor}) times the rate of change of speed added, up to "
            f"{found.inertia_torque:.2g} N·m at {found.greatest_acceleration:.3g} rad/s²."
        )


def directions_compared(found: SweepFound) -> tuple[Comparison, ...]:
    """Torque and current with falling and with rising speed, where the log has both."""
    gap = found.gap
    if gap is None:
        return ()
    at = f"at {gap.speed * _RPM:.0f} rpm"
    differences = [Difference(f"Torque {at}", "N*m", gap.falling, gap.rising)]
    if math.isfinite(gap.falling_current) and math.isfinite(gap.rising_current):
        differences.append(Difference(f"Current {at}", "A", gap.falling_current, gap.rising_current))
    allowed = "inertia allowed for" if found.inertia is not None else "torque at the absorber, no inertia stated"
    note = f"At the speed where the torques lie furthest apart ({allowed})."
    return (Comparison("Sweep with falling and with rising speed", "falling", "rising", tuple(differences), note),)


def sweep_cautions(reduction: Reduction) -> Iterator[Caution]:
    """A gap between the runs down and up that scatter does not explain."""
    found = reduction.sweep
    gap = None if found is None else found.gap
    if found is None or gap is None or found.inertia is None:
        return
    size = abs(gap.falling - gap.rising)
    greatest = max(abs(float(torque)) for torque in reduction.points.torque)
    if size <= _SURELY * gap.deviation or size <= _CLEAR * greatest:
        return
    text = (
        "The torques of the sweep down and up do not agree: check the inertias, and whether scale or torque sensor "
        "follow slower than the tachometer."
    )
    because = f"{size:.2g} N·m apart at {gap.speed * _RPM:.0f} rpm"
    if _names_inertia(found, gap):
        because += f"; {gap.closing_inertia:.3g} kg·m² would close the gap, {found.inertia:.3g} kg·m² is stated"
    yield Caution("sweep_gap", text, because)


def _names_inertia(found: SweepFound, gap: SweepGap) -> bool:
    off = abs(gap.closing_inertia - (found.inertia or 0.0))
    return gap.closing_inertia > 0.0 and off > _TOLD * gap.closing_deviation


def missing_sweep(reduction: Reduction) -> Iterator[str]:
    """What it takes to have the torque of a sweep, and how much it would be about."""
    found = reduction.sweep
    if found is None or found.inertia is not None:
        return
    part = found.greatest_acceleration * 0.01
    sentence = (
        "Torque of the sweep: inertia is missing in the rig file; speed changed by up to "
        f"{found.greatest_acceleration:.3g} rad/s², so that each 0.01 kg·m² makes {part:.2g} N·m"
    )
    gap = found.gap
    closing = None if gap is None else _closing(gap)
    if closing is not None and gap is not None and closing.value > _TOLD * gap.closing_deviation:
        sentence += f" (runs down and up would agree with {closing.value:.3g} kg·m² in all, the rotor's included)"
    yield f"{sentence}."


# A run-down test in the results: friction, inertia, and how they compare with what the files say.


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
            f"Friction by run-down: {' and '.join(map(str, found.missing_inputs))} missing; the speed fell by "
            f"{found.deceleration:.3g} rad/s² at {found.at_speed * _RPM:.0f} rpm. A second run-down with a known load "
            "(run_down_braked) tells the inertia."
        )
    elif found is not None and found.missing_inputs:
        yield f"Uncertainty of the run-down: not stated, {' and '.join(map(str, found.missing_inputs))} missing."


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
