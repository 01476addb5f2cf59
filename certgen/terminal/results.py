"""An assessed test in the terminal, as ``certgen check`` prints it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from certgen.assessment.decision import ACCEPTED
from certgen.messages.catalogue import Message
from certgen.physics.uncertainty import round_with
from certgen.quantity import Quantity
from certgen.readings.model import FileRead
from certgen.results.changing_speed import coasting_part
from certgen.results.model import (
    AssessedRating,
    Characteristic,
    Finding,
    InsulationResult,
    Limits,
    Log,
    Losses,
    Point,
    Results,
    RunDown,
    Sweep,
    Thermal,
)

# Sweep and run-down.


_RPM = 60.0 / math.tau


def _changing_speed(results: Results) -> Iterator[str]:
    """Lines on the sweep and the run-down; none where the test has neither."""
    if results.sweep is not None:
        yield from _sweep(results.sweep)
    if results.run_down is not None:
        yield from _run_down(results.run_down)


def _sweep(sweep: Sweep) -> Iterator[str]:
    yield _text(
        "terminal.sweep.runs",
        falling=sweep.falling_runs,
        rising=sweep.rising_runs,
        bandwidth=_figure(sweep.bandwidth),
        acceleration=_figure(sweep.greatest_acceleration),
    )
    if sweep.inertia is not None:
        yield _below("terminal.sweep.inertia", inertia=_figure(sweep.inertia), torque=_figure(sweep.inertia_torque))
    if sweep.closing_inertia is not None:
        yield _below("terminal.sweep.closing", inertia=_figure(sweep.closing_inertia))


def _run_down(found: RunDown) -> Iterator[str]:
    low, high = found.lowest_speed.value, found.highest_speed.value
    yield _text("terminal.run_down.of", coasting=coasting_part(found.coasting), high=high, low=low)
    key = "terminal.run_down.rated_speed" if found.at_rated_speed else "terminal.run_down.speed"
    at = Message(key, speed=found.at_speed.value)
    if found.friction_torque is not None:
        torque, loss = _figure(found.friction_torque), _figure(found.friction_loss)
        yield _below("terminal.run_down.friction", torque=torque, loss=loss, speed=at)
        yield _run_down_terms(found)
    else:
        yield _below("terminal.run_down.deceleration", deceleration=_figure(found.deceleration), speed=at)
    if found.inertia is not None:
        key = "terminal.run_down.inertia_found" if found.inertia_found else "terminal.run_down.inertia_stated"
        yield _below(key, inertia=_figure(found.inertia))
    yield from (f"  {note}" for note in found.notes)


def _run_down_terms(found: RunDown) -> str:
    terms = (("constant", found.constant_term), ("viscous", found.viscous_term), ("windage", found.windage_term))
    listed = tuple(_named(f"terminal.run_down.term.{name}", _figure(term)) for name, term in terms if term is not None)
    if found.residual is None:
        return _below("terminal.run_down.terms", terms=listed)
    return _below("terminal.run_down.terms_scatter", terms=listed, residual=found.residual.value)


def _text(key: str, **values: object) -> str:
    """A message as a line."""
    return str(Message(key, **values))


def _below(key: str, **values: object) -> str:
    """A message as a line below its heading."""
    return f"  {Message(key, **values)}"


def _named(key: str, figure: str) -> Message:
    """A figure behind its name."""
    return Message("terminal.named", name=Message(key), figure=figure)


def _figure(item: Quantity | None) -> str:
    if item is None:
        return ""
    spread = "" if item.expanded_uncertainty is None else f" ± {item.expanded_uncertainty:.2g}"
    return f"{item.value:.4g}{spread} {item.unit}"


# What was found in the readings files, and what was done to them.


def files_read(files: Sequence[FileRead]) -> Iterator[str]:
    """A heading and a few lines for each readings file; nothing where every table is typed in the job."""
    if not files:
        return
    yield _text("terminal.files.heading")
    for file in files:
        yield _below("terminal.files.file", file=file.file, table=file.table, layout=tuple(_layout(file)))
        if file.units:
            units = tuple(Message("name.in_unit", name=name, unit=unit) for name, unit in file.units.items())
            yield f"    {Message('terminal.files.units', units=units)}"
        if file.joined is not None:
            yield f"    {Message('terminal.files.joined', joined=file.joined)}"
        yield from (f"    {note}" for note in file.notes)


def _layout(file: FileRead) -> Iterator[Message | str]:
    """How the file is written, in a few words each."""
    if file.sheet is not None:
        sheet = Message("terminal.files.sheet", sheet=file.sheet)
        yield f"{sheet} {file.cells}" if file.cells else sheet
    if file.encoding is not None:
        yield file.encoding
        one_column = Message("terminal.files.one_column")
        yield Message("terminal.files.delimiter", sign=file.delimiter) if file.delimiter else one_column
        yield Message("terminal.files.decimal", sign=file.decimal)
    if file.thousands is not None:
        yield Message("terminal.files.thousands", sign=file.thousands)
    no_headers = Message("terminal.files.no_headers")
    yield Message("terminal.files.headers", line=file.header_row) if file.header_row else no_headers
    if file.unit_row is not None:
        yield Message("terminal.files.unit_row", line=file.unit_row)
    yield _count("row", file.rows)
    if file.skipped:
        yield _count("skipped", file.skipped)


def _count(of: str, number: int) -> Message:
    return Message(f"terminal.files.one.{of}") if number == 1 else Message(f"terminal.files.several.{of}", count=number)


# Verdict, findings and everything else.


#: How an SI unit is shown: unit printed, factor.
_SHOWN = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "W": ("W", 1.0), "1": ("%", 100.0), "ohm": ("Mohm", 1e-6)}
#: A ratio is told in per cent where one of these is its name, else as a plain number.
_PER_CENT = ("efficiency", "slip", "unbalance", "energy_balance")
_PLAIN = ""
_OPERATING = ("at_rated_current", "at_rated_power", "at_service_factor", "at_rated_speed")
_MACHINE = ("locked_rotor_torque", "locked_rotor_current", "pull_up_torque", "breakdown_torque", "gear_loss")
_LOSSES = ("stator", "rotor", "core", "friction_windage", "constant", "stray", "efficiency")
_ALONG = tuple(name for name in _LOSSES if name != "constant")


def results_text(results: Results, name: str) -> str:
    """Verdict, points at the rating, findings, cautions, and what was not evaluated, one a line."""
    return "\n".join(_lines(results, name))


def _lines(results: Results, name: str) -> Iterator[str]:
    yield _text("terminal.outcome", name=name, outcome=results.verdict.outcome)
    yield from (f"  {reason}" for reason in results.verdict.reasons)
    yield from files_read(results.readings)
    yield _text("terminal.load_points", count=len(results.points))
    yield from _log(results.log)
    for key in _OPERATING:
        point = getattr(results, key)
        if point is not None:
            yield _below("terminal.point", place=Message(f"terminal.place.{key}"), figures=_point(point))
    yield from _characteristic(results.characteristic)
    yield from _losses(results.losses)
    yield from _rating(results.assessed_rating)
    yield from _side_by_side(results)
    yield from _changing_speed(results)
    yield from _heat(results.thermal)
    yield from _insulation(results.insulation)
    conditions = results.conditions
    yield _text("terminal.findings", criteria=conditions.criteria, rule=conditions.decision_rule)
    yield from (f"  {_finding(finding)}" for finding in results.findings)
    yield _text("terminal.cautions")
    for caution in results.cautions:
        yield _below("terminal.caution", text=caution.text, because=caution.because)
    if results.conditions.missing:
        yield _text("terminal.not_computed")
        yield from (f"  {sentence}" for sentence in results.conditions.missing)
    if results.conditions.not_evaluated:
        yield _text("terminal.not_evaluated")
        yield from (f"  {key}" for key in results.conditions.not_evaluated)


def _log(log: Log | None) -> Iterator[str]:
    """How a log became load points, and what was left out of it."""
    if log is not None:
        yield _text("terminal.log")
        yield from (f"  {sentence}" for sentence in log.summary)


def _characteristic(found: Characteristic) -> Iterator[str]:
    """Starting and overload, letters, class and gear, as far as they are known."""
    yield from (f"  {line}" for line in _machine(found))
    yield from (f"  {sentence}" for sentence in found.proves)


def _machine(found: Characteristic) -> Iterator[Message]:
    for name in _MACHINE:
        value, ratio = getattr(found, name), getattr(found, f"{name}_ratio", None)
        if value is not None:
            speed = getattr(found, name.replace("_torque", "_speed"), None) if name.endswith("_torque") else None
            yield _of_machine(Message(f"terminal.machine.{name}"), _quantity(value), speed, ratio)
    if found.code_letter is not None and found.kva_per_hp is not None:
        yield Message("terminal.code_letter", letter=found.code_letter, apparent_power=_quantity(found.kva_per_hp))
    if found.design_letter is not None:
        yield Message("terminal.design_letter", letter=found.design_letter, reason=found.design_letter_reason)
    if found.efficiency_class is not None:
        yield Message("terminal.efficiency_class", name=found.efficiency_class, reason=found.efficiency_class_reason)
    if found.gear_ratio is not None:
        yield Message("terminal.gear_ratio", ratio=found.gear_ratio.value)


def _of_machine(name: Message, figure: str, speed: Quantity | None, ratio: Quantity | None) -> Message:
    """One figure of the machine, with its speed and its part of the rated one as far as they are known."""
    if speed is None and ratio is None:
        return Message("terminal.machine.figure", name=name, figure=figure)
    if ratio is None:
        return Message("terminal.machine.at", name=name, figure=figure, speed=_known(speed))
    if speed is None:
        return Message("terminal.machine.times", name=name, figure=figure, ratio=ratio.value)
    return Message("terminal.machine.at_times", name=name, figure=figure, speed=_known(speed), ratio=ratio.value)


def _known(quantity: Quantity | None) -> str:
    return "" if quantity is None else _quantity(quantity)


def _losses(losses: Losses | None) -> Iterator[str]:
    """Losses at rated load and along the load, and what they rest on."""
    if losses is None:
        return
    yield _text("terminal.losses.method", method=losses.method, reason=losses.reason)
    at_rated = ((name, getattr(losses, name)) for name in _LOSSES)
    parts = tuple(_named(f"terminal.losses.of.{name}", _quantity(loss)) for name, loss in at_rated if loss is not None)
    if parts:
        yield _below("terminal.losses.at_rated", losses=parts)
    for point in losses.at_loads:
        along = tuple(_named(f"terminal.losses.of.{name}", _quantity(getattr(point, name))) for name in _ALONG)
        yield _below("terminal.losses.at_load", load=point.load.value, losses=along)
    stray = losses.stray_regression
    if stray is not None:
        yield _below(
            "terminal.losses.stray_fit",
            slope=_quantity(stray.slope),
            intercept=_quantity(stray.intercept),
            correlation=stray.correlation.value,
            rules=tuple(
                Message("terminal.losses.accepted" if accepted else "terminal.losses.refused", rule=rule)
                for rule, accepted in stray.accepted.items()
            ),
        )
    yield from (f"  {note}" for note in losses.notes)


def _rating(rating: AssessedRating | None) -> Iterator[str]:
    """The assessed rating, what it rests on, and what is still to be measured."""
    if rating is None:
        return
    yield _text("terminal.rating.assessed", rating=rating.words)
    if rating.power is not None:
        values = ((name, getattr(rating, name)) for name in ("power", "torque", "speed", "current"))
        figures = tuple(_named(f"name.{name}", _quantity(value)) for name, value in values if value is not None)
        step = rating.power_label or Message("terminal.rating.below_least_step")
        yield _below("terminal.rating.figures", step=step, figures=figures)
    if rating.limited_by:
        yield _below("terminal.rating.held_down", limit=rating.limited_by)
    yield from (f"  {sentence}" for sentence in rating.basis)
    yield from (_below("terminal.rating.to_measure", reading=reading) for reading in rating.to_measure)


def _side_by_side(results: Results) -> Iterator[str]:
    """What differs between two tests."""
    for tests in results.comparisons:
        yield _text("terminal.comparison.tests", title=tests.title, first=tests.first, second=tests.second)
        for pair in tests.differences:
            unit = _shown_unit(pair.unit, pair.quantity)
            values = {"title": pair.title, "first": number(pair.first, unit), "second": number(pair.second, unit)}
            if pair.expanded_uncertainty is None:
                yield _below("terminal.comparison.pair", **values)
                continue
            spread = number(pair.expanded_uncertainty, unit, digits=2)
            if pair.message is None:
                yield _below("terminal.comparison.change", **values, uncertainty=spread)
            else:
                yield _below("terminal.comparison.no_change", **values, uncertainty=spread, message=pair.message)
        if tests.note:
            yield f"  {tests.note}"


def _heat(thermal: Thermal | None) -> Iterator[str]:
    """How warm the motor became, and whether it was steady."""
    if thermal is None:
        return
    yield _text("terminal.heat.heading")
    if thermal.winding_rise is not None:
        rise = _quantity(thermal.winding_rise)
        if thermal.rise_limit is None:
            yield _below("terminal.heat.winding", rise=rise)
        else:
            yield _below("terminal.heat.winding_allowed", rise=rise, limit=_quantity(thermal.rise_limit))
    if thermal.final_rise is not None and thermal.remaining_rise is not None:
        rise, remaining = _quantity(thermal.final_rise), _quantity(thermal.remaining_rise)
        yield _below(
            "terminal.heat.final",
            part=Message(f"heat_run.part.{thermal.heat_run_part}"),
            rise=rise,
            remaining=remaining,
        )
    if thermal.time_constant is not None:
        yield _below("terminal.heat.time_constant", time=_minutes(thermal.time_constant))
    if thermal.steady is not None:
        key = "terminal.heat.steady" if thermal.steady else "terminal.heat.not_steady"
        yield _below(key, criterion=thermal.steady_criterion)
    yield from (f"  {note}" for note in thermal.notes)


def _minutes(time: Quantity) -> str:
    if time.expanded_uncertainty is None:
        return f"{time.value / 60.0:.3g} min"
    return _spread(replace(time, value=time.value / 60.0, unit="min"), time.expanded_uncertainty / 60.0)


def _insulation(found: InsulationResult | None) -> Iterator[str]:
    """The insulation reading and what is asked of it."""
    if found is None:
        return
    figures = [Message("terminal.insulation.at_1_min", resistance=_quantity(found.at_1_min))]
    if found.at_40_degC is not None:
        figures.append(Message("terminal.insulation.at_40", resistance=_quantity(found.at_40_degC)))
    if found.minimum is not None:
        figures.append(Message("terminal.insulation.least", resistance=_quantity(found.minimum)))
    yield _text("terminal.insulation.outcome", outcome=found.outcome, figures=tuple(figures))
    if found.polarization_index is not None:
        asked = found.minimum_polarization_index
        index = _quantity(replace(found.polarization_index, unit=""))
        if asked is None:
            yield _below("terminal.insulation.index", index=index)
        else:
            yield _below("terminal.insulation.index_asked", index=index, least=asked.value)
    yield from (f"  {note}" for note in found.notes)


def _point(point: Point) -> str:
    parts = [
        str(_named(f"name.{name}", _quantity(quantity)))
        for name, quantity in (
            ("torque", point.torque),
            ("speed", point.speed),
            ("power", point.shaft_power),
            ("current", point.current),
            ("efficiency", point.efficiency),
            ("slip", point.slip),
        )
        if quantity is not None
    ]
    figures = ", ".join(parts)
    return _text("terminal.extrapolated", figures=figures) if "extrapolated" in point.flags else figures


def _quantity(quantity: Quantity) -> str:
    """A figure with its uncertainty where that is known."""
    spread = quantity.expanded_uncertainty
    return number(quantity.value, quantity.unit) if spread is None else _spread(quantity, spread)


def _spread(quantity: Quantity, spread: float) -> str:
    """Value and uncertainty to the same decimal, the latter with two digits (JCGM 100:2008, 7.2.6)."""
    unit, factor = _SHOWN.get(quantity.unit, (quantity.unit, 1.0))
    value, uncertainty = round_with(quantity.value * factor, spread * factor)
    return f"{value} ± {uncertainty} {unit}".rstrip()


def number(value: float, unit: str, *, digits: int = 4) -> str:
    """A value with so many significant digits and a unit a bench reads."""
    shown, factor = _SHOWN.get(unit, (unit, 1.0))
    return f"{Decimal(f'{value * factor:.{digits}g}'):f} {shown}".rstrip()


def _shown_unit(unit: str, quantity: str) -> str:
    """The unit of a figure, ratios that are no percentage as plain numbers."""
    per_cent = any(word in quantity for word in _PER_CENT)
    return _PLAIN if unit == "1" and not per_cent else unit


def _finding(finding: Finding) -> str:
    unit = _shown_unit(finding.unit, finding.quantity or finding.id)
    parts = [_measured(finding, unit), *_required(finding.required, unit)]
    key = "terminal.finding.noted" if finding.note else "terminal.finding.plain"
    note = {"note": finding.note} if finding.note else {}
    figures = tuple(parts)
    return _text(key, outcome=finding.outcome, title=finding.title, figures=figures, source=finding.source, **note)


def _measured(finding: Finding, unit: str) -> str:
    """What was measured, its uncertainty, and the chance that the decision is wrong."""
    measured = _text("terminal.finding.not_measured") if finding.measured is None else number(finding.measured, unit)
    if finding.expanded_uncertainty is not None:
        measured += f" ± {number(finding.expanded_uncertainty, unit)}"
    if finding.false_decision_probability is None:
        return measured
    key = "terminal.finding.false_accept" if finding.outcome in ACCEPTED else "terminal.finding.false_reject"
    return _text(key, measured=measured, chance=_chance(finding.false_decision_probability))


def _chance(probability: float) -> Message:
    """A probability in percent; what is very small is not shown as nothing."""
    if probability < 0.001:
        return Message("terminal.finding.hardly_any_chance")
    return Message("terminal.finding.chance", part=probability)


def _required(limits: Limits | None, unit: str) -> Iterator[Message]:
    if limits is None:
        return
    if limits.low is not None and limits.high is not None:
        low, high = number(limits.low, unit), number(limits.high, unit)
        yield Message("terminal.finding.required_between", low=low, high=high)
    elif limits.low is not None:
        yield Message("terminal.finding.required_least", low=number(limits.low, unit))
    elif limits.high is not None:
        yield Message("terminal.finding.required_most", high=number(limits.high, unit))
