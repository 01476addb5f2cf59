"""A sweep and a run-down test in the results: what they rest on, what they give, and what is missing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.job.model import MOTOR
from certgen.quantity import Quantity, measured
from certgen.reduction.model import Reduction, RunDownFound, RunDownMissing, SweepFound, SweepGap, UncertainValue
from certgen.results.model import Comparison, Difference, Losses, RunDown, Sweep

_RPM = 60.0 / math.tau
#: An inertia that would close the gap is named when it differs by so many of its standard deviations.
CLEARLY_OFF = 3.0


def sweep_of(reduction: Reduction) -> Sweep | None:
    """The sweep behind the load points; ``None`` where they were read one by one."""
    sweep = reduction.sweep
    if sweep is None:
        return None
    gap = sweep.gap
    return Sweep(
        bandwidth=Quantity(sweep.bandwidth, "Hz"),
        falling_runs=sweep.falling_runs,
        rising_runs=sweep.rising_runs,
        greatest_acceleration=Quantity(sweep.greatest_acceleration, "rad/s^2"),
        inertia=measured(sweep.inertia, "kg*m^2"),
        inertia_torque=measured(sweep.inertia_torque, "N*m"),
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
    sweep = reduction.sweep
    if sweep is None:
        return
    runs = " and ".join(
        f"{count} with {way} speed"
        for count, way in ((sweep.falling_runs, "falling"), (sweep.rising_runs, "rising"))
        if count
    )
    mean = ", each the mean of both ways" if sweep.falling_runs and sweep.rising_runs else ""
    yield (
        f"Load points made from a sweep ({runs}{mean}): torque, speed and its rate of change through one low-pass of "
        f"{sweep.bandwidth:.3g} Hz."
    )
    if sweep.inertia is not None:
        rotor = "rig and rotor" if sweep.rotor_included else "the rig alone; the rotor's is not stated"
        yield (
            f"Inertia {sweep.inertia:.3g} kg·m² ({rotor}) times the rate of change of speed added, up to "
            f"{sweep.inertia_torque:.2g} N·m at {sweep.greatest_acceleration:.3g} rad/s²."
        )


def directions_compared(sweep: SweepFound) -> tuple[Comparison, ...]:
    """Torque and current with falling and with rising speed, where the log has both."""
    gap = sweep.gap
    if gap is None:
        return ()
    at = f"at {gap.speed * _RPM:.0f} rpm"
    differences = [Difference(f"Torque {at}", "N*m", gap.falling, gap.rising)]
    if math.isfinite(gap.falling_current) and math.isfinite(gap.rising_current):
        differences.append(Difference(f"Current {at}", "A", gap.falling_current, gap.rising_current))
    allowed = "inertia allowed for" if sweep.inertia is not None else "torque at the absorber, no inertia stated"
    note = f"At the speed where the torques lie furthest apart ({allowed})."
    return (Comparison("Sweep with falling and with rising speed", "falling", "rising", tuple(differences), note),)


def missing_sweep(reduction: Reduction) -> Iterator[str]:
    """What it takes to have the torque of a sweep, and how much it would be about."""
    sweep = reduction.sweep
    if sweep is None or sweep.inertia is not None:
        return
    part = sweep.greatest_acceleration * 0.01
    sentence = (
        "Torque of the sweep: inertia is missing in the rig file; speed changed by up to "
        f"{sweep.greatest_acceleration:.3g} rad/s², so that each 0.01 kg·m² makes {part:.2g} N·m"
    )
    gap = sweep.gap
    closing = None if gap is None else _closing(gap)
    if closing is not None and gap is not None and closing.value > CLEARLY_OFF * gap.closing_deviation:
        sentence += f" (runs down and up would agree with {closing.value:.3g} kg·m² in all, the rotor's included)"
    yield f"{sentence}."


# A run-down test in the results: friction, inertia, and how they compare with what the files say.


_METHOD = "run-down with the supply off (retardation method, IEC 60034-2-2:2024)"


def run_down_result(reduction: Reduction, losses: Losses | None) -> RunDown | None:
    """The run-down of a test; ``None`` where there is none that tells anything."""
    run_down = reduction.run_down
    if not isinstance(run_down, RunDownFound):
        return None
    units = ("N*m", "N*m*s", "N*m*s^2")
    terms = (
        [None] * 3
        if run_down.terms is None
        else [_term(term, unit) for term, unit in zip(run_down.terms, units, strict=True)]
    )
    return RunDown(
        coasting=run_down.coasting,
        method=_METHOD,
        lowest_speed=Quantity(run_down.lowest, "rad/s"),
        highest_speed=Quantity(run_down.highest, "rad/s"),
        at_speed=Quantity(run_down.at_speed, "rad/s"),
        at_rated_speed=run_down.at_rated,
        deceleration=Quantity(run_down.deceleration, "rad/s^2"),
        residual=measured(run_down.residual, "rad/s"),
        inertia=_quantity(run_down.inertia, "kg*m^2"),
        inertia_found=run_down.inertia_found,
        inertia_stated=measured(run_down.inertia_stated, "kg*m^2"),
        friction_torque=_quantity(run_down.friction_torque, "N*m"),
        friction_loss=_quantity(run_down.friction_loss, "W"),
        constant_term=terms[0],
        viscous_term=terms[1],
        windage_term=terms[2],
        notes=tuple(_notes(run_down, losses)),
    )


def _quantity(figure: UncertainValue | None, unit: str) -> Quantity | None:
    return None if figure is None else Quantity(figure.value, unit, figure.expanded, figure.coverage_factor)


def _term(figure: UncertainValue, unit: str) -> Quantity | None:
    return _quantity(figure, unit) if figure.value else None


def _notes(run_down: RunDownFound, losses: Losses | None) -> Iterator[str]:
    if not run_down.at_rated:
        yield "Rated speed was not passed in the run-down: friction is told at its highest speed, not extrapolated."
    of_no_load = None if losses is None else losses.friction_windage
    if run_down.coasting == MOTOR and of_no_load is not None and run_down.friction_loss is not None:
        yield (
            f"Friction and windage by the no-load test {of_no_load.value:.3g} W, by the run-down "
            f"{run_down.friction_loss.value:.3g} W."
        )


def run_down_method(reduction: Reduction) -> Iterator[str]:
    """How friction was found, in a sentence."""
    run_down = reduction.run_down
    if isinstance(run_down, RunDownFound) and run_down.inertia is not None:
        inertia = "found by a second run under a known load" if run_down.inertia_found else "as stated"
        yield f"Friction of the {run_down.coasting} by {_METHOD}, inertia {inertia}."


def missing_run_down(reduction: Reduction) -> Iterator[str]:
    """What keeps a run-down from telling friction or its uncertainty."""
    run_down = reduction.run_down
    if isinstance(run_down, RunDownMissing):
        yield f"Run-down: {run_down.why}."
    elif run_down is not None and run_down.inertia is None:
        yield (
            f"Friction by run-down: {' and '.join(map(str, run_down.missing_inputs))} missing; the speed fell by "
            f"{run_down.deceleration:.3g} rad/s² at {run_down.at_speed * _RPM:.0f} rpm. A second run-down with a known load "
            "(run_down_braked) tells the inertia."
        )
    elif run_down is not None and run_down.missing_inputs:
        yield f"Uncertainty of the run-down: not stated, {' and '.join(map(str, run_down.missing_inputs))} missing."
