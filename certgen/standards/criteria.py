"""Criteria sets: which measured quantity is held against which declared one, and how far it may differ."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.source import LOADER, Problems, parse
from certgen.document.vocabulary import Choice, Each, Group, Measure, Text, key
from certgen.errors import InputError

# The shipped tables as plain data.


@lru_cache(maxsize=32)
def shipped_table(name: str) -> Any:
    """The data of one YAML file of this folder, read once."""
    text = resources.files("certgen.standards").joinpath(f"{name}.yaml").read_text(encoding="utf-8")
    return yaml.load(text, Loader=LOADER)


# Criteria sets: which measured quantity is held against which declared one, and how far it may differ.


SHIPPED = ("iec-60034-1", "nema-mg-1")
DEFAULT = "iec-60034-1"

#: Where on the load curve a quantity is taken, and the name of that point in the results tree.
PLACES = {
    "rated current": "at_rated_current",
    "rated power": "at_rated_power",
    "rated speed": "at_rated_speed",
    "service factor": "at_service_factor",
}
QUANTITIES = ("shaft_power", "torque", "speed", "slip", "current", "efficiency", "power_factor", "input_power")
DECLARED = (
    "power", "torque", "speed", "slip", "current", "efficiency", "power_factor",
    "service_factor_power", "service_factor_current",
)  # fmt: skip
STATUSES = ("confirmed", "thin", "from memory", "common practice", "the shop's own")
_TYPES = ("three-phase induction", "single-phase induction", "universal", "dc", "other")
_PAIRED = "nominal and minimum efficiency"
CODE_LETTER, DESIGN_LETTER, BREAKDOWN = "code letter", "design letter", "breakdown over rated torque"
STARTING = (CODE_LETTER, DESIGN_LETTER, BREAKDOWN)
TOLD, RESTS = "told only", "rests on it"


def _part(meaning: str, example: str) -> float | None:
    kind = Measure("ratio", low=0.0, high=1.0, example=example, bounds="from 0 to 1")
    value: float | None = key(kind, meaning)
    return value


def _power(meaning: str) -> float | None:
    value: float | None = key(Measure("power", above=0.0, bounds="more than zero"), meaning)
    return value


@dataclass(frozen=True)
class Tolerance:
    """How far a measured value may fall short of, or pass, the declared one."""

    part: float | None = _part("Part of what 'of' names.", "15 %")
    of: str = key(
        Choice(("declared", "one minus declared", "losses")), "What the part is taken of.", default="declared"
    )
    at_least: float | None = _part("Least allowance, absolute.", "0.02")
    at_most: float | None = _part("Greatest allowance, absolute.", "0.07")
    paired: str | None = key(Choice((_PAIRED,)), "A published table that pairs declared values with limits.")


@dataclass(frozen=True)
class Criterion:
    """One row of a criteria set."""

    id: str = key(Text(60, "slip_at_rated_power"), "Name of the finding.", required=True)
    title: str = key(Text(80, "Slip at rated power"), "Title of the finding.", required=True)
    quantity: str = key(Choice(QUANTITIES), "What is measured.", required=True)
    at: str = key(Choice(tuple(PLACES)), "Where on the load curve.", required=True)
    declared: str = key(Choice(DECLARED), "What of the nameplate it is held against.", required=True)
    low: Tolerance | None = key(Group(Tolerance), "How far below is allowed; left out: no lower limit.")
    high: Tolerance | None = key(Group(Tolerance), "How far above is allowed; left out: no upper limit.")
    clause: str = key(Text(160, "12.1, Table 20"), "Clause.", required=True)
    status: str = key(Choice(STATUSES), "How far the row was confirmed.", default="the shop's own")
    types: tuple[str, ...] = key(Each(Choice(_TYPES), 5), "Kinds of motor it holds for.", default=())
    from_power: float | None = _power("Holds from this rated power.")
    below_power: float | None = _power("Holds below this rated power.")
    above_power: float | None = _power("Holds above this rated power.")
    up_to_power: float | None = _power("Holds up to and with this rated power.")
    from_power_per_1000_rpm: float | None = _power("Holds from this rated power per 1000 rpm.")
    below_power_per_1000_rpm: float | None = _power("Holds below this rated power per 1000 rpm.")


@dataclass(frozen=True)
class Supply:
    """How far the supply of a test may differ from the plate before the page warns of it."""

    voltage: float | None = _part("Voltage off the plate, either side.", "5 %")
    frequency: float | None = _part("Frequency off the plate, either side.", "2 %")
    voltage_unbalance: float | None = _part("Greatest deviation of a line from the mean of the three.", "1 %")
    clause: str = key(Text(160, "clause 7.3, zone A"), "Clause.", required=True)
    status: str = key(Choice(STATUSES), "How far it was confirmed.", default="the shop's own")


@dataclass(frozen=True)
class StartingCriterion:
    """One row on starting and overload: what is judged, and whether the verdict rests on it."""

    judges: str = key(Choice(STARTING), "What is judged, with the limits of published tables.", required=True)
    verdict: str = key(Choice((TOLD, RESTS)), "Whether the verdict rests on it.", default=TOLD)
    least: float | None = key(
        Measure("ratio", above=0.0, high=10.0, example="1.6", bounds="more than zero"),
        "Least breakdown over rated torque.",
    )
    clause: str = key(Text(160, "10.37.2"), "Clause.", required=True)
    status: str = key(Choice(STATUSES), "How far the row was confirmed.", default="the shop's own")


@dataclass(frozen=True)
class CriteriaSet:
    """Criteria of one standard or shop."""

    name: str = key(Text(60, "our-shop"), "Name of the set.", required=True)
    title: str = key(Text(120, "Limits of our shop"), "Title, as printed.", required=True)
    edition: str = key(Text(40, "2026"), "Edition.", required=True)
    supply: Supply | None = key(Group(Supply), "Limits of the test's supply.")
    criteria: tuple[Criterion, ...] = key(Each(Group(Criterion), 60), "The rows.", required=True)
    starting: tuple[StartingCriterion, ...] = key(
        Each(Group(StartingCriterion), 3), "What of starting and overload is judged.", default=()
    )


def read_criteria(text: str, reader: Reader) -> CriteriaSet | None:
    """A criteria file as a set, or ``None`` with the mistakes kept."""
    root = parse(text, reader.shown, reader.problems)
    found = None if root is None else reader.group(CriteriaSet, root)
    if found is None or not found.criteria:
        return found
    for index, row in enumerate(found.criteria, start=1):
        path = f"criteria[{index}]"
        if row is not None and row.low is None and row.high is None:
            instead = "write 'low: {part: 10 %, of: declared}' or the like"
            reader.wrong_at(path, "the row has neither low nor high", instead)
    for index, starting in enumerate(found.starting or (), start=1):
        if starting is not None and starting.judges == BREAKDOWN and starting.least is None:
            reader.wrong_at(f"starting[{index}]", "the row has no least", "write 'least: 1.6' or the like")
    return found


@lru_cache(maxsize=8)
def shipped_criteria(name: str) -> CriteriaSet:
    """One of the published sets that come with the program."""
    folder = resources.files("certgen.standards")
    problems = Problems()
    with resources.as_file(folder) as path:
        reader = Reader(f"{name}.yaml", path, problems)
        found = read_criteria((path / f"{name}.yaml").read_text(encoding="utf-8"), reader)
    if found is None or problems.found:
        raise InputError(problems.found)
    return found


@lru_cache(maxsize=1)
def nominal_minimum_pairs() -> dict[float, float]:
    """Nominal efficiency of the plate to the least efficiency of one motor, as fractions.

    Source: NEMA MG 1, Table 12-10, from memory.
    """
    pairs = shipped_table("nema_nominal_efficiency")["pairs"]
    return {nominal / 100.0: least / 100.0 for nominal, least in pairs}


def lower_limit(declared: float, tolerance: Tolerance) -> float:
    """Least value allowed for a declared one.

    Parameters
    ----------
    declared : float
        Declared value. [its own unit]
    tolerance : Tolerance
        The allowance. A paired table falls back on losses 20 % above nominal for a value it does not hold.

    Returns
    -------
    float
        The limit. [as declared]
    """
    if tolerance.paired is not None:
        pairs = nominal_minimum_pairs()
        near = min(pairs, key=lambda nominal: abs(nominal - declared))
        if abs(near - declared) < 5e-5:
            return pairs[near]
        return _with_more_losses(declared, 0.20)
    if tolerance.of == "losses":
        return _with_more_losses(declared, tolerance.part or 0.0)
    return declared - _allowance(declared, tolerance)


def upper_limit(declared: float, tolerance: Tolerance) -> float:
    """Greatest value allowed for a declared one; parameters and unit as for :func:`lower_limit`."""
    return declared + _allowance(declared, tolerance)


def _allowance(declared: float, tolerance: Tolerance) -> float:
    basis = declared if tolerance.of == "declared" else 1.0 - declared
    allowance = (tolerance.part or 0.0) * basis
    if tolerance.at_least is not None:
        allowance = max(allowance, tolerance.at_least)
    if tolerance.at_most is not None:
        allowance = min(allowance, tolerance.at_most)
    return allowance


def _with_more_losses(efficiency: float, part: float) -> float:
    """Efficiency once the losses for the same output have grown by a part of themselves."""
    return 1.0 / (1.0 + (1.0 + part) * (1.0 / efficiency - 1.0))


# How a published limit is named on the page, and which standard a criteria set rests on where it has none.


IEC, NEMA = "iec-60034-1", "nema-mg-1"


def standard_behind(criteria: str) -> str:
    """The standard whose tables hold beside a criteria set, by the set's name; a shop's own rests on IEC 60034-1."""
    return NEMA if criteria == NEMA else IEC


def cited(title: str, clause: str, status: str) -> str:
    """A source as the page prints it.

    Raises
    ------
    ValueError
        The status is none of those there are.
    """
    if status not in STATUSES:
        raise ValueError(f"{title}, {clause}: unknown status {status!r}")
    if status == "common practice":
        return f"common practice, no source ({clause})"
    return f"{title}, {clause}" + (", from memory" if status == "from memory" else "")
