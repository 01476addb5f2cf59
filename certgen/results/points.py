"""Load points, curves and uncertainty budget as results, every figure with its uncertainty where known."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.electrics import power_factor
from certgen.reduction.model import POINT_UNITS, LoadPoints, Reduction
from certgen.reduction.uncertainty.model import Contribution, Uncertainty
from certgen.results.log import log_curves
from certgen.results.model import EXTRAPOLATED, FULL_SPAN, IMPOSSIBLE, BudgetLine, Curve, Curves, Point, Results
from certgen.results.rig_use import at_full_span
from certgen.results.uncertainty import quantity

#: What makes a bench show more power out than in. Common practice, no source.
IMPOSSIBLE_CAUSES = Message("impossible.causes")

_Uncertainties = Mapping[str, Uncertainty]


def tested_points(reduction: Reduction, rig: Rig) -> tuple[Point, ...]:
    """Load points, one a row, each quantity with its uncertainty where known; what is doubtful is flagged."""
    points, uncertainties = reduction.points, reduction.uncertainties
    doubtful = {IMPOSSIBLE: points.impossible, FULL_SPAN: at_full_span(reduction)}
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


# The point whose figures stand for the whole motor.


@dataclass(frozen=True)
class LeadingPoint:
    """The point whose figures stand large on the page and in lists; ``set_by`` names the figure that defines it."""

    point: Point
    set_by: str = ""  # shaft_power or current; empty for a tested point, where all was measured


def leading_point(results: Results) -> LeadingPoint | None:
    """The point that a list, a tag or a register takes its figures from; ``None`` where no load point is usable.

    Rated power where the test reached it, else the plate's current, a rating that this bench assessed, a point beyond
    what was tested, the tested point of greatest shaft power: for one load point, that point.
    """
    rating = results.assessed_rating
    assessed = None
    if rating is not None and rating.power is not None:
        assessed = Point(shaft_power=rating.power, torque=rating.torque, speed=rating.speed, current=rating.current)
    return leading_of(
        results.at_rated_power,
        results.at_rated_current,
        None if assessed is None else (assessed, "shaft_power" if results.nameplate.current is None else "current"),
        results.points,
    )


def leading_of(
    at_power: Point | None, at_current: Point | None, assessed: tuple[Point, str] | None, tested: Iterable[Point]
) -> LeadingPoint | None:
    """The same from the points themselves; an assessed rating comes with the figure that defines it."""
    rated = [
        LeadingPoint(point, name)
        for point, name in ((at_power, "shaft_power"), (at_current, "current"))
        if point is not None
    ]
    reached = [leading for leading in rated if EXTRAPOLATED not in leading.point.flags]
    if reached:
        return reached[0]
    if assessed is not None:
        return LeadingPoint(*assessed)
    if rated:
        return rated[-1]
    usable = [point for point in tested if IMPOSSIBLE not in point.flags]
    return LeadingPoint(max(usable, key=_by_load)) if usable else None


def _by_load(point: Point) -> tuple[float, ...]:
    """Order of tested points by shaft power, else by torque, current or input power."""
    values = (point.shaft_power, point.torque, point.current, point.input_power)
    return tuple(-math.inf if item is None else item.value for item in values)


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
        _line(quantity, at, contribution, reduction)
        for quantity, lines in uncertainties.budgets[at].items()
        for contribution in lines
    )


#: Half-width over standard uncertainty by distribution: JCGM 100:2008, 4.3.7 (rectangular) and 4.3.3 (a certificate's
#: expanded uncertainty with k = 2). [1]
_DIVISORS = {"rectangular": math.sqrt(3.0), "normal": 2.0}


def _line(quantity: str, at: str, contribution: Contribution, reduction: Reduction) -> BudgetLine:
    """One line, in the unit of the instrument where the error is a part of its limit at the reading."""
    freedom, standard, unit = contribution.degrees_of_freedom, contribution.standard_uncertainty, contribution.unit
    estimate, sensitivity, of = contribution.estimate, contribution.sensitivity, contribution.of_reading
    reading = math.nan if of is None else _reading(at, of.quantity, reduction)
    if of is not None and math.isfinite(reading) and of.limit(reading) > 0.0:
        factor = of.limit(reading)
        estimate, standard, sensitivity, unit = reading, factor * standard, sensitivity / factor, of.unit
    scatter = math.isfinite(freedom) and contribution.distribution == "normal"
    divisor = 1.0 if scatter else _DIVISORS[contribution.distribution]
    return BudgetLine(
        quantity=quantity,
        at=at,
        input=contribution.name,
        estimate=0.0 if estimate is None else estimate,
        unit=unit,
        half_width=None if scatter else divisor * standard,
        divisor=divisor,
        standard_uncertainty=standard,
        distribution=contribution.distribution,
        degrees_of_freedom=freedom if math.isfinite(freedom) else None,
        sensitivity=sensitivity,
        contribution=contribution.contribution,
        share=contribution.share,
        full_scale=None if of is None else of.full_scale,
    )


def _reading(at: str, quantity: str, reduction: Reduction) -> float:
    """What was read at the point of a budget. [SI]"""
    if at.startswith("points["):
        return float(getattr(reduction.points, quantity)[int(at[len("points[") : -1])])
    point = reduction.operating.get(at)
    return math.nan if point is None else float(getattr(point.point, quantity)[0])
