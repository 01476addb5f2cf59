"""An assessed test told in the terminal, as ``certgen check`` prints it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal

from certgen.assessment.results import AssessedRating, Finding, Limits, Point, Results
from certgen.quantity import Quantity

#: How an SI unit is told: unit printed, factor.
_TOLD = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "W": ("W", 1.0), "1": ("%", 100.0)}
_OPERATING = {
    "at_rated_current": "at rated current",
    "at_rated_power": "at rated power",
    "at_service_factor": "at service-factor load",
    "at_rated_speed": "at rated speed",
}


def told(results: Results, name: str) -> str:
    """Verdict, points at the rating, findings, cautions, and what was not evaluated, one a line."""
    return "\n".join(_lines(results, name))


def _lines(results: Results, name: str) -> Iterator[str]:
    yield f"{name}: {results.verdict.outcome}"
    yield from (f"  {reason}" for reason in results.verdict.reasons)
    yield f"load points: {len(results.points)}"
    for key, words in _OPERATING.items():
        point = getattr(results, key)
        if point is not None:
            yield f"  {words}: {_point(point)}"
    yield from _rating(results.assessed_rating)
    yield from _side_by_side(results)
    yield f"findings ({results.conditions.criteria}; {results.conditions.decision_rule}):"
    yield from (f"  {_finding(one)}" for one in results.findings)
    yield "cautions:"
    yield from (f"  {one.text} ({one.because})" for one in results.cautions)
    if results.conditions.missing:
        yield "not computed:"
        yield from (f"  {sentence}" for sentence in results.conditions.missing)
    if results.conditions.not_evaluated:
        yield "recorded, not evaluated:"
        yield from (f"  {key}" for key in results.conditions.not_evaluated)


def _rating(rating: AssessedRating | None) -> Iterator[str]:
    """The assessed rating, what it rests on, and what is still to be measured."""
    if rating is None:
        return
    yield f"assessed rating: {rating.words}"
    if rating.power is not None:
        figures = (("power", rating.power), ("torque", rating.torque), ("speed", rating.speed), ("current", rating.current))
        told = ", ".join(f"{name} {_quantity(one)}" for name, one in figures if one is not None)
        yield f"  {rating.power_label or 'below the least step'}: {told}"
    if rating.limited_by:
        yield f"  held down by {rating.limited_by}"
    yield from (f"  {sentence}" for sentence in rating.basis)
    yield from (f"  to measure: {reading}" for reading in rating.to_measure)


def _side_by_side(results: Results) -> Iterator[str]:
    """How speed follows load, and what differs between two tests."""
    if results.characteristic.speed_character:
        yield results.characteristic.speed_character
    for one in results.comparisons:
        yield f"{one.title} ({one.first} / {one.second}):"
        for pair in one.differences:
            yield f"  {pair.title}: {number(pair.first, pair.unit)} / {number(pair.second, pair.unit)}"
        if one.note:
            yield f"  {one.note}"


def _point(point: Point) -> str:
    parts = [
        f"{label} {_quantity(quantity)}"
        for label, quantity in (
            ("torque", point.torque),
            ("speed", point.speed),
            ("power", point.shaft_power),
            ("current", point.current),
            ("efficiency", point.efficiency),
            ("slip", point.slip),
        )
        if quantity is not None
    ]
    return ", ".join(parts) + (" (extrapolated)" if "extrapolated" in point.flags else "")


def _quantity(quantity: Quantity) -> str:
    return number(quantity.value, quantity.unit)


def number(value: float, unit: str) -> str:
    """A value with four significant digits and a unit a bench reads."""
    shown, factor = _TOLD.get(unit, (unit, 1.0))
    return f"{Decimal(f'{value * factor:.4g}'):f} {shown}"


def _finding(one: Finding) -> str:
    measured = "not measured" if one.measured is None else number(one.measured, one.unit)
    note = f"; {one.note}" if one.note else ""
    return f"{one.outcome}: {one.title}, {measured}{_required(one.required, one.unit)}{note} [{one.source}]"


def _required(limits: Limits | None, unit: str) -> str:
    if limits is None:
        return ""
    if limits.low is not None and limits.high is not None:
        return f", required {number(limits.low, unit)} to {number(limits.high, unit)}"
    if limits.low is not None:
        return f", required at least {number(limits.low, unit)}"
    return "" if limits.high is None else f", required at most {number(limits.high, unit)}"
