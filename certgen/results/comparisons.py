"""Two tests of one motor side by side: loads taken upwards and downwards, a motor before and after a repair."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from certgen.job.model import INDUCTION
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.reduction.load_directions import widest_gap
from certgen.reduction.model import POINT_UNITS, Reduction
from certgen.reduction.uncertainty.errors import Errors, uncertainty_of
from certgen.reduction.uncertainty.linear import derivatives, nominal, of_errors
from certgen.results.changing_speed import directions_compared
from certgen.results.model import Comparison, Difference, Point, Results
from certgen.results.uncertainty import errors_of

#: What is compared between the branches of one test.
_BRANCH_QUANTITIES = ("speed", "current", "efficiency")
#: What is compared between two tests, at each place where both have a point.
_PLACES = {
    "at_rated_current": ("place.rated_current", ("shaft_power", "speed", "slip", "efficiency", "power_factor")),
    "at_rated_power": ("place.rated_power", ("current", "speed", "slip", "efficiency", "power_factor")),
}
#: Plates are one and the same where their ratings differ by no more. Common practice, no source.
_SAME_RATING = 0.005


def sweeps_compared(reduction: Reduction) -> tuple[Comparison, ...]:
    """Loads taken upwards held against loads taken downwards, or the runs of a sweep, where one test has both."""
    if reduction.sweep is not None:
        return directions_compared(reduction.sweep)
    if reduction.sweeps is None:
        return ()
    differences = []
    for name in _BRANCH_QUANTITIES:
        errors = errors_of(reduction)
        gap = widest_gap(reduction.branches, name, errors)
        if gap is not None:
            title = Message("comparison.at_torque", quantity=Message(f"name.{name}"), torque=gap.torque)
            own = None if errors is None or gap.difference is None else errors.uncertainty(gap.difference).expanded
            differences.append(_change(title, name, POINT_UNITS[name], (gap.upward, gap.downward), own))
    ways = (Message("comparison.upwards"), Message("comparison.downwards"))
    note = Message("comparison.of_loads")
    return (Comparison(Message("comparison.title.loads"), *ways, tuple(differences), note),)


def before_and_after(
    before: Results, after: Results, reductions: tuple[Reduction, Reduction] | None = None
) -> Comparison:
    """One motor tested twice: what changed at its rating and without load.

    Parameters
    ----------
    before, after : Results
        Only points of both tests are compared. What keeps the two from being compared, or makes it doubtful whether
        they are one motor, stands in the note.
    reductions : tuple of (Reduction, Reduction), or None
        What the results were made of. By these, errors that both tests share take no part in a change: those of the
        same rig, with the same statement in both. Left out, none are taken to be shared, the safe side.

    References
    ----------
    JCGM 100:2008, 5.2 (correlated errors of a difference).
    """
    names, title = (_name_of(before), _name_of(after)), Message("comparison.title.tests")
    if before.motor.type != after.motor.type:
        note = Message("comparison.other_kind", before=before.motor.type, after=after.motor.type)
        return Comparison(title, *names, (), note)
    differences = tuple(_differences(before, after, reductions))
    notes = [*_uncertainties(before, after), *_not_common(before, after)]
    if not differences:
        notes.insert(0, Message("comparison.nothing_in_common"))
    return Comparison(title, *names, differences, Message("comparison.notes", notes=tuple(notes)) if notes else None)


def _name_of(results: Results) -> Message:
    number = results.certificate.number or Message("comparison.not_numbered")
    return Message("comparison.test", number=number, date=results.certificate.tested_on)


def _differences(
    before: Results, after: Results, reductions: tuple[Reduction, Reduction] | None
) -> Iterator[Difference]:
    for key, (place, quantities) in _PLACES.items():
        first, second = getattr(before, key), getattr(after, key)
        if first is None or second is None:
            continue
        for name in quantities:
            title = Message("comparison.at_place", quantity=Message(f"name.{name}"), place=Message(place))
            pair = (getattr(first, name), getattr(second, name))
            together = None if reductions is None else _together(reductions, key, name, pair)
            yield from _difference(title, name, *pair, together)
    yield from _windings(before, after)
    idle = (before.characteristic.no_load_current, after.characteristic.no_load_current)
    yield from _difference(Message("comparison.no_load_current"), "current", *idle)


def _windings(before: Results, after: Results) -> Iterator[Difference]:
    """Resistances of windings of one name, both at 25 degC."""
    first, second = (
        {} if one.as_found.windings is None else {each.name: each for each in one.as_found.windings.windings}
        for one in (before, after)
    )
    for name in (name for name in first if name in second):
        title = Message("comparison.winding", winding=Message(f"windings.{name}"))
        yield from _difference(title, "resistance", first[name].corrected, second[name].corrected)


def _difference(
    title: Message, quantity: str, first: Quantity | None, second: Quantity | None, together: float | None = None
) -> Iterator[Difference]:
    if first is not None and second is not None:
        own = _apart(first, second) if together is None else together
        yield _change(title, quantity, first.unit, (first.value, second.value), own)


def _change(title: Message, quantity: str, unit: str, pair: tuple[float, float], own: float | None) -> Difference:
    within = own is not None and abs(pair[1] - pair[0]) <= own
    return Difference(title, quantity, unit, *pair, own, Message("comparison.no_change") if within else None)


def _apart(first: Quantity, second: Quantity) -> float | None:
    """Expanded uncertainty of a change of which nothing is taken to be shared."""
    if first.expanded_uncertainty is None or second.expanded_uncertainty is None:
        return None
    return math.hypot(first.expanded_uncertainty, second.expanded_uncertainty)


#: Errors that are new on every day of testing, by the keys of their names.
_OF_THE_DAY = frozenset({"input.zero_before", "input.zero_after", "input.zero_drift", "input.supply_frequency"})


def _together(
    reductions: tuple[Reduction, Reduction], at: str, name: str, pair: tuple[Quantity | None, Quantity | None]
) -> float | None:
    """Expanded uncertainty of a change, shared errors taken out; ``None`` where the figures are not the curve's own."""
    errors = [errors_of(one) for one in reductions]
    values = []
    for reduction, figure in zip(reductions, pair, strict=True):
        known = None if reduction.uncertainties is None else reduction.uncertainties.correlated.get(at)
        value = None if known is None else known.get(name)
        if value is None or figure is None or not math.isclose(nominal(value), figure.value, rel_tol=1e-9):
            return None
        values.append(value)
    first, second = errors
    if first is None or second is None or first.measured.rig != second.measured.rig:
        return None
    shared = {error: _counterpart(first, second, error) for error in derivatives(values[1])}
    slopes = {error: -slope for error, slope in derivatives(values[0]).items()}
    for error, slope in derivatives(values[1]).items():
        one = shared[error]
        slopes[one] = slopes.get(one, 0.0) + slope
    change = of_errors(nominal(values[1]) - nominal(values[0]), slopes.values(), slopes)
    return uncertainty_of(change, {**first.known, **second.known}).expanded


