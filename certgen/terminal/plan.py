"""A plan in the terminal, as ``certgen plan`` prints it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from certgen.messages.catalogue import Message, text_of
from certgen.messages.format import quantity
from certgen.planning.plan import NOT_STATED, Plan, PlannedPoint, RigCheck, Stop, loads_named
from certgen.quantity import Quantity
from certgen.sheet.plan_content import at_scale, of_scale, scale_figure

_COLUMNS = ("load", "torque", "scale", "speed", "current", "at_brake", "rig", "held")
_HOLDS = {True: "holds", False: "refused", None: "not_known"}


def plan_text(plan: Plan, name: str, units: str = "si") -> str:
    """Outcome, load points, rig, steps, stop list, precautions and what is not known, one a line.

    All of it is in the reader's ``units``; readings of the scale are in the scale's own.
    """
    return "\n".join(text_of(line, units=units) for line in _lines(plan, name, units))


def _lines(plan: Plan, name: str, units: str) -> Iterator[Message | str]:
    yield Message("terminal.outcome", name=name, outcome=plan.outcome)
    if plan.greatest_load is not None and plan.greatest_load_by is not None:
        part = math.floor(1000.0 * plan.greatest_load.value) / 1000.0  # never more than is held
        yield from _indented(units, [Message("terminal.plan.greatest_load", part=part, limit=plan.greatest_load_by)])
    torque = quantity(plan.rated_torque, units)
    yield Message("terminal.plan.rated_torque", torque=torque, basis=plan.rated_torque_basis)
    if plan.loads_source is not None:
        yield Message("terminal.plan.load_points", source=plan.loads_source)
    else:
        yield Message("terminal.plan.no_load_points")
    yield from _indented(units, _table([_headings(units), *(_row(point, plan, units) for point in plan.points)]))
    for point in plan.points:
        yield from _indented(
            units, (Message("terminal.plan.refused", load=point.name, reason=reason) for reason in point.refused)
        )
    yield from _uncompared(plan, units)
    yield from _indented(units, (*plan.scale_basis, *plan.expectations))
    yield Message("terminal.plan.rig", rig=plan.rig)
    yield from _indented(units, (_check(check, plan, units) for check in plan.rig_checks))
    yield from _indented(units, plan.rig_notes)
    yield from _extremes(plan, units)
    yield Message("terminal.plan.steps")
    yield from (f"  {number}. {text_of(step, units=units)}" for number, step in enumerate(plan.steps, start=1))
    yield Message("terminal.plan.stops")
    yield from _indented(units, (_stop(stop, plan, units) for stop in plan.stops))
    yield Message("terminal.plan.precautions")
    yield from _indented(
        units,
        (Message("terminal.caution", text=one.text, because=one.because) for one in plan.precautions),
    )
    if plan.missing:
        yield Message("terminal.plan.missing")
        yield from _indented(units, plan.missing)


def _indented(units: str, lines: Iterable[Message | str]) -> Iterator[str]:
    return (f"  {text_of(line, units=units)}" for line in lines)


def _uncompared(plan: Plan, units: str) -> Iterator[str]:
    """Which stated limits could not be held against which loads."""
    loads: dict[Message | str, list[Message]] = {}
    for point in plan.points:
        for limit in point.not_compared:
            loads.setdefault(limit, []).append(point.name)
    for limit, names in loads.items():
        yield from _indented(
            units, [Message("terminal.plan.not_compared", limit=limit, loads=loads_named(names, len(plan.points)))]
        )


def _headings(units: str) -> tuple[str, ...]:
    return tuple(text_of(Message(f"terminal.plan.column.{column}"), units=units) for column in _COLUMNS)


def _row(point: PlannedPoint, plan: Plan, units: str) -> tuple[str, ...]:
    return (
        text_of(point.name, units=units),
        quantity(point.torque, units),
        scale_figure(point.scale, plan, units),
        quantity(point.speed, units),
        quantity(point.current, units),
        _power(point, units),
        text_of(Message(f"terminal.plan.outcome.{_HOLDS[point.holds]}"), units=units),
        text_of(point.held, units=units),
    )


def _power(point: PlannedPoint, units: str) -> str:
    """Power at the absorber; what it cannot pass where it is not known."""
    if point.absorber_power is not None or point.absorber_power_at_most is None:
        return quantity(point.absorber_power, units)
    return text_of(Message("terminal.plan.at_most", asked=quantity(point.absorber_power_at_most, units)), units=units)


def _table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    if len(rows) < 2:
        return
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _check(check: RigCheck, plan: Plan, units: str) -> Message:
    """One limit: what is asked of it, what the rig states, and the load that asks most, as far as they are known."""

    def figure(item: Quantity | None) -> str:
        return scale_figure(item, plan, units) if of_scale(check) else quantity(item, units)

    outcome = Message(f"terminal.plan.outcome.{check.outcome.replace(' ', '_')}")
    if check.asked is None and (check.limit is None or check.outcome == NOT_STATED):
        return Message("terminal.plan.check.nothing", outcome=outcome, limit=check.name, note=check.note)
    most = figure(check.limit)
    if check.asked is None:
        return Message("terminal.plan.check.stated", outcome=outcome, limit=check.name, most=most, note=check.note)
    needed: Message | str = figure(check.asked)
    if check.at_most:
        needed = Message("terminal.plan.at_most", asked=needed)
    asked = {"outcome": outcome, "limit": check.name, "asked": needed, "load": check.at}
    if check.outcome == NOT_STATED:
        return Message("terminal.plan.check.asked", **asked, note=check.note)
    if check.note is None:
        return Message("terminal.plan.check.compared", **asked, most=most)
    return Message("terminal.plan.check.compared_in_part", **asked, most=most, note=check.note)


def _extremes(plan: Plan, units: str) -> Iterator[Message | str]:
    if plan.breakdown is not None:
        yield Message("terminal.plan.breakdown", judged=plan.breakdown.words)
        if plan.breakdown.source is not None:
            yield from _indented(units, [plan.breakdown.source])
    if plan.starting is not None:
        least, most = quantity(plan.starting.least_current, units), quantity(plan.starting.most_current, units)
        basis = plan.starting.basis
        if plan.starting.least_current is None:
            yield Message("terminal.plan.starting", basis=basis)
        elif plan.starting.most_current is None:
            yield Message("terminal.plan.starting_from", least=least, basis=basis)
        else:
            yield Message("terminal.plan.starting_between", least=least, most=most, basis=basis)


def _stop(stop: Stop, plan: Plan, units: str) -> Message:
    act = Message(f"terminal.plan.act.{stop.action}")
    if stop.limit is None:
        return Message("terminal.plan.stop", act=act, sign=stop.sign, basis=stop.basis)
    limit = scale_figure(stop.limit, plan, units) if at_scale(stop) else quantity(stop.limit, units)
    return Message("terminal.plan.stop_at", act=act, sign=stop.sign, limit=limit, basis=stop.basis)
