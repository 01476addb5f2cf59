"""Least insulation resistance and polarization index."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from certgen.messages.catalogue import Message
from certgen.standards.criteria import cited, shipped_table

#: What the least resistance of field windings holds for.
FIELD_WINDINGS = Message("insulation.field_windings")


@dataclass(frozen=True)
class LeastInsulation:
    """Least resistance after one minute at 40 degC."""

    resistance: float  # ohm
    holds_for: Message
    source: Message | str


def least_insulation(voltage: float, power: float | None = None, *, field: bool = False) -> LeastInsulation:
    """Least insulation resistance of a winding.

    Parameters
    ----------
    voltage : float
        Rated voltage. [V]
    power : float or None
        Rated power; below 750 W the source says that the standard does not bind the motor. [W]
    field : bool
        Whether it is a field winding alone.

    Returns
    -------
    LeastInsulation
        For windings made after about 1970: 5 Mohm below 1 kV, 100 Mohm from there on. For field windings of any age
        the rated kilovolts plus 1 Mohm, from memory.
    """
    table = _table()["minimum"]
    if field:
        row = table["field"]
        least = row["per_volt"] * voltage + row["plus"]
    else:
        row = next(one for one in table["rows"] if voltage < one.get("below_voltage", float("inf")))
        least = float(row["minimum"])
    status = row.get("status", table["status"])
    holds_for = Message(f"insulation.{row['holds_for'].replace(' ', '_')}")
    return LeastInsulation(least, holds_for, scoped_source(table["clause"], status, power))


def scoped_source(clause: str, status: str, power: float | None) -> Message | str:
    """A clause of the standard for a motor of a rated power [W]: below its scope it is common practice to go by it."""
    least = _table()["scope"]["from_power"]
    if power is None or power >= least:
        return _cited(clause, status)
    table = _table()
    outside = Message("source.below_scope", title=f"{table['title']}-{table['edition']}", clause=clause, least=least)
    return cited("", outside, "common practice")


def voltage_of_test(voltage: float) -> tuple[float, float, Message | str]:
    """Lowest and highest direct voltage [V] to test a winding of a rated voltage [V] with, and the source."""
    table = _table()["test_voltage"]
    row = next(one for one in table["rows"] if voltage < one.get("below_voltage", float("inf")))
    return float(row["from"]), float(row["to"]), _cited(table["clause"], table["status"])


def least_polarization_index(insulation_class: str | None) -> float | None:
    """Least polarization index of a thermal class; ``None`` where the standard gives none."""
    found: float | None = _table()["polarization_index"]["minimum"].get(insulation_class)
    return found


def lowest_polarization_index() -> float:
    """The least index the standard asks of any thermal class: below it no class would be dry and clean."""
    return float(min(_table()["polarization_index"]["minimum"].values()))


def polarization_index_waived(at_40: float) -> bool:
    """Whether a resistance at 40 degC [ohm] is so great that the polarization index says nothing."""
    return bool(at_40 > _table()["polarization_index"]["waived_above"])


def why_index_only_warns(voltage: float | None, *, commutator: bool = False, field: bool = False) -> Message | None:
    """Why a low polarization index condemns no winding, or ``None`` where it does.

    Parameters
    ----------
    voltage : float or None
        Rated voltage. [V]
    commutator : bool
        Whether the motor has a commutator: its bare copper leaks over the surface.
    field : bool
        Whether a field winding was measured alone.

    Returns
    -------
    Message or None
        With the clause: of armatures and field windings their own rows, of others that it may not apply to small
        random-wound machines.
    """
    table = _table()["polarization_index"]
    if commutator or field:
        row = table["field" if field else "commutator"]
        return Message(f"insulation.{row['note']}", source=_cited(row["clause"], row["status"]))
    if voltage is not None and voltage >= table["binds_from_voltage"]:
        return None
    return Message("insulation.random_winding", source=_cited(table["random_wound_clause"], "thin"))


def polarization_index_source(power: float | None = None, *, waived: bool = False) -> Message | str:
    """Where the least index, or its waiver, comes from, for a motor of a rated power [W]."""
    table = _table()["polarization_index"]
    return scoped_source(table["clause"], table["waiver_status"] if waived else table["status"], power)


def insulation_kind(insulation_class: str | None) -> str | None:
    """'thermosetting' or 'thermoplastic' by thermal class; ``None`` where the class does not tell it."""
    found: str | None = _table()["kind_by_class"].get(insulation_class)
    return found


def correction_source() -> Message | str:
    """Where the correction to 40 degC comes from."""
    return _cited(_table()["correction"]["clause"], _table()["correction"]["status"])


def _table() -> Mapping[str, Any]:
    found: Mapping[str, Any] = shipped_table("insulation_limits")
    return found


def _cited(clause: str, status: str) -> Message | str:
    table = _table()
    return cited(f"{table['title']}-{table['edition']}", clause, status)
