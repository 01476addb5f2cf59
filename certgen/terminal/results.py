"""An assessed test in the terminal, as ``certgen check`` prints it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from certgen.assessment.as_found import measured_in_words
from certgen.assessment.inspection import in_words
from certgen.assessment.statement import contradictions, headline_of, scope_stated, with_suggestion
from certgen.assessment.verdict import NOTE
from certgen.job.plate_ratings import ratings_reported
from certgen.messages.catalogue import Message
from certgen.messages.format import SI, PlateFigures
from certgen.quantity import Quantity
from certgen.readings.model import FileRead
from certgen.results.as_found import AsFound, InspectedItem
from certgen.results.changing_speed import coasting_part
from certgen.results.instruments import NOT_HOLDING
from certgen.results.model import (
    AssessedRating,
    Characteristic,
    Conditions,
    InsulationResult,
    Log,
    Losses,
    Point,
    Results,
    RunDown,
    Sweep,
    Thermal,
)
from certgen.terminal.findings import difference_lines, finding_lines
from certgen.terminal.lines import Line, below, figure, named, top

_OPERATING = {
    "at_rated_current": "current",
    "at_rated_power": "shaft_power",
    "at_service_factor": "shaft_power",
    "at_rated_speed": "speed",
}
_POINT = ("torque", "speed", "shaft_power", "current", "efficiency", "slip")
_MACHINE = ("locked_rotor_torque", "locked_rotor_current", "pull_up_torque", "breakdown_torque", "gear_loss")
_LOSSES = ("stator", "rotor", "core", "friction_windage", "constant", "stray", "efficiency")
_ALONG = tuple(name for name in _LOSSES if name != "constant")


def results_text(results: Results, name: str, units: str = SI) -> str:
    """Verdict with its scope, points at the rating, findings, cautions, and what was not evaluated, one a line.

    Parameters
    ----------
    results : Results
        What was assessed.
    name : str
        The job as it was named.
    units : {'si', 'us', 'both'}
        As the job prints.
    """
    return "\n".join(line.words(units) for line in _lines(results, name, units))


def _lines(results: Results, name: str, units: str) -> Iterator[Line]:
    yield from _verdict(results, name)
    yield from files_read(results.readings)
    yield top("terminal.load_points", count=len(results.points))
    yield from _log(results.log)
    for key, set_by in _OPERATING.items():
        point = getattr(results, key)
        if point is not None:
            yield below("terminal.point", place=Message(f"terminal.place.{key}"), figures=_point(point, set_by))
    yield from _characteristic(results.characteristic)
    yield from _losses(results.losses)
    yield from _rating(results.assessed_rating)
    for tests in results.comparisons:
        yield from difference_lines(tests, units)
    yield from _changing_speed(results)
    yield from _heat(results.thermal)
    yield from _insulation(results.insulation)
    yield from _as_found(results.as_found)
    yield from _not_holding(results.conditions)
    conditions = results.conditions
    yield top("terminal.findings", criteria=conditions.criteria, rule=conditions.decision_rule)
    yield from finding_lines(results.findings, units)
    yield top("terminal.cautions")
    for caution in results.cautions:
        yield below("terminal.caution", text=caution.text, because=caution.because)
    yield from _listed("terminal.not_computed", conditions.missing)
    yield from _listed("terminal.not_evaluated", conditions.not_evaluated)


def _listed(heading: str, texts: Sequence[Message | str]) -> Iterator[Line]:
    """A heading with a line for each text; nothing where there is none."""
    if texts:
        yield Line(Message(heading))
        yield from (Line(text, 1) for text in texts)


# The verdict: what is printed large, the likely mistake, what it covers, and why.


def _verdict(results: Results, name: str) -> Iterator[Line]:
    verdict, against = results.verdict, contradictions(results.plausibility)
    yield top("terminal.outcome", name=name, outcome=headline_of(verdict))
    yield from (Line(mistake, 1) for mistake in against)
    scope = scope_stated(verdict)
    if scope is not None:
        yield Line(scope, 1)
    said = {entry.message for entry in results.plausibility if entry.effect != NOTE}
    yield from (Line(reason, 1) for reason in verdict.reasons if reason not in said)
    yield from (Line(rating, 1) for rating in ratings_reported(results.nameplate))
    notes = tuple(with_suggestion(entry) for entry in results.plausibility if entry.effect == NOTE)
    yield from _listed("terminal.noted", notes)


# Sweep and run-down.


def _changing_speed(results: Results) -> Iterator[Line]:
    """Lines on the sweep and the run-down; none where the test has neither."""
    if results.sweep is not None:
        yield from _sweep(results.sweep)
    if results.run_down is not None:
        yield from _run_down(results.run_down)


def _sweep(sweep: Sweep) -> Iterator[Line]:
    yield top(
        "terminal.sweep.runs",
        falling=sweep.falling_runs,
        rising=sweep.rising_runs,
        bandwidth=figure(sweep.bandwidth),
        acceleration=sweep.greatest_acceleration,
    )
    if sweep.inertia is not None:
        torque = "" if sweep.inertia_torque is None else figure(sweep.inertia_torque)
        yield below("terminal.sweep.inertia", inertia=sweep.inertia, torque=torque)
    if sweep.closing_inertia is not None:
        yield below("terminal.sweep.closing", inertia=sweep.closing_inertia)


def _run_down(found: RunDown) -> Iterator[Line]:
    low, high = found.lowest_speed.value, found.highest_speed.value
    yield top("terminal.run_down.of", coasting=coasting_part(found.coasting), high=high, low=low)
    key = "terminal.run_down.rated_speed" if found.at_rated_speed else "terminal.run_down.speed"
    at = Message(key, speed=found.at_speed.value)
    if found.friction_torque is not None and found.friction_loss is not None:
        torque, loss = figure(found.friction_torque), figure(found.friction_loss, "electrical_power")
        yield below("terminal.run_down.friction", torque=torque, loss=loss, speed=at)
        yield _run_down_terms(found)
    else:
        yield below("terminal.run_down.deceleration", deceleration=found.deceleration, speed=at)
    if found.inertia is not None:
        key = "terminal.run_down.inertia_found" if found.inertia_found else "terminal.run_down.inertia_stated"
        yield below(key, inertia=found.inertia)
    yield from (Line(note, 1) for note in found.notes)


def _run_down_terms(found: RunDown) -> Line:
    terms = (("constant", found.constant_term), ("viscous", found.viscous_term), ("windage", found.windage_term))
    listed = tuple(
        named(f"terminal.run_down.term.{name}", figure(term) if name == "constant" else term)
        for name, term in terms
        if term is not None
    )
    if found.residual is None:
        return below("terminal.run_down.terms", terms=listed)
    return below("terminal.run_down.terms_scatter", terms=listed, residual=found.residual.value)


# What was found in the readings files, and what was done to them.


def files_read(files: Sequence[FileRead]) -> Iterator[Line]:
    """A heading and a few lines for each readings file; nothing where every table is typed in the job."""
    if not files:
        return
    yield top("terminal.files.heading")
    for file in files:
        yield below("terminal.files.file", file=file.file, table=file.table, layout=tuple(_layout(file)))
        if file.units:
            units = tuple(Message("name.in_unit", name=name, unit=unit) for name, unit in file.units.items())
            yield Line(Message("terminal.files.units", units=units), 2)
        if file.joined is not None:
            yield Line(Message("terminal.files.joined", joined=file.joined), 2)
        yield from (Line(note, 2) for note in file.notes)


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


# Log, points, machine, losses, rating, heat, insulation.


def _log(log: Log | None) -> Iterator[Line]:
    """How a log became load points, and what was left out of it."""
    if log is not None:
        yield from _listed("terminal.log", log.summary)


def _point(point: Point, set_by: str) -> Message | tuple[Message, ...]:
    """The figures of a point read off the curve; the one that defines it is set, not measured."""
    parts = []
    for name in _POINT:
        item: Quantity | None = getattr(point, name)
        if item is not None:
            key = "name.power" if name == "shaft_power" else f"name.{name}"
            shown = Message("terminal.set", figure=Quantity(item.value, item.unit)) if name == set_by else None
            parts.append(named(key, shown or figure(item, name)))
    figures = tuple(parts)
    return Message("terminal.extrapolated", figures=figures) if "extrapolated" in point.flags else figures


def _characteristic(found: Characteristic) -> Iterator[Line]:
    """Starting and overload, letters, class and gear, as far as they are known."""
    yield from (Line(message, 1) for message in _machine(found))
    yield from (Line(sentence, 1) for sentence in found.proves)


def _machine(found: Characteristic) -> Iterator[Message]:
    for name in _MACHINE:
        value, ratio = getattr(found, name), getattr(found, f"{name}_ratio", None)
        if value is not None:
            speed = getattr(found, name.replace("_torque", "_speed"), None) if name.endswith("_torque") else None
            shown = figure(value, "electrical_power" if name == "gear_loss" else name)
            yield _of_machine(Message(f"terminal.machine.{name}"), shown, speed, ratio)
    if found.code_letter is not None and found.kva_per_hp is not None:
        yield Message("terminal.code_letter", letter=found.code_letter, apparent_power=figure(found.kva_per_hp))
    if found.design_letter is not None:
        yield Message("terminal.design_letter", letter=found.design_letter, reason=found.design_letter_reason)
    if found.efficiency_class is not None:
        yield Message("terminal.efficiency_class", name=found.efficiency_class, reason=found.efficiency_class_reason)
    if found.gear_ratio is not None:
        yield Message("terminal.gear_ratio", ratio=found.gear_ratio.value)


def _of_machine(name: Message, shown: Message | Quantity, speed: Quantity | None, ratio: Quantity | None) -> Message:
    """One figure of the machine, with its speed and its part of the rated one as far as they are known."""
    if speed is None:
        if ratio is None:
            return Message("terminal.machine.figure", name=name, figure=shown)
        return Message("terminal.machine.times", name=name, figure=shown, ratio=ratio.value)
    if ratio is None:
        return Message("terminal.machine.at", name=name, figure=shown, speed=figure(speed))
    return Message("terminal.machine.at_times", name=name, figure=shown, speed=figure(speed), ratio=ratio.value)


def _losses(losses: Losses | None) -> Iterator[Line]:
    """Losses at rated load and along the load, and what they rest on."""
    if losses is None:
        return
    yield top("terminal.losses.method", method=losses.method, reason=losses.reason)
    parts = tuple(_loss(name, getattr(losses, name)) for name in _LOSSES if getattr(losses, name) is not None)
    if parts:
        yield below("terminal.losses.at_rated", losses=parts)
    for point in losses.at_loads:
        along = tuple(_loss(name, getattr(point, name)) for name in _ALONG)
        yield below("terminal.losses.at_load", load=point.load.value, losses=along)
    stray = losses.stray_regression
    if stray is not None:
        yield below(
            "terminal.losses.stray_fit",
            slope=stray.slope,
            intercept=figure(stray.intercept, "electrical_power"),
            correlation=stray.correlation.value,
            rules=tuple(
                Message("terminal.losses.accepted" if accepted else "terminal.losses.refused", rule=rule)
                for rule, accepted in stray.accepted.items()
            ),
        )
    yield from (Line(note, 1) for note in losses.notes)


def _loss(name: str, loss: Quantity) -> Message:
    return named(
        f"terminal.losses.of.{name}", figure(loss, "efficiency" if name == "efficiency" else "electrical_power")
    )


def _rating(rating: AssessedRating | None) -> Iterator[Line]:
    """The assessed rating, what it rests on, and what is still to be measured."""
    if rating is None:
        return
    yield top("terminal.rating.assessed", rating=rating.words)
    if rating.power is not None:
        values = ((name, getattr(rating, name)) for name in ("power", "torque", "speed", "current"))
        figures = tuple(named(f"name.{name}", figure(value)) for name, value in values if value is not None)
        no_step = Message("terminal.rating.below_least_step")
        step = PlateFigures(rating.power_label) if rating.power_label else no_step
        yield below("terminal.rating.figures", step=step, figures=figures)
    if rating.limited_by:
        yield below("terminal.rating.held_down", limit=rating.limited_by)
    yield from (Line(sentence, 1) for sentence in rating.basis)
    yield from (below("terminal.rating.to_measure", reading=reading) for reading in rating.to_measure)


def _heat(thermal: Thermal | None) -> Iterator[Line]:
    """How warm the motor became, and whether it was steady."""
    if thermal is None:
        return
    yield top("terminal.heat.heading")
    if thermal.winding_rise is not None:
        rise = figure(thermal.winding_rise, "rise")
        if thermal.rise_limit is None:
            yield below("terminal.heat.winding", rise=rise)
        else:
            yield below("terminal.heat.winding_allowed", rise=rise, limit=thermal.rise_limit.value)
    if thermal.final_rise is not None and thermal.remaining_rise is not None:
        rise, remaining = figure(thermal.final_rise, "rise"), figure(thermal.remaining_rise, "rise")
        yield below(
            "terminal.heat.final",
            part=Message(f"heat_run.part.{thermal.heat_run_part}"),
            rise=rise,
            remaining=remaining,
        )
    if thermal.time_constant is not None:
        yield below("terminal.heat.time_constant", time=figure(thermal.time_constant, "minutes"))
    if thermal.steady is not None:
        key = "terminal.heat.steady" if thermal.steady else "terminal.heat.not_steady"
        yield below(key, criterion=thermal.steady_criterion)
    yield from (Line(note, 1) for note in thermal.notes)


def _not_holding(conditions: Conditions) -> Iterator[Line]:
    """Instruments whose calibration did not hold on the day of the test."""
    for one in conditions.calibrations:
        if one.state in NOT_HOLDING:
            state = Message(f"instruments.state.{one.state.replace(' ', '_')}")
            yield top("terminal.instrument", name=one.name, state=state)


def _as_found(found: AsFound) -> Iterator[Line]:
    """What was measured before the brake, and what was inspected."""
    measured = measured_in_words(found)
    if measured:
        yield top("terminal.as_found.heading")
    yield from (below("terminal.as_found.measured", label=label, text=text) for label, text in measured)
    yield from _inspection(found.inspection)


def _inspection(items: Sequence[InspectedItem]) -> Iterator[Line]:
    """Every item of the inspection with whether it is good; nothing where none was inspected."""
    if items:
        yield top("terminal.inspection.heading")
    for one in items:
        state = "good" if one.good else "not_judged" if one.good is None else "not_good"
        yield below("terminal.inspection.item", state=Message(f"inspection.{state}"), item=in_words(one))


def _insulation(found: InsulationResult | None) -> Iterator[Line]:
    """The insulation reading and what is asked of it."""
    if found is None:
        return
    figures = [Message("terminal.insulation.at_1_min", resistance=figure(found.at_1_min))]
    if found.at_40_degC is not None:
        figures.append(Message("terminal.insulation.at_40", resistance=figure(found.at_40_degC)))
    if found.minimum is not None:
        figures.append(Message("terminal.insulation.least", resistance=found.minimum.value))
    outcome = Message(f"outcome.{found.outcome.replace(' ', '_')}")
    yield top("terminal.insulation.outcome", outcome=outcome, figures=tuple(figures))
    if found.polarization_index is not None:
        asked, index = found.minimum_polarization_index, figure(found.polarization_index, "index")
        if asked is None:
            yield below("terminal.insulation.index", index=index)
        else:
            yield below("terminal.insulation.index_asked", index=index, least=asked.value)
    yield from (Line(note, 1) for note in found.notes)
