"""A plan told in the terminal, as ``certgen plan`` prints it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from certgen.planning.plan import NOT_STATED, Plan, PlannedPoint, RigCheck, Stop, named
from certgen.quantity import Quantity
from certgen.sheet.plan_content import said, scale_said

_HEADINGS = ("load", "torque", "scale", "speed", "current", "at the brake", "rig", "may be held")


def plan_told(plan: Plan, name: str, units: str = "si") -> str:
    """Outcome, load points, rig, steps, stop list, precautions and what is not known, one a line."""
    return "\n".join(_lines(plan, name, units))


def _lines(plan: Plan, name: str, units: str) -> Iterator[str]:
    yield f"{name}: {plan.outcome}"
    if plan.greatest_load is not None:
        part = math.floor(1000.0 * plan.greatest_load.value) / 10.0  # never more than is held
        yield f"  held up to {part:.1f} % of rated load, by {plan.greatest_load_by}"
    yield f"rated torque: {said(plan.rated_torque, units)} ({plan.rated_torque_basis})"
    yield f"load points ({plan.loads_source}):" if plan.points else "load points: none"
    yield from (f"  {line}" for line in _table([_HEADINGS, *(_row(point, plan, units) for point in plan.points)]))
    for point in plan.points:
        yield from (f"  {point.name} refused: {reason}" for reason in point.refused)
    yield from _uncompared(plan)
    yield from (f"  {sentence}" for sentence in (*plan.scale_basis, *plan.expectations))
    yield f"rig ({plan.rig}):"
    yield from (f"  {_check(one, plan, units)}" for one in plan.rig_checks)
    yield from (f"  {note}" for note in plan.rig_notes)
    yield from _extremes(plan, units)
    yield "steps:"
    yield from (f"  {number}. {step}" for number, step in enumerate(plan.steps, start=1))
    yield "stop list:"
    yield from (f"  {_stop(one, plan, units)}" for one in plan.stops)
    yield "before power is on (local codes and licensed practice decide):"
    yield from (f"  {one.text} ({one.because})" for one in plan.precautions)
    if plan.missing:
        yield "not known:"
        yield from (f"  {sentence}" for sentence in plan.missing)


def _uncompared(plan: Plan) -> Iterator[str]:
    """Which stated limits could not be held against which loads."""
    loads: dict[str, list[str]] = {}
    for point in plan.points:
        for limit in point.not_compared:
            loads.setdefault(limit, []).append(point.name)
    for limit, names in loads.items():
        yield f"  {limit}: not compared at {named(names, len(plan.points))}"


def _row(point: PlannedPoint, plan: Plan, units: str) -> tuple[str, ...]:
    holds = {True: "holds", False: "refused", None: "not known"}[point.holds]
    return (
        point.name,
        said(point.torque, units),
        scale_said(point.scale, plan),
        said(point.speed, units),
        said(point.current, units),
        said(point.absorber_power, units),
        holds,
        point.held,
    )


def _table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    if len(rows) < 2:
        return
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _check(one: RigCheck, plan: Plan, units: str) -> str:
    def tell(quantity: Quantity | None) -> str:
        return scale_said(quantity, plan) if one.name == "scale" else said(quantity, units)

    asked = "" if one.asked is None else f" {tell(one.asked)}"
    limit = "" if one.limit is None or one.outcome == NOT_STATED else f" of {tell(one.limit)}"
    at = f" at {one.at}" if one.at else ""
    note = f" ({one.note})" if one.note else ""
    return f"{one.outcome}: {one.name}{asked}{limit}{at}{note}"


def _extremes(plan: Plan, units: str) -> Iterator[str]:
    if plan.breakdown is not None:
        yield f"breakdown: {plan.breakdown.words}"
        if plan.breakdown.source:
            yield f"  {plan.breakdown.source}"
    if plan.starting is not None:
        least, most = plan.starting.least_current, plan.starting.most_current
        span = (
            "" if least is None else said(least, units) + (" or more" if most is None else f" to {said(most, units)}")
        )
        yield f"switching on: {span + '. ' if span else ''}{plan.starting.basis}"


def _stop(one: Stop, plan: Plan, units: str) -> str:
    scale = one.limit is not None and one.limit.unit in ("kg", "N")
    limit = "" if one.limit is None else f": {scale_said(one.limit, plan) if scale else said(one.limit, units)}"
    return f"{one.act}: {one.sign}{limit} ({one.basis})"
