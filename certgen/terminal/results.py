"""An assessed test told in the terminal, as ``certgen check`` prints it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from certgen.assessment.decision import ACCEPTED
from certgen.physics.uncertainty import round_with
from certgen.quantity import Quantity
from certgen.readings.model import FileRead
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

# Sweep and run-down told in the terminal, as ``certgen check`` prints them.


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


# What was found in the readings files, and what was done to them, as ``certgen check`` tells it.


def files_told(files: Sequence[FileRead]) -> Iterator[str]:
    """A heading and a few lines for each readings file; nothing where every table is typed in the job."""
    if not files:
        return
    yield "readings files:"
    for one in files:
        yield f"  {one.file} ({one.table}): {', '.join(_layout(one))}"
        if one.units:
            yield "    units: " + ", ".join(f"{name} in {unit}" for name, unit in one.units.items())
        if one.joined is not None:
            yield f"    joined: {one.joined}"
        yield from (f"    {note}" for note in one.notes)


def _layout(one: FileRead) -> Iterator[str]:
    """How the file is written, in a few words each."""
    if one.sheet is not None:
        yield f"sheet '{one.sheet}'" + (f" {one.cells}" if one.cells else "")
    if one.encoding is not None:
        yield one.encoding
        yield f"delimiter {one.delimiter}" if one.delimiter else "one column"
        yield f"decimal {one.decimal}"
    if one.thousands is not None:
        yield f"thousands {one.thousands}"
    yield f"headers in line {one.header_row}" if one.header_row else "no headers"
    if one.unit_row is not None:
        yield f"units in line {one.unit_row}"
    yield "1 row" if one.rows == 1 else f"{one.rows} rows"
    if one.skipped:
        yield "1 line passed over" if one.skipped == 1 else f"{one.skipped} lines passed over"


# An assessed test told in the terminal, as ``certgen check`` prints it.


#: How an SI unit is told: unit printed, factor.
_TOLD = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "W": ("W", 1.0), "1": ("%", 100.0), "ohm": ("Mohm", 1e-6)}
#: A ratio is told in per cent where one of these is its name, else as a plain number.
_PER_CENT = ("efficiency", "slip", "unbalance", "balance", "shaft power below")
_PLAIN = ""
_OPERATING = {
    "at_rated_current": "at rated current",
    "at_rated_power": "at rated power",
    "at_service_factor": "at service-factor load",
    "at_rated_speed": "at rated speed",
}

_MACHINE = {
    "locked_rotor_torque": "locked-rotor torque",
    "locked_rotor_current": "locked-rotor current",
    "pull_up_torque": "pull-up torque",
    "breakdown_torque": "breakdown torque",
    "gear_loss": "gear loss at rated power",
}
_LOSSES = {
    "stator": "stator",
    "rotor": "rotor",
    "core": "core",
    "friction_windage": "friction and windage",
    "constant": "core, friction and windage",
    "stray": "stray load",
    "efficiency": "efficiency",
}
_ALONG = {name: words for name, words in _LOSSES.items() if name != "constant"}


def told(results: Results, name: str) -> str:
    """Verdict, points at the rating, findings, cautions, and what was not evaluated, one a line."""
    return "\n".join(_lines(results, name))


def _lines(results: Results, name: str) -> Iterator[str]:
    yield f"{name}: {results.verdict.outcome}"
    yield from (f"  {reason}" for reason in results.verdict.reasons)
    yield from files_told(results.readings)
    yield f"load points: {len(results.points)}"
    yield from _log(results.log)
    for key, words in _OPERATING.items():
        point = getattr(results, key)
        if point is not None:
            yield f"  {words}: {_point(point)}"
    yield from _characteristic(results.characteristic)
    yield from _losses(results.losses)
    yield from _rating(results.assessed_rating)
    yield from _side_by_side(results)
    yield from changing_speed_told(results)
    yield from _heat(results.thermal)
    yield from _insulation(results.insulation)
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


def _log(log: Log | None) -> Iterator[str]:
    """How a log became load points, and what was left out of it."""
    if log is not None:
        yield "log:"
        yield from (f"  {sentence}" for sentence in log.summary)


def _characteristic(found: Characteristic) -> Iterator[str]:
    """Starting and overload, letters, class and gear, as far as they are known."""
    yield from (f"  {line}" for line in _machine(found))
    yield from (f"  {sentence}" for sentence in found.proves)


def _machine(found: Characteristic) -> Iterator[str]:
    for name, words in _MACHINE.items():
        value, ratio = getattr(found, name), getattr(found, f"{name}_ratio", None)
        if value is not None:
            behind = "" if ratio is None else f", {ratio.value:.3g} times rated"
            speed = getattr(found, name.replace("_torque", "_speed"), None) if name.endswith("_torque") else None
            at = "" if speed is None else f" at {_quantity(speed)}"
            yield f"{words}: {_quantity(value)}{at}{behind}"
    if found.code_letter is not None and found.kva_per_hp is not None:
        yield f"code letter: {found.code_letter}, {_quantity(found.kva_per_hp)}"
    for words, letter, reason in (
        ("design letter", found.design_letter, found.design_letter_reason),
        ("efficiency class", found.efficiency_class, found.efficiency_class_reason),
    ):
        if letter is not None:
            yield f"{words}: {letter} ({reason})"
    if found.gear_ratio is not None:
        yield f"gear ratio by speed: {found.gear_ratio.value:.4g}"


def _losses(losses: Losses | None) -> Iterator[str]:
    """Losses at rated load and along the load, and what they rest on."""
    if losses is None:
        return
    yield f"losses: {losses.method} ({losses.reason})"
    at_rated = ((words, getattr(losses, name)) for name, words in _LOSSES.items())
    if parts := [f"{words} {_quantity(one)}" for words, one in at_rated if one is not None]:
        yield f"  at rated load: {', '.join(parts)}"
    for point in losses.at_loads:
        along = ", ".join(f"{words} {_quantity(getattr(point, name))}" for name, words in _ALONG.items())
        yield f"  at {point.load.value:.0%} load: {along}"
    stray = losses.stray_regression
    if stray is not None:
        accepted = "; ".join(f"{rule}: {'accepted' if found else 'refused'}" for rule, found in stray.accepted.items())
        yield (
            f"  residual loss over torque squared: slope {_quantity(stray.slope)}, intercept "
            f"{_quantity(stray.intercept)}, correlation {stray.correlation.value:.3f} ({accepted})"
        )
    yield from (f"  {note}" for note in losses.notes)


def _rating(rating: AssessedRating | None) -> Iterator[str]:
    """The assessed rating, what it rests on, and what is still to be measured."""
    if rating is None:
        return
    yield f"assessed rating: {rating.words}"
    if rating.power is not None:
        named = {name: getattr(rating, name) for name in ("power", "torque", "speed", "current")}
        figures = ", ".join(f"{name} {_quantity(one)}" for name, one in named.items() if one is not None)
        yield f"  {rating.power_label or 'below the least step'}: {figures}"
    if rating.limited_by:
        yield f"  held down by {rating.limited_by}"
    yield from (f"  {sentence}" for sentence in rating.basis)
    yield from (f"  to measure: {reading}" for reading in rating.to_measure)


def _side_by_side(results: Results) -> Iterator[str]:
    """What differs between two tests."""
    for one in results.comparisons:
        yield f"{one.title} ({one.first} / {one.second}):"
        for pair in one.differences:
            unit = _told_unit(pair.unit, pair.title)
            yield f"  {pair.title}: {number(pair.first, unit)} / {number(pair.second, unit)}"
        if one.note:
            yield f"  {one.note}"


def _heat(thermal: Thermal | None) -> Iterator[str]:
    """How warm the motor became, and whether it was steady."""
    if thermal is None:
        return
    yield "heat:"
    if thermal.winding_rise is not None:
        limit = "" if thermal.rise_limit is None else f", {_quantity(thermal.rise_limit)} allowed"
        yield f"  winding rise {_quantity(thermal.winding_rise)}{limit}"
    if thermal.final_rise is not None and thermal.remaining_rise is not None:
        left = _quantity(thermal.remaining_rise)
        yield f"  final rise of the {thermal.heat_run_part} {_quantity(thermal.final_rise)}, {left} of it still to come"
    if thermal.time_constant is not None:
        yield f"  time constant {_minutes(thermal.time_constant)}"
    if thermal.steady is not None:
        yield f"  {'steady' if thermal.steady else 'not steady'}: {thermal.steady_criterion}"
    yield from (f"  {note}" for note in thermal.notes)


def _minutes(time: Quantity) -> str:
    if time.expanded_uncertainty is None:
        return f"{time.value / 60.0:.3g} min"
    return _spread(replace(time, value=time.value / 60.0, unit="min"), time.expanded_uncertainty / 60.0)


def _insulation(found: InsulationResult | None) -> Iterator[str]:
    """The insulation reading and what is asked of it."""
    if found is None:
        return
    at_40 = "" if found.at_40_degC is None else f", {_quantity(found.at_40_degC)} at 40 degC"
    least = "" if found.minimum is None else f", at least {_quantity(found.minimum)} asked"
    yield f"insulation: {found.outcome}, {_quantity(found.at_1_min)} after one minute{at_40}{least}"
    if found.polarization_index is not None:
        asked = found.minimum_polarization_index
        least = "" if asked is None else f", {asked.value:g} asked"
        index = replace(found.polarization_index, unit="")
        yield f"  polarization index {_quantity(index)}{least}"
    yield from (f"  {note}" for note in found.notes)


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
    """A figure with its uncertainty where that is known."""
    spread = quantity.expanded_uncertainty
    return number(quantity.value, quantity.unit) if spread is None else _spread(quantity, spread)


def _spread(quantity: Quantity, spread: float) -> str:
    """Value and uncertainty to the same decimal, the latter with two digits (JCGM 100:2008, 7.2.6)."""
    unit, factor = _TOLD.get(quantity.unit, (quantity.unit, 1.0))
    value, doubt = round_with(quantity.value * factor, spread * factor)
    return f"{value} ± {doubt} {unit}".rstrip()


def number(value: float, unit: str) -> str:
    """A value with four significant digits and a unit a bench reads."""
    shown, factor = _TOLD.get(unit, (unit, 1.0))
    return f"{Decimal(f'{value * factor:.4g}'):f} {shown}".rstrip()


def _told_unit(unit: str, title: str) -> str:
    """The unit of a titled figure, ratios that are no percentage as plain numbers."""
    per_cent = any(word in title.lower() for word in _PER_CENT)
    return _PLAIN if unit == "1" and not per_cent else unit


def _finding(one: Finding) -> str:
    unit = _told_unit(one.unit, str(one.title))
    measured = "not measured" if one.measured is None else number(one.measured, unit)
    if one.expanded_uncertainty is not None:
        measured += f" ± {number(one.expanded_uncertainty, unit)}"
    if one.false_decision_probability is not None:
        wrong = "accept" if one.outcome in ACCEPTED else "reject"
        measured += f" (false {wrong}: {_chance(one.false_decision_probability)})"
    note = f"; {one.note}" if one.note else ""
    return f"{one.outcome}: {one.title}, {measured}{_required(one.required, unit)}{note} [{one.source}]"


def _chance(probability: float) -> str:
    """A probability in percent; what is very small is not told as nothing."""
    return "below 0.1 %" if probability < 0.001 else f"{100.0 * probability:.2g} %"


def _required(limits: Limits | None, unit: str) -> str:
    if limits is None:
        return ""
    if limits.low is not None and limits.high is not None:
        return f", required {number(limits.low, unit)} to {number(limits.high, unit)}"
    if limits.low is not None:
        return f", required at least {number(limits.low, unit)}"
    return "" if limits.high is None else f", required at most {number(limits.high, unit)}"
