"""How warm a winding may become by its insulation class and build, and when a machine counts as steady."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from certgen.messages.catalogue import Message
from certgen.standards.criteria import NEMA, cited, shipped_table

RATED, SERVICE_FACTOR = "rated", "service factor"

# The build of a motor, as far as it moves a limit.


ORDINARY, NO_FAN, ENCAPSULATED, SMALL_OPEN = "ordinary", "no fan", "encapsulated", "small open"
#: Words and codes for it: IC 410 is natural cooling of a closed frame (IEC 60034-6, from memory); TENV is totally enclosed,
#: not ventilated.
_NO_FAN = re.compile(
    r"\b(TENV|NON[- ]?VENTILATED|NOT[- ]VENTILATED|UNVENTILATED|WITHOUT (A )?FAN|NO FAN)\b|\bIC ?0?0?4(10|0)\b"
)
_ENCAPSULATED = re.compile(r"\bENCAPSULATED\b")
_OPEN = re.compile(r"\b(OPEN|ODP|DRIP[- ]?PROOF|IP ?[012][0-3X])\b")
_LEAST_FRAME, _FRAME = 42, re.compile(r"(?:NEMA ?)?([0-9]{2})[A-Z]{0,2}")


def build_of(enclosure: str | None, cooling: str | None, frame: str | None) -> str:
    """The build of a motor by what its plate and its tester say; ordinary where neither says otherwise.

    Parameters
    ----------
    enclosure, cooling, frame : str or None
        As on the plate or in words: 'TENV', 'IP 55', 'IC 410', '39'.

    Returns
    -------
    {'ordinary', 'no fan', 'encapsulated', 'small open'}
        Small is a frame below 42 of NEMA MG 1, Part 4.
    """
    said = " ".join(f"{enclosure or ''} {cooling or ''}".upper().split())
    if _ENCAPSULATED.search(said):
        return ENCAPSULATED
    if _NO_FAN.search(said):
        return NO_FAN
    number = _FRAME.fullmatch((frame or "").upper().strip())
    small = number is not None and int(number[1]) < _LEAST_FRAME
    return SMALL_OPEN if small and _OPEN.search(said) else ORDINARY


# The tables.


@dataclass(frozen=True)
class RiseLimit:
    """Greatest rise by resistance above the plate's ambient."""

    rise: float  # K
    source: Message | str


@dataclass(frozen=True)
class SteadyRule:
    """A machine is steady when its temperature changes by no more than this within this time."""

    change: float  # K
    within: float  # s
    source: Message | str


@dataclass(frozen=True)
class _Row:
    """One class of one table of rises; powers in W."""

    standard: str
    clause: str
    load: str
    types: tuple[str, ...]
    letter: str
    rise: float
    status: str
    from_power: float | None
    below_power: float | None
    builds: tuple[str, ...]

    def holds(self, standard: str, letter: str, motor_type: str, load: str) -> bool:
        """Whether it is the row of a class, kind of motor and load, whatever power and build."""
        return (standard, letter, load) == (self.standard, self.letter, self.load) and motor_type in self.types

    def fits(self, power: float) -> bool:
        """Whether a rated power [W] lies within its bounds."""
        above = self.from_power is None or power >= self.from_power
        return above and (self.below_power is None or power < self.below_power)


_TABLE_KEYS = {"standard", "clause", "load", "types", "rows"}


@lru_cache(maxsize=1)
def _rows() -> tuple[_Row, ...]:
    return tuple(row for table in shipped_table("temperature_limits")["rises"] for row in _of_table(table))


def _of_table(table: Mapping[str, Any]) -> list[_Row]:
    if not _TABLE_KEYS <= set(table) <= _TABLE_KEYS | {"from_power", "below_power", "build"}:
        raise ValueError(f"temperature_limits.yaml: keys {sorted(table)} of a table of rises")
    if table["load"] not in (RATED, SERVICE_FACTOR):
        raise ValueError(f"temperature_limits.yaml: load {table['load']!r}")
    return [
        _Row(
            standard=table["standard"],
            clause=table["clause"],
            load=table["load"],
            types=tuple(table["types"]),
            letter=row["class"],
            rise=float(row["rise"]),
            status=row["status"],
            from_power=table.get("from_power"),
            below_power=table.get("below_power"),
            builds=tuple(table.get("build", (ORDINARY,))),
        )
        for row in table["rows"]
    ]


