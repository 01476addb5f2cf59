"""What the page says: results put into words, in the units of the reader's choice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, fields, is_dataclass

from certgen.job.pictures import Picture
from certgen.messages.catalogue import Message
from certgen.messages.format import KINDS, as_units
from certgen.quantity import Quantity
from certgen.results.model import EXTRAPOLATED, FULL_SPAN, IMPOSSIBLE, Point, Results, Verdict
from certgen.results.points import leading_point
from certgen.sheet.pdf.logo import DrawnLogo, Logo
from certgen.sheet.words import Voice, Words

#: Signs behind the name of a point, each with the key of what it means.
FLAG_SIGNS = {EXTRAPOLATED: "†", IMPOSSIBLE: "‡", FULL_SPAN: "§"}
FLAG_MEANINGS = {
    EXTRAPOLATED: "flag.extrapolated", IMPOSSIBLE: "flag.impossible", FULL_SPAN: "flag.full_span",
}  # fmt: skip

_ENGLISH = Words()


@dataclass(frozen=True)
class Digest:
    """The SHA-256 of a file that a tag belongs to: the certificate's PDF, or its results as JSON."""

    of: str  # pdf or results
    sha256: str


@dataclass(frozen=True)
class Content(Voice):
    """The results, the reader's choice of units, the words of the page, the shop's logo, what a tag is of, pictures."""

    results: Results
    units: str = "si"
    words: Words = field(default_factory=Words)
    logo: Logo | DrawnLogo | None = None
    digest: Digest | None = None
    pictures: tuple[Picture, ...] = ()
    beside: tuple[Results, ...] = ()  # tests drawn on the same axes, whose units must be the same


@dataclass(frozen=True)
class NamedPoint:
    """A point with its name on the page, and in words how it came about."""

    name: str
    point: Point
    how: str
    read_off_by: str = ""  # the quantity that defines the point, and has no uncertainty there
    field: str = ""  # where it stands in the results


def rated_points(results: Results, words: Words = _ENGLISH) -> tuple[NamedPoint, ...]:
    """The points read off the load curve that exist."""
    named = (
        ("point.rated_current", "at_rated_current", "current"),
        ("point.rated_power", "at_rated_power", "shaft_power"),
        ("point.service_factor", "at_service_factor", "shaft_power"),
        ("point.rated_speed", "at_rated_speed", "speed"),
    )
    return tuple(
        NamedPoint(words(key), point, words(_read_off(point), point=words(key)), by, name)
        for key, name, by in named
        if (point := getattr(results, name)) is not None
    )


def _read_off(point: Point) -> str:
    return "how.extrapolated" if EXTRAPOLATED in point.flags else "how.read_off"


def headline_point(results: Results, words: Words = _ENGLISH) -> NamedPoint | None:
    """The point whose figures lead the page, the tag and the register, with its name; ``None`` without a usable one."""
    leading = leading_point(results)
    if leading is None:
        return None
    for item in rated_points(results, words):
        if item.point is leading.point:
            return item
    number = next((place for place, point in enumerate(results.points, 1) if point is leading.point), None)
    if number is None:
        return NamedPoint(
            words("point.assessed"), leading.point, words("how.assessed"), leading.set_by, "assessed_rating"
        )
    if len(results.points) == 1:
        return NamedPoint(words("point.tested"), leading.point, words("how.only_point"))
    how = words("how.highest_load", number=number, count=len(results.points))
    return NamedPoint(words("point.tested"), leading.point, how)


def reasons_to_print(verdict: Verdict) -> tuple[Message | str, ...]:
    """The reasons of a verdict, without those that its scope says as well where there are others.

    A scope that lists what of the plate was not tested says all of it.
    """
    keys = [getattr(reason, "key", "") for reason in verdict.reasons]
    if verdict.scope and "verdict.met_in_part" in keys:
        said: tuple[str, ...] = ("verdict.met_in_part", "verdict.not_tested")
        return tuple(reason for reason, key in zip(verdict.reasons, keys, strict=True) if key not in said)
    telling = tuple(reason for reason, key in zip(verdict.reasons, keys, strict=True) if key != "verdict.met")
    return telling if verdict.scope and telling else verdict.reasons


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
        yield from (item for one in fields(value) for item in _within(getattr(value, one.name)))


#: The sentence on uncertainties that are missing, and those on uncertainty at all.
NOT_STATED = "missing.uncertainty"
OF_UNCERTAINTY = (NOT_STATED, "missing.every_uncertainty", "run_down.no_uncertainty")


def uncertainty_sentence(results: Results, words: Words = _ENGLISH, units: str = "si") -> str:
    """How far the page states uncertainties."""
    found = every_quantity(results)
    stated = [item for item in found if item.expanded_uncertainty is not None]
    if not stated:
        return words("uncertainty.none")
    factors = coverage_factors(stated, units, words)
    coverage = words("uncertainty.coverage", factors=factors) if factors else ""
    rest = "" if len(stated) == len(found) else words("uncertainty.declared")
    if any(sentence.key == NOT_STATED for sentence in results.conditions.missing):
        rest = words("uncertainty.missing")
    return words("uncertainty.given", coverage=coverage, rest=rest)


def coverage_factors(quantities: Iterable[Quantity], units: str = "si", words: Words = _ENGLISH) -> str:
    """The coverage factors of some quantities, as 'k = 2.00' or a range; empty where none has an uncertainty."""
    factors = sorted(item.coverage_factor for item in quantities if item.coverage_factor is not None)
    if not factors:
        return ""
    least, most = (as_units(units).number(factor, 2) for factor in (factors[0], factors[-1]))
    return f"k = {least if least == most else words('page.to', low=least, high=most)}"
