"""Sweep and run-down told in the terminal, as ``certgen check`` prints them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.changing_speed import RunDown, Sweep
from certgen.assessment.results import Results
from certgen.quantity import Quantity

_RPM = 60.0 / math.tau


def changing_speed_told(results: Results) -> Iterator[str]:
    """Lines on the sweep and the run-down; none where the test has neither."""
    if results.sweep is not None:
        yield from _sweep(results.sweep)
    if results.run_down is not None:
        yield from _run_down(results.run_down)


def _sweep(found: Sweep) -> Iterator[str]:
    yield (
        f"sweep: {found.falling_runs} with falling and {found.rising_runs} with rising speed, low-pass "
        f"{_figure(found.bandwidth)}, up to {_figure(found.greatest_acceleration)}"
    )
    if found.inertia is not None:
        yield f"  inertia {_figure(found.inertia)}, up to {_figure(found.inertia_torque)}"
    if found.closing_inertia is not None:
        yield f"  runs down and up would agree best with {_figure(found.closing_inertia)}"


def _run_down(found: RunDown) -> Iterator[str]:
    low, high = (one.value * _RPM for one in (found.lowest_speed, found.highest_speed))
    yield f"run-down of {found.coasting}, from {high:.0f} rpm to {low:.0f} rpm:"
    at = f"{'rated speed, ' if found.at_rated_speed else ''}{found.at_speed.value * _RPM:.0f} rpm"
    if found.friction_torque is not None:
        yield f"  friction {_figure(found.friction_torque)}, {_figure(found.friction_loss)} at {at}"
        parts = (("constant", found.constant_term), ("viscous", found.viscous_term), ("windage", found.windage_term))
        told = [f"{name} {_figure(term)}" for name, term in parts if term is not None]
        residual = "" if found.residual is None else f"; speeds scatter by {found.residual.value * _RPM:.2g} rpm"
        yield f"  terms: {', '.join(told)}{residual}"
    else:
        yield f"  deceleration {_figure(found.deceleration)} at {at}"
    if found.inertia is not None:
        basis = "found by the braked run" if found.inertia_found else "as stated"
        yield f"  inertia {_figure(found.inertia)}, {basis}"
    yield from (f"  {note}" for note in found.notes)


def _figure(item: Quantity | None) -> str:
    if item is None:
        return ""
    spread = "" if item.expanded_uncertainty is None else f" ± {item.expanded_uncertainty:.2g}"
    return f"{item.value:.4g}{spread} {item.unit}"