def rise_limit(
    standard: str,
    insulation_class: str,
    *,
    motor_type: str,
    power: float | None,
    load: str = RATED,
    service_factor: float | None = None,
    build: str = ORDINARY,
) -> RiseLimit | None:
    """Greatest rise by resistance at 40 degC ambient.

    Parameters
    ----------
    standard : {'iec-60034-1', 'nema-mg-1'}
        Whose table.
    insulation_class : str
        Letter of the plate.
    motor_type : str
        Kind of motor.
    power : float or None
        Rated power; where it is not known the lowest of the rows that could hold. [W]
    load : {'rated', 'service factor'}
        The load it holds at.
    service_factor : float or None
        On the plate. NEMA MG 1 limits the rise of a motor with one above 1 at the service-factor load alone; at rated
        load, where it is less warm, that limit is the one that cannot be passed either.
    build : str
        Of :func:`build_of`; where the table has no row for it the ordinary, stricter one holds.

    Returns
    -------
    RiseLimit or None
        Limit [K] and source; ``None`` where the table has no such row.
    """
    served = standard == NEMA and load == RATED and (service_factor or 1.0) > 1.0
    if served:
        load = SERVICE_FACTOR
    found = [row for row in _rows() if row.holds(standard, insulation_class, motor_type, load)]
    found = [row for row in found if build in row.builds] or [row for row in found if ORDINARY in row.builds]
    fitting = [row for row in found if power is None or row.fits(power)]
    if not fitting:
        return None
    row = min(fitting, key=lambda one: one.rise)
    key = "source.of_class_at_service_factor" if served else "source.of_class"
    clause = Message(key, clause=row.clause, letter=row.letter)
    return RiseLimit(row.rise, cited(_title(standard), clause, row.status))


def at_ambient(limit: RiseLimit, standard: str, ambient: float | None) -> RiseLimit | None:
    """A limit for the ambient of the plate.

    Parameters
    ----------
    limit : RiseLimit
        At 40 degC.
    standard : str
        Whose rule.
    ambient : float or None
        Highest ambient the plate declares; 40 degC where it declares none. [K]

    Returns
    -------
    RiseLimit or None
        Reduced by the excess above 40 degC; unchanged below, as a cooler room alone raises no limit. ``None``
        above the highest ambient the rule reaches to.
    """
    rule = _standard(standard)["ambient"]
    excess = 0.0 if ambient is None else ambient - rule["reference"]
    if excess <= 1e-6:
        return limit
    if rule["highest"] is not None and ambient is not None and ambient > rule["highest"] + 1e-6:
        return None
    reduced = cited(_title(standard), rule["clause"], rule["status"])
    source = Message("source.less_for_ambient", source=limit.source, excess=excess, rule=reduced)
    return RiseLimit(limit.rise - excess, source)


def short_time(limit: RiseLimit, standard: str) -> RiseLimit:
    """A limit for a motor of short-time duty (S2)."""
    rule = _standard(standard)["short_time"]
    if rule is None:
        return limit
    raised = cited(_title(standard), rule["clause"], rule["status"])
    source = Message("source.more_for_short_time", source=limit.source, more=rule["more"], rule=raised)
    return RiseLimit(limit.rise + rule["more"], source)


def steady_rule(standard: str) -> SteadyRule:
    """When a machine counts as steady."""
    rule = _standard(standard)["steady"]
    return SteadyRule(rule["change"], float(rule["within"]), cited(_title(standard), rule["clause"], rule["status"]))


def _standard(name: str) -> Mapping[str, Any]:
    found: Mapping[str, Any] = shipped_table("temperature_limits")["standards"][name]
    return found


def _title(standard: str) -> str:
    found = _standard(standard)
    return f"{found['title']} {found['edition']}"
