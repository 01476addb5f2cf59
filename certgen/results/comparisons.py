"""Two tests of one motor side by side: loads taken upwards and downwards, a motor before and after a repair."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.model import INDUCTION
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.reduction.load_directions import widest_gap
from certgen.reduction.model import POINT_UNITS, Reduction
from certgen.results.changing_speed import directions_compared
from certgen.results.model import Comparison, Difference, Point, Results

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
        gap = widest_gap(reduction.points, reduction.sweeps, name)
        if gap is not None:
            title = Message("comparison.at_torque", quantity=Message(f"name.{name}"), torque=gap.torque)
            differences.append(Difference(title, name, POINT_UNITS[name], gap.upward, gap.downward))
    ways = (Message("comparison.upwards"), Message("comparison.downwards"))
    note = Message("comparison.of_loads")
    return (Comparison(Message("comparison.title.loads"), *ways, tuple(differences), note),)


def before_and_after(before: Results, after: Results) -> Comparison:
    """One motor tested twice: what changed at its rating and without load.

    Only points of both tests are compared. What keeps the two from being compared, or makes it doubtful whether they
    are one motor, stands in the note.
    """
    names, title = (_name_of(before), _name_of(after)), Message("comparison.title.tests")
    if before.motor.type != after.motor.type:
        note = Message("comparison.other_kind", before=before.motor.type, after=after.motor.type)
        return Comparison(title, *names, (), note)
    differences = tuple(_differences(before, after))
    notes = [*_uncertainties(before, after), *_not_common(before, after)]
    if not differences:
        notes.insert(0, Message("comparison.nothing_in_common"))
    return Comparison(title, *names, differences, Message("comparison.notes", notes=tuple(notes)) if notes else None)


def _name_of(results: Results) -> Message:
    number = results.certificate.number or Message("comparison.not_numbered")
    return Message("comparison.test", number=number, date=results.certificate.tested_on)


def _differences(before: Results, after: Results) -> Iterator[Difference]:
    for key, (place, quantities) in _PLACES.items():
        first, second = getattr(before, key), getattr(after, key)
        if first is None or second is None:
            continue
        for name in quantities:
            title = Message("comparison.at_place", quantity=Message(f"name.{name}"), place=Message(place))
            yield from _difference(title, name, getattr(first, name), getattr(second, name))
    idle = (before.characteristic.no_load_current, after.characteristic.no_load_current)
    yield from _difference(Message("comparison.no_load_current"), "current", *idle)


def _difference(title: Message, quantity: str, first: Quantity | None, second: Quantity | None) -> Iterator[Difference]:
    if first is not None and second is not None:
        yield Difference(title, quantity, first.unit, first.value, second.value)


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