def _counterpart(first: Errors, second: Errors, error: Any) -> Any:
    """The error of the first test that is one with an error of the second; the error itself where there is none."""
    one = second.known[error]
    found = first.shared.get(one.name) if one.shared and one.name.key not in _OF_THE_DAY else None
    return found if found is not None and first.known[found].standard_uncertainty == one.standard_uncertainty else error


def _uncertainties(before: Results, after: Results) -> Iterator[Message]:
    """What makes it doubtful that both tests are of one motor under one rating."""
    if before.motor.serial != after.motor.serial:
        first, second = (results.motor.serial or Message("comparison.no_serial") for results in (before, after))
        yield Message("comparison.serials", before=first, after=second)
    for name in ("power", "current", "voltage", "frequency"):
        first, second = getattr(before.nameplate, name), getattr(after.nameplate, name)
        if first is None and second is None:
            continue
        if first is None or second is None or abs(first / second - 1.0) > _SAME_RATING:
            yield Message("comparison.plates", quantity=Message(f"name.{name}"))
    if before.characteristic.poles != after.characteristic.poles and before.motor.type in INDUCTION:
        yield Message("comparison.poles")


def _not_common(before: Results, after: Results) -> Iterator[Message]:
    for key, (place, _) in _PLACES.items():
        points: tuple[Point | None, Point | None] = (getattr(before, key), getattr(after, key))
        tests = (Message("comparison.before"), Message("comparison.after"))
        without = tuple(test for test, point in zip(tests, points, strict=True) if point is None)
        if without:
            yield Message("comparison.not_at", place=Message(place), tests=without)
