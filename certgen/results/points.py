"""Load points, curves and uncertainty budget as results, every figure with its uncertainty where known."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from certgen.assessment.cautions import at_full_span
from certgen.job.rig import Rig
from certgen.reduction.model import POINT_UNITS, LoadPoints, Reduction
from certgen.reduction.uncertainty.model import Contribution, Uncertainty
from certgen.results.log import log_curves
from certgen.results.model import EXTRAPOLATED, FULL_SPAN, IMPOSSIBLE, BudgetLine, Curve, Curves, Point
from certgen.results.uncertainty import quantity

_Figures = Mapping[str, Uncertainty]


def tested_points(reduction: Reduction, rig: Rig) -> tuple[Point, ...]:
    """Load points, one a row, each quantity with its uncertainty where known; what is doubtful is flagged."""
    points, sure = reduction.points, reduction.uncertainties
    doubtful = {IMPOSSIBLE: points.impossible, FULL_SPAN: at_full_span(rig, reduction)}
    return tuple(
        _point(
            points,
            row,
            tuple(flag for flag, rows in doubtful.items() if rows[row]),
            sure.points[row] if sure else {},
        )
        for row in range(points.count)
    )


def operating_points(reduction: Reduction) -> dict[str, Point | None]:
    """The points read off the load curve, by their name in the results tree."""
    sure = reduction.uncertainties
    return {
        name: None
        if found is None
        else _point(
            found.point, 0, (EXTRAPOLATED,) if found.extrapolated else (), sure.operating.get(name, {}) if sure else {}
        )
        for name, found in reduction.operating.items()
    }


def _point(points: LoadPoints, row: int, flags: tuple[str, ...], uncertainties: _Figures) -> Point:
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


#: Where the budget is told: the first of these that was reached, else the heaviest tested point.
_RATED = ("at_rated_current", "at_rated_power")


def budget_of(reduction: Reduction) -> tuple[BudgetLine, ...]:
    """The uncertainty budget at the rated point, or at the heaviest tested one; the largest share of each first."""
    sure = reduction.uncertainties
    if sure is None:
        return ()
    heaviest = [name for name in sure.budgets if name.startswith("points[")]
    at = next((name for name in (*_RATED, *heaviest) if name in sure.budgets), None)
    if at is None:
        return ()
    return tuple(_line(quantity, at, one) for quantity, lines in sure.budgets[at].items() for one in lines)


def _line(quantity: str, at: str, one: Contribution) -> BudgetLine:
    freedom = one.degrees_of_freedom
    return BudgetLine(
        quantity=quantity,
        at=at,
        input=str(one.name),
        estimate=one.estimate,
        unit=one.unit,
        standard_uncertainty=one.standard_uncertainty,
        distribution=one.distribution,
        degrees_of_freedom=freedom if math.isfinite(freedom) else None,
        sensitivity=one.sensitivity,
        contribution=one.contribution,
        share=one.share,
    )
