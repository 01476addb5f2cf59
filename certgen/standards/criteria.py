"""Criteria sets: which measured quantity is held against which declared one, and how far it may differ."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.source import LOADER, Problems, parse
from certgen.document.vocabulary import Choice, Each, Group, Measure, Text, key, keys_of
from certgen.errors import InputError
from certgen.messages.catalogue import Message

# The shipped tables as plain data.


@lru_cache(maxsize=32)
def shipped_table(name: str) -> Any:
    """The data of one YAML file of this folder, read once."""
    text = resources.files("certgen.standards").joinpath(f"{name}.yaml").read_text(encoding="utf-8")
    return yaml.load(text, Loader=LOADER)


# Criteria sets: which measured quantity is held against which declared one, and how far it may differ.


IEC, NEMA = "iec-60034-1", "nema-mg-1"
SHIPPED = (IEC, NEMA)
DEFAULT = IEC

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
#: What a plate may declare of starting and overload, by its key under ``nameplate``.
DECLARED_STARTING = ("locked_rotor_current", "locked_rotor_torque", "pull_up_torque", "breakdown_torque")
STATUSES = ("confirmed", "thin", "from memory", "common practice", "the shop's own")
#: What a limit rests on: a page that was read, or the word of the workshop that uses it.
PUBLISHED, WORKSHOP = "published", "workshop"
_OF_BASIS = {"confirmed": PUBLISHED, "thin": PUBLISHED}
DC_TYPE = "dc"
TYPES = ("three-phase induction", "single-phase induction", "universal", DC_TYPE, "other")
#: How the field of a direct-current motor is made.
EXCITATIONS = ("permanent magnet", "shunt", "series", "compound", "separate")
#: The one whose speed may differ most from the plate's.
SERIES = "series"
_PAIRED = "nominal and minimum efficiency"
CODE_LETTER, DESIGN_LETTER, BREAKDOWN = "code letter", "design letter", "breakdown over rated torque"
STARTING = (CODE_LETTER, DESIGN_LETTER, BREAKDOWN)
INFORMATION, RESTS = "information only", "rests on it"
#: What earlier versions called the former.
_FORMER = (("told only", INFORMATION),)
BELOW, ABOVE, NO_SIDE = "below", "above", "none"


def basis_of(status: str) -> str:
    """Whether a limit of a status is a published one or a workshop's own."""
    return _OF_BASIS.get(status, WORKSHOP)


def _part(meaning: str, example: str) -> float | None:
    kind = Measure("ratio", low=0.0, high=1.0, example=example, bounds="from 0 to 1")
    value: float | None = key(kind, meaning)
    return value


def _power(meaning: str) -> float | None:
    value: float | None = key(Measure("power", above=0.0, bounds="more than zero"), meaning)
    return value


def _clause() -> str:
    value: str = key(Text(160, "12.1, slip"), "Clause.", required=True)
    return value


def _status() -> str:
    meaning = "How far the row was confirmed; 'confirmed' and 'thin' make a published limit, the rest a workshop's own."
    value: str = key(Choice(STATUSES), meaning, default="the shop's own")
    return value


def _edition() -> str | None:
    value: str | None = key(Text(40, "1996"), "Edition the row was read in, where that is not the set's.")
    return value


def _types() -> tuple[str, ...]:
    value: tuple[str, ...] = key(Each(Choice(TYPES), 5), "Kinds of motor it holds for; left out: all.", default=())
    return value


def _verdict(default: str) -> str:
    value: str = key(Choice((INFORMATION, RESTS), _FORMER), "Whether the verdict rests on it.", default=default)
    return value


def _harmless() -> str:
    meaning = "Side of a tolerance with two sides that harms nobody: beyond it a motor is better than its plate."
    value: str = key(Choice((BELOW, ABOVE, NO_SIDE)), meaning, default=NO_SIDE)
    return value


