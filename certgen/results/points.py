"""Load points, curves and uncertainty budget as results, every figure with its uncertainty where known."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.electrics import power_factor
from certgen.reduction.model import POINT_UNITS, LoadPoints, Reduction
from certgen.reduction.uncertainty.model import Contribution, Uncertainty
from certgen.results.log import log_curves
from certgen.results.model import EXTRAPOLATED, FULL_SPAN, IMPOSSIBLE, BudgetLine, Curve, Curves, Point
from certgen.results.rig_use import at_full_span
from certgen.results.uncertainty import quantity

#: What makes a bench show more power out than in. Common practice, no source.
IMPOSSIBLE_CAUSES = Message("impossible.causes")

_Uncertainties = Mapping[str, Uncertainty]


def tested_points(reduction: Reduction, rig: Rig) -> tuple[Point, ...]:
    """Load points, one a row, each quantity with its uncertainty where known; what is doubtful is flagged."""
    points, uncertainties = reduction.points, reduction.uncertainties
    doubtful = {IMPOSSIBLE: points.impossible, FULL_SPAN: at_full_span(rig, reduction)}
    return tuple(
        _point(
            points,
            row,
            tuple(flag for flag, rows in doubtful.items() if rows[row]),
            uncertainties.points[row] if uncertainties else {},
        )
        for row in range(points.count)
    )


def meter_difference(reduction: Reduction) -> Array:
    """How far a power-factor meter lay off watts over volt-amperes, as part of them, shape (n,); ``nan`` without one."""
    points = reduction.points
    by_watts = np.asarray(power_factor(points.input_power, points.apparent_power))
    return np.abs(np.asarray(power_factor(by_watts, reduction.meter_power_factor)) - 1.0)


def operating_points(reduction: Reduction) -> dict[str, Point | None]:
    """The points read off the load curve, by their name in the results tree."""
    uncertainties = reduction.uncertainties
    return {
        name: None
        if reached is None
        else _point(
            reached.point,
            0,
            (EXTRAPOLATED,) if reached.extrapolated else (),
            uncertainties.operating.get(name, {}) if uncertainties else {},
        )
        for name, reached in reduction.operating.items()
    }


def _point(points: LoadPoints, row: int, flags: tuple[str, ...], uncertainties: _Uncertainties) -> Point:
    quantities = {
        name: quantity(float(getattr(points, name)[row]), unit, uncertainties.get(name))
        for name, unit in POINT_UNITS.items()
    }
    return Point(**quantities, remark=points.remarks[row], flags=flags)


def curves_of(reduction: Reduction) -> Curves:
    """The lines the charts draw."""
    curve = reduction.curve
    trace, faults = log_curves(reduction)
    if curve is None or reduction.torque_speed is None:
        return Curves(trace=trace, faults=faults)
    speed, torque = reduction.torque_speed
    torque_speed = Curve(
        {"speed": tuple(speed.tolist()), "torque": tuple(torque.tolist())}, {"speed": "rad/s", "torque": "N*m"}
    )
    names = ["shaft_power"]
    names += [name for name in ("current", "power_factor", "efficiency") if np.isfinite(getattr(curve, name)).all()]
    columns = {name: tuple(getattr(curve, name).tolist()) for name in names}
    return Curves(torque_speed, Curve(columns, {name: POINT_UNITS[name] for name in names}), trace, faults)


#: Where the budget is given: the first of these that was reached, else the heaviest tested point.
_RATED = ("at_rated_current", "at_rated_power")


def budget_of(reduction: Reduction) -> tuple[BudgetLine, ...]:
    """The uncertainty budget at the rated point, or at the heaviest tested one; the largest share of each first."""
    uncertainties = reduction.uncertainties
    if uncertainties is None:
        return ()
    heaviest = [name for name in uncertainties.budgets if name.startswith("points[")]
    at = next((name for name in (*_RATED, *heaviest) if name in uncertainties.budgets), None)
    if at is None:
        return ()
    return tuple(
        _line(quantity, at, contribution)
        for quantity, lines in uncertainties.budgets[at].items()
        for contribution in lines
    )


def _line(quantity: str, at: str, contribution: Contribution) -> BudgetLine:
    freedom = contribution.degrees_of_freedom
    return BudgetLine(
        quantity=quantity,
        at=at,
        input=contribution.name,
        estimate=contribution.estimate,
        unit=contribution.unit,
        standard_uncertainty=contribution.standard_uncertainty,
        distribution=contribution.distribution,
        degrees_of_freedom=freedom if math.isfinite(freedom) else None,
        sensitivity=contribution.sensitivity,
        contribution=contribution.contribution,
        share=contribution.share,
    )
