"""Two tests of one motor side by side: loads taken upwards and downwards, a motor before and after a repair."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.model import INDUCTION
from certgen.quantity import Quantity
from certgen.reduction.load_directions import widest_gap
from certgen.reduction.model import POINT_UNITS, Reduction
from certgen.results.changing_speed import directions_compared
from certgen.results.model import Comparison, Difference, Point, Results

#: What is compared between the branches of one test.
_BRANCH_QUANTITIES = ("speed", "current", "efficiency")
#: What is compared between two tests, at each place where both have a point.
_PLACES = {
    "at_rated_current": ("rated current", ("shaft_power", "speed", "slip", "efficiency", "power_factor")),
    "at_rated_power": ("rated power", ("current", "speed", "slip", "efficiency", "power_factor")),
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
            title = f"{_title(name)} at {gap.torque:.3g} N·m"
            differences.append(Difference(title, POINT_UNITS[name], gap.upward, gap.downward))
    note = (
        "Each at the torque where the branches lie furthest apart; what lies between them is mostly the warming of the "
        "motor. The load curve rests on the loads taken downwards, as the motor is warmer then (IEEE 112 takes loads "
        "from the highest to the lowest, from memory)."
    )
    return (Comparison("Loads taken upwards and downwards", "upwards", "downwards", tuple(differences), note),)


def before_and_after(before: Results, after: Results) -> Comparison:
    """One motor tested twice: what changed at its rating and without load.

    Only points of both tests are compared. What keeps the two from being compared, or makes it doubtful whether they
    are one motor, stands in the note.
    """
    names = (_name_of(before), _name_of(after))
    if before.motor.type != after.motor.type:
        kinds = f"{before.motor.type} before, {after.motor.type} after"
        return Comparison("Before and after", *names, (), f"Nothing is compared: the kinds of motor differ ({kinds}).")
    differences = tuple(_differences(before, after))
    notes = [*_uncertainties(before, after), *_not_common(before, after)]
    if not differences:
        notes.insert(0, "Nothing is compared: the tests have no point in common.")
    return Comparison("Before and after", *names, differences, " ".join(notes))


def _name_of(results: Results) -> str:
    return f"{results.certificate.number or 'not numbered'}, {results.certificate.tested_on.isoformat()}"


def _differences(before: Results, after: Results) -> Iterator[Difference]:
    for key, (place, quantities) in _PLACES.items():
        first, second = getattr(before, key), getattr(after, key)
        if first is None or second is None:
            continue
        for name in quantities:
            yield from _difference(f"{_title(name)} at {place}", getattr(first, name), getattr(second, name))
    idle = (before.characteristic.no_load_current, after.characteristic.no_load_current)
    yield from _difference("No-load current", *idle)


def _difference(title: str, first: Quantity | None, second: Quantity | None) -> Iterator[Difference]:
    if first is not None and second is not None:
        yield Difference(title, first.unit, first.value, second.value)


def _title(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _uncertainties(before: Results, after: Results) -> Iterator[str]:
    """What makes it doubtful that both tests are of one motor under one rating."""
    if before.motor.serial != after.motor.serial:
        yield f"The serials differ: {before.motor.serial or 'none'} before, {after.motor.serial or 'none'} after."
    for name in ("power", "current", "voltage", "frequency"):
        first, second = getattr(before.nameplate, name), getattr(after.nameplate, name)
        if first is None and second is None:
            continue
        if first is None or second is None or abs(first / second - 1.0) > _SAME_RATING:
            yield f"The plates differ in {name}, so the points compared are not those of one rating."
    if before.characteristic.poles != after.characteristic.poles and before.motor.type in INDUCTION:
        yield "The number of poles differs."


def _not_common(before: Results, after: Results) -> Iterator[str]:
    for key, (place, _) in _PLACES.items():
        points: tuple[Point | None, Point | None] = (getattr(before, key), getattr(after, key))
        without = [name for name, point in zip(("before", "after"), points, strict=True) if point is None]
        if without:
            yield f"Not compared at {place}: no such point {' and '.join(without)}."