class _Weighed:
    """What a row rests on, and whether the verdict rests on the row."""

    status: str
    verdict: str

    @property
    def basis(self) -> str:
        """``PUBLISHED`` or ``WORKSHOP``."""
        return basis_of(self.status)

    @property
    def decides(self) -> bool:
        """Whether the verdict rests on it."""
        return self.verdict == RESTS


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
class Criterion(_Weighed):
    """One row of a criteria set."""

    id: str = key(Text(60, "slip_at_rated_power"), "Name of the finding.", required=True)
    title: str = key(Text(80, "Slip at rated power"), "Title of the finding.", required=True)
    quantity: str = key(Choice(QUANTITIES), "What is measured.", required=True)
    at: str = key(Choice(tuple(PLACES)), "Where on the load curve.", required=True)
    declared: str = key(Choice(DECLARED), "What of the nameplate it is held against.", required=True)
    low: Tolerance | None = key(Group(Tolerance), "How far below is allowed; left out: no lower limit.")
    high: Tolerance | None = key(Group(Tolerance), "How far above is allowed; left out: no upper limit.")
    harmless: str = _harmless()
    verdict: str = _verdict(RESTS)
    clause: str = _clause()
    status: str = _status()
    edition: str | None = _edition()
    types: tuple[str, ...] = _types()
    excitation: tuple[str, ...] = key(
        Each(Choice(EXCITATIONS), 5), "Excitations of a dc motor it holds for; left out: all.", default=()
    )
    from_power: float | None = _power("Holds from this rated power.")
    below_power: float | None = _power("Holds below this rated power.")
    above_power: float | None = _power("Holds above this rated power.")
    up_to_power: float | None = _power("Holds up to and with this rated power.")
    from_power_per_1000_rpm: float | None = _power("Holds from this rated power per 1000 rpm.")
    below_power_per_1000_rpm: float | None = _power("Holds below this rated power per 1000 rpm.")

    def suits_excitation(self, excitation: str | None) -> bool:
        """Whether the row holds for an excitation; for an unknown one the widest rows do, those of series motors."""
        return not self.excitation or (excitation or SERIES) in self.excitation


@dataclass(frozen=True)
class Supply:
    """How far the supply of a test may differ from the plate before the page warns of it."""

    voltage: float | None = _part("Voltage off the plate, either side.", "5 %")
    universal_voltage: float | None = _part("The same for a universal motor; left out: as for others.", "6 %")
    frequency: float | None = _part("Frequency off the plate, either side.", "2 %")
    voltage_unbalance: float | None = _part("Greatest deviation of a line from the mean of the three.", "1 %")
    clause: str = _clause()
    status: str = _status()

    def voltage_for(self, motor_type: str) -> float | None:
        """How far the voltage may be off for a kind of motor, as a part of the plate's. [1]"""
        if motor_type == "universal" and self.universal_voltage is not None:
            return self.universal_voltage
        return self.voltage


@dataclass(frozen=True)
class StartingCriterion(_Weighed):
    """One row on starting and overload: what is judged, and whether the verdict rests on it."""

    judges: str = key(Choice(STARTING), "What is judged, with the limits of published tables.", required=True)
    verdict: str = _verdict(INFORMATION)
    least: float | None = key(
        Measure("ratio", above=0.0, high=10.0, example="1.6", bounds="more than zero"),
        "Least breakdown over rated torque.",
    )
    clause: str = _clause()
    status: str = _status()
    edition: str | None = _edition()
    types: tuple[str, ...] = _types()


@dataclass(frozen=True)
class DeclaredStarting(_Weighed):
    """One row on a value of starting or overload that the plate declares."""

    quantity: str = key(Choice(DECLARED_STARTING), "What is measured, and the key of the plate.", required=True)
    title: str = key(Text(80, "Locked-rotor torque"), "Title of the finding.", required=True)
    low: Tolerance | None = key(Group(Tolerance), "How far below is allowed; left out: no lower limit.")
    high: Tolerance | None = key(Group(Tolerance), "How far above is allowed; left out: no upper limit.")
    harmless: str = _harmless()
    verdict: str = _verdict(RESTS)
    clause: str = _clause()
    status: str = _status()
    edition: str | None = _edition()
    types: tuple[str, ...] = _types()


@dataclass(frozen=True)
class Companions:
    """The tables beside a criteria set: what it has no rows for is judged by them."""

    temperature: str | None = key(Choice(SHIPPED), "Whose temperature rises.")
    insulation: str | None = key(Choice(("ieee-43",)), "Whose insulation resistances.")
    supply: str | None = key(Choice(SHIPPED), "Whose limits of the supply a motor runs on.")
    procedure: str | None = key(
        Choice(("iec-60034-2-1", "ieee-112-b")), "Whose load points and way to tell losses apart."
    )


@dataclass(frozen=True)
class TablesBeside:
    """The tables beside a criteria set, each by its name; where the set names none, another's is taken and said."""

    temperature: str = IEC
    insulation: str = "ieee-43"
    supply: str = IEC
    procedure: str = "iec-60034-2-1"


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
    declared_starting: tuple[DeclaredStarting, ...] = key(
        Each(Group(DeclaredStarting), 20),
        "Tolerances on what the plate declares of starting and overload.",
        default=(),
    )
    service_factor_hold: float | None = key(
        Measure("time", above=0.0, example="30 min", bounds="more than zero"),
        "How long a service-factor load is held to count as held; left out: until the temperature is steady.",
    )
    companions: Companions = key(Group(Companions), "The tables beside it, by name.", default=Companions())
    standard: str | None = key(Text(60, "IEC 60034-1"), "The document as a page cites it; left out: the title.")

    def cited_as(self, edition: str | None = None) -> str:
        """The document with its edition, as a page cites it; a row may be of another edition."""
        return f"{self.standard or self.title} {edition or self.edition}"


