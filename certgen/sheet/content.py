"""What the page says: results put into words, in the units of the reader's choice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass

from certgen.assessment.results import EXTRAPOLATED, IMPOSSIBLE, Point, Results
from certgen.quantity import Quantity
from certgen.sheet.figures import KINDS

#: Signs behind the name of a point, and what they mean.
FLAG_SIGNS = {EXTRAPOLATED: "†", IMPOSSIBLE: "‡"}
FLAG_MEANINGS = {
    EXTRAPOLATED: "† beyond the tested points: extrapolated, to be read with care",
    IMPOSSIBLE: "‡ physically impossible reading: kept as read, not used for curves or findings",
}


@dataclass(frozen=True)
class Content:
    """The results and the reader's choice of units."""

    results: Results
    units: str = "si"


@dataclass(frozen=True)
class NamedPoint:
    """A point with its name on the page, and in words how it came about."""

    name: str
    point: Point
    how: str
    read_off_by: str = ""  # the quantity that defines the point, and has no uncertainty there


def rated_points(results: Results) -> tuple[NamedPoint, ...]:
    """The points read off the load curve that exist."""
    named = (
        ("Rated current", results.at_rated_current, "current"),
        ("Rated power", results.at_rated_power, "shaft_power"),
        ("Service-factor load", results.at_service_factor, "shaft_power"),
        ("Rated speed", results.at_rated_speed, "speed"),
    )
    return tuple(
        NamedPoint(name, point, f"at {name.lower()}, {_read_off(point)}", by)
        for name, point, by in named
        if point is not None
    )


def _read_off(point: Point) -> str:
    return "extrapolated beyond the tested points" if EXTRAPOLATED in point.flags else "read off the load curve"


def headline_point(results: Results) -> NamedPoint | None:
    """The point whose figures lead the page.

    An assessed rating where there is one, so that nobody takes the highest load tested for it; else rated current,
    rated power, or the tested point of highest load.
    """
    assessed = results.assessed_rating
    if assessed is not None and assessed.power is not None:
        point = Point(
            speed=assessed.speed, torque=assessed.torque, shaft_power=assessed.power, current=assessed.current
        )
        return NamedPoint("Assessed rating", point, "and rated by this bench, not by a maker")
    for named in rated_points(results):
        if named.name in ("Rated current", "Rated power"):
            return named
    usable = [point for point in results.points if IMPOSSIBLE not in point.flags]
    if not usable:
        return None
    best = max(usable, key=_load)
    if len(results.points) == 1:
        return NamedPoint("Tested point", best, "at the only load point tested")
    place = results.points.index(best) + 1
    return NamedPoint("Tested point", best, f"at load point {place} of {len(results.points)}, the highest load tested")


def _load(point: Point) -> tuple[float, float, float, float]:
    """Order of points by load: shaft power, else torque, else current, else input power."""
    values = (point.shaft_power, point.torque, point.current, point.input_power)
    first, second, third, fourth = (float("-inf") if item is None else item.value for item in values)
    return first, second, third, fourth


def quantities(point: Point) -> dict[str, Quantity]:
    """The quantities of a point that are there, by name."""
    return {name: getattr(point, name) for name in KINDS if getattr(point, name) is not None}


def every_quantity(results: Results) -> list[Quantity]:
    """Every quantity that stands on the page."""
    named = [item.point for item in rated_points(results)]
    found = [item for point in (*results.points, *named) for item in quantities(point).values()]
    parts = (results.characteristic, results.losses, results.thermal, results.insulation, results.assessed_rating)
    run_down = results.run_down
    coasted = () if run_down is None else (run_down.friction_torque, run_down.friction_loss, run_down.inertia)
    return [*found, *_within((*parts, results.conditions)), *_within(coasted)]


def _within(value: object) -> Iterator[Quantity]:
    """Every quantity of a part of the results, at whatever depth."""
    if isinstance(value, Quantity):
        yield value
    elif isinstance(value, tuple):
        yield from (item for one in value for item in _within(one))
    elif is_dataclass(value):
        yield from (item for field in fields(value) for item in _within(getattr(value, field.name)))


#: How a sentence on missing statements of the rig begins.
NOT_STATED = "Uncertainty not stated:"


def uncertainty_sentence(results: Results) -> str:
    """How far the page states uncertainties."""
    found = every_quantity(results)
    stated = [item for item in found if item.expanded_uncertainty is not None]
    if not stated:
        return "Uncertainty not stated."
    factors = coverage_factors(stated)
    coverage = f", coverage 95.45 %, factor {factors}" if factors else ""
    rest = "" if len(stated) == len(found) else "; figures without are declared or defined"
    if any(sentence.startswith(NOT_STATED) for sentence in results.conditions.missing):
        rest = "; for figures that rest on what is missing, uncertainty not stated"
    return f"Figures after ± are expanded uncertainties{coverage}; those of load points are in the results{rest}."


def coverage_factors(quantities: Iterable[Quantity]) -> str:
    """The coverage factors of some quantities, as 'k = 2.00' or a range; empty where none has an uncertainty."""
    factors = sorted(item.coverage_factor for item in quantities if item.coverage_factor is not None)
    if not factors:
        return ""
    least, most = f"{factors[0]:.2f}", f"{factors[-1]:.2f}"
    return f"k = {least}" if least == most else f"k = {least} to {most}"
