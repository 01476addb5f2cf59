"""A sweep and a run-down test in the results: what they rest on, what they give, and what is missing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.job.model import MOTOR
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity, measured
from certgen.reduction.model import (
    POINT_UNITS,
    Reduction,
    RunDownFound,
    RunDownMissing,
    SweepFound,
    SweepGap,
    UncertainValue,
)
from certgen.results.log import in_words, left_out_entry
from certgen.results.model import Comparison, Difference, Losses, RunDown, Sweep

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
        left_out=tuple(map(left_out_entry, sweep.left_out)),
    )


def _closing(gap: SweepGap) -> Quantity | None:
    if not math.isfinite(gap.closing_inertia) or not gap.closing_inertia > 0.0:
        return None
    if not math.isfinite(gap.closing_deviation):
        return Quantity(gap.closing_inertia, "kg*m^2")
    return Quantity(gap.closing_inertia, "kg*m^2", 2.0 * gap.closing_deviation, 2.0)


def sweep_method(reduction: Reduction) -> Iterator[Message]:
    """How the load points were made, in sentences."""
    sweep = reduction.sweep
    if sweep is None:
        return
    yield Message("sweep.method", runs=_runs(sweep), bandwidth=sweep.bandwidth)
    if sweep.left_out:
        yield Message("log.left_out", reasons=in_words(sweep.left_out))
    if sweep.inertia is not None:
        yield Message(
            "sweep.inertia_added",
            inertia=sweep.inertia,
            of=Message("sweep.of_rig_and_rotor" if sweep.rotor_included else "sweep.of_rig_alone"),
            torque=sweep.inertia_torque,
            acceleration=sweep.greatest_acceleration,
        )


def _runs(sweep: SweepFound) -> Message:
    if sweep.falling_runs and sweep.rising_runs:
        return Message("sweep.runs.both", falling=sweep.falling_runs, rising=sweep.rising_runs)
    if sweep.falling_runs:
        return Message("sweep.runs.falling", count=sweep.falling_runs)
    return Message("sweep.runs.rising", count=sweep.rising_runs)


def directions_compared(sweep: SweepFound) -> tuple[Comparison, ...]:
    """Torque and current with falling and with rising speed, where the log has both."""
    gap = sweep.gap
    if gap is None:
        return ()
    differences = [_at_speed("torque", gap, gap.falling, gap.rising)]
    if math.isfinite(gap.falling_current) and math.isfinite(gap.rising_current):
        differences.append(_at_speed("current", gap, gap.falling_current, gap.rising_current))
    note = Message("comparison.no_inertia" if sweep.inertia is None else "comparison.inertia_allowed")
    ways = (Message("comparison.falling"), Message("comparison.rising"))
    return (Comparison(Message("comparison.title.sweep"), *ways, tuple(differences), note),)


def _at_speed(quantity: str, gap: SweepGap, falling: float, rising: float) -> Difference:
    title = Message("comparison.at_speed", quantity=Message(f"name.{quantity}"), speed=gap.speed)
    return Difference(title, quantity, POINT_UNITS[quantity], falling, rising)


#: Inertia whose torque is given where a sweep lacks its own. [kg*m^2]
_STEP = 0.01


def missing_sweep(reduction: Reduction) -> Iterator[Message]:
    """What it takes to have the torque of a sweep, and how much it would be about."""
    sweep = reduction.sweep
    if sweep is None or sweep.inertia is not None:
        return
    acceleration, gap = sweep.greatest_acceleration, sweep.gap
    known = {"acceleration": acceleration, "step": _STEP, "part": acceleration * _STEP}
    closing = None if gap is None else _closing(gap)
    if closing is not None and gap is not None and closing.value > CLEARLY_OFF * gap.closing_deviation:
        yield Message("sweep.missing_inertia_about", **known, closing=closing.value)
    else:
        yield Message("sweep.missing_inertia", **known)


# A run-down test in the results: friction, inertia, and how they compare with what the files say.


_METHOD = Message("run_down.method")


def run_down_result(reduction: Reduction, losses: Losses | None) -> RunDown | None:
    """The run-down of a test; ``None`` where there is none of any use."""
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
        left_out=tuple(map(left_out_entry, run_down.left_out)),
    )


def _quantity(figure: UncertainValue | None, unit: str) -> Quantity | None:
    return None if figure is None else Quantity(figure.value, unit, figure.expanded, figure.coverage_factor)


def _term(figure: UncertainValue, unit: str) -> Quantity | None:
    return _quantity(figure, unit) if figure.value else None


def _notes(run_down: RunDownFound, losses: Losses | None) -> Iterator[Message]:
    if run_down.left_out:
        yield Message("run_down.left_out", reasons=in_words(run_down.left_out))
    if not run_down.at_rated:
        yield Message("run_down.not_at_rated_speed")
    of_no_load, loss = None if losses is None else losses.friction_windage, run_down.friction_loss
    if run_down.coasting == MOTOR and of_no_load is not None and loss is not None:
        yield Message("run_down.beside_no_load", no_load=of_no_load.value, run_down=loss.value)


def coasting_part(coasting: str) -> Message:
    """What coasts in a run-down, as it stands in a sentence."""
    return Message(f"run_down.part.{coasting.replace(' ', '_')}")


def run_down_method(reduction: Reduction) -> Iterator[Message]:
    """How friction was found, in a sentence."""
    run_down = reduction.run_down
    if isinstance(run_down, RunDownFound) and run_down.inertia is not None:
        inertia = Message("run_down.inertia_by_load" if run_down.inertia_found else "run_down.inertia_as_stated")
        yield Message("run_down.friction_by", part=coasting_part(run_down.coasting), method=_METHOD, inertia=inertia)


def missing_run_down(reduction: Reduction) -> Iterator[Message]:
    """What keeps a run-down from telling friction or its uncertainty."""
    run_down = reduction.run_down
    if isinstance(run_down, RunDownMissing):
        yield Message("run_down.none", why=run_down.why)
    elif run_down is not None and run_down.inertia is None:
        yield Message(
            "run_down.no_inertia",
            missing=run_down.missing_inputs,
            deceleration=run_down.deceleration,
            speed=run_down.at_speed,
        )
    elif run_down is not None and run_down.missing_inputs:
        yield Message("run_down.no_uncertainty", missing=run_down.missing_inputs)