def read_criteria(text: str, reader: Reader) -> CriteriaSet | None:
    """A criteria file as a set, or ``None`` with the mistakes kept."""
    root = parse(text, reader.shown, reader.problems)
    found = None if root is None else reader.group(CriteriaSet, root)
    if found is None or not found.criteria:
        return found
    for index, row in enumerate(found.criteria, start=1):
        if row is not None:
            _check_limits(row, f"criteria[{index}]", reader)
            _check_excitation(row, f"criteria[{index}]", reader)
    for index, declared in enumerate(found.declared_starting or (), start=1):
        if declared is not None:
            _check_limits(declared, f"declared_starting[{index}]", reader)
    for index, starting in enumerate(found.starting or (), start=1):
        if starting is not None and starting.judges == BREAKDOWN and starting.least is None:
            reader.wrong_at(f"starting[{index}]", "the row has no least", "write 'least: 1.6' or the like")
    return found


def _check_limits(row: Criterion | DeclaredStarting, path: str, reader: Reader) -> None:
    if row.low is None and row.high is None:
        instead = "write 'low: {part: 10 %, of: declared}' or the like"
        reader.wrong_at(path, "the row has neither low nor high", instead)
    elif row.harmless in (BELOW, ABOVE) and (row.low is None or row.high is None):
        what = "only a tolerance with two sides has a harmless one"
        reader.wrong_at(f"{path}.harmless", what, "write both low and high, or leave 'harmless' out")


def _check_excitation(row: Criterion, path: str, reader: Reader) -> None:
    if row.excitation and row.types != (DC_TYPE,):
        what = "only a dc motor is asked for its excitation"
        reader.wrong_at(f"{path}.excitation", what, "write 'types: [dc]' beside it, or leave it out")


# What holds for one motor: the rows on speed by excitation, and the tables beside a set.


def speed_rows(
    criteria: CriteriaSet, excitation: str | None, power_per_1000_rpm: float | None
) -> tuple[Criterion, ...]:
    """The rows on the speed of a direct-current motor at rated power.

    Parameters
    ----------
    criteria : CriteriaSet
        Whose rows.
    excitation : str or None
        One of ``EXCITATIONS``; ``None`` where the job does not say.
    power_per_1000_rpm : float or None
        Rated power over rated speed in thousands of rpm. [W]

    Returns
    -------
    tuple of Criterion
        The row that holds, or none. For an unknown excitation a row for each group of excitations, the narrowest
        first: the motor's own curve must choose. Rows bounded by power per 1000 rpm hold for none where that is not
        known.

    References
    ----------
    IEC 60034-1, 12.1, schedule of tolerances, from memory.
    """
    rows = [
        row
        for row in criteria.criteria
        if (row.quantity, row.declared) == ("speed", "speed")
        and DC_TYPE in (row.types or TYPES)
        and _within_steps(row, power_per_1000_rpm)
        and (excitation is None or not row.excitation or excitation in row.excitation)
    ]
    return tuple(sorted(rows, key=_widest_part))


def _within_steps(row: Criterion, power_per_1000_rpm: float | None) -> bool:
    low, high = row.from_power_per_1000_rpm, row.below_power_per_1000_rpm
    if power_per_1000_rpm is None:
        return low is None and high is None
    return (low is None or power_per_1000_rpm >= low) and (high is None or power_per_1000_rpm < high)


def _widest_part(row: Criterion) -> float:
    return max(side.part or 0.0 for side in (row.low, row.high) if side is not None)


def companions_of(criteria: CriteriaSet) -> TablesBeside:
    """Every table beside a set; IEC's, and IEEE 43 for insulation, where it names none: see :func:`not_named`."""
    named = {name: getattr(criteria.companions, name) for name in keys_of(Companions)}
    return TablesBeside(**{name: value for name, value in named.items() if value is not None})


def not_named(criteria: CriteriaSet) -> tuple[str, ...]:
    """Tables beside a set that it does not name, so that another's had to be taken, which a page must say."""
    return tuple(name for name in keys_of(Companions) if getattr(criteria.companions, name) is None)


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

    Source: NEMA MG 1, 12.58.2, from memory.
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


def standard_behind(criteria: str) -> str:
    """The standard whose tables hold beside a criteria set, by the set's name; a shop's own rests on IEC 60034-1."""
    return NEMA if criteria == NEMA else IEC


def cited(title: str, clause: Message | str, status: str) -> Message:
    """A source as the page prints it.

    Raises
    ------
    ValueError
        The status is none of those there are.
    """
    if status not in STATUSES:
        raise ValueError(f"{title}, {clause}: unknown status {status!r}")
    if status == "common practice":
        return Message("source.common_practice", clause=clause)
    source = Message("source.clause", title=title, clause=clause)
    return Message("source.recalled", source=source) if status == "from memory" else source


def recalled(source: Message | str, status: str) -> Message | str:
    """A source, with a word on it where it is given from memory."""
    return Message("source.recalled", source=source) if status == "from memory" else source
