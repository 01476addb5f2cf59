"""Limits of what is found before the brake: vibration, run-out, windings, capacitors, safety."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from certgen.messages.catalogue import Message
from certgen.standards.criteria import cited, shipped_table

#: A figure on its limit keeps it, whatever its last binary digit. [1]
_ON_LIMIT = 1.0 + 1e-9


@dataclass(frozen=True)
class Zone:
    """The zone a vibration velocity lies in, and up to where a machine may run for long. [m/s]"""

    letter: str
    good: bool
    limit: float
    source: Message | str


def vibration_zone(velocity: float, power: float, support: str | None) -> Zone | None:
    """The evaluation zone of a vibration velocity measured in place on a bearing.

    Parameters
    ----------
    velocity : float
        rms, 10 to 1000 Hz. [m/s]
    power : float
        Rated power. [W]
    support : {'rigid', 'flexible'} or None
        How the motor stood; the zones of motors up to 15 kW do not depend on it.

    Returns
    -------
    Zone or None
        ``None`` above 300 kW, and above 15 kW where the support is not known.

    References
    ----------
    ISO 20816-1 (class I of ISO 10816-1) to 15 kW, ISO 10816-3 group 2 to 300 kW; edges from memory.
    """
    table = shipped_table("inspection_limits")["vibration"]
    row = next((one for one in table["rows"] if power <= one["up_to_power"]), None)
    if row is None or (row["needs_support"] and support is None):
        return None
    edges = [float(edge) for edge in row["edges"][support or "rigid"]]
    letter = table["zones"][sum(velocity > _ON_LIMIT * edge for edge in edges)]
    limit = edges[len(table["good"]) - 1]
    return Zone(letter, letter in table["good"], limit, cited(row["title"], row["clause"], row["status"]))


def sparking_allowed(degree: str) -> tuple[bool, str, Message | str]:
    """Whether a degree of sparking is allowed at rated load, the greatest that is, and the source.

    Parameters
    ----------
    degree : {'1', '1 1/4', '1 1/2', '2', '3'}
        As seen at rated load.
    """
    table: Mapping[str, Any] = shipped_table("inspection_limits")["sparking"]
    degrees, allowed = table["degrees"], str(table["allowed"])
    good = degrees.index(degree) <= degrees.index(allowed)
    return good, allowed, cited(table["title"], table["clause"], table["status"])


def run_out_allowed(diameter: float) -> tuple[float, Message | str] | None:
    """The most a shaft extension may run out [m], by its diameter [m], and the source; ``None`` outside the table."""
    table = shipped_table("inspection_limits")["run_out"]
    if diameter <= table["above"]:
        return None
    row = next((one for one in table["rows"] if diameter <= _ON_LIMIT * one["up_to"]), None)
    if row is None:
        return None
    return float(row["limit"]), cited(table["title"], table["clause"], row.get("status", table["status"]))


def winding_unbalance_allowed(voltage: float | None) -> tuple[float, Message | str]:
    """How far the resistances of three pairs may lie from their mean [1], by the rated voltage [V], and the source."""
    table = shipped_table("inspection_limits")["winding_unbalance"]
    form_wound = voltage is not None and voltage >= table["form_wound_from_voltage"]
    limit = float(table["form_wound" if form_wound else "random_wound"])
    return limit, cited(table["title"], table["clause"], table["status"])


@dataclass(frozen=True)
class CapacitorLimits:
    """Between what a capacitor must lie [F], whether its case says so, and the source."""

    least: float
    most: float
    marked: bool
    source: Message | str


def capacitor_limits(
    kind: str, rated: float | None, tolerance: float | None, marked: tuple[float | None, float | None]
) -> CapacitorLimits:
    """The limits of a capacitor.

    Parameters
    ----------
    kind : {'run', 'start'}
        In circuit all the time, or while starting.
    rated : float or None
        Marked on the case; needed where no two values are. [F]
    tolerance : float or None
        Marked on the case, either side. [1]
    marked : tuple of (float, float), or of None
        Two values on the case. [F]

    Raises
    ------
    ValueError
        The case says neither.
    """
    least, most = marked
    if least is not None and most is not None:
        return CapacitorLimits(least, most, True, Message("capacitor.on_case"))
    if rated is None:
        raise ValueError("a capacitor without a marked value has no limits")
    if tolerance is not None:
        return CapacitorLimits(rated * (1.0 - tolerance), rated * (1.0 + tolerance), True, Message("capacitor.on_case"))
    usual = shipped_table("inspection_limits")["capacitors"][kind]
    source = cited(usual["title"], usual["clause"], usual["status"])
    return CapacitorLimits(rated * (1.0 - usual["below"]), rated * (1.0 + usual["above"]), False, source)


def protective_bond_allowed() -> tuple[float, Message | str]:
    """The most resistance from the earth terminal to metal that can be touched [ohm], and the source."""
    table = shipped_table("inspection_limits")["protective_bond"]
    return float(table["limit"]), cited(table["title"], table["clause"], table["status"])


@dataclass(frozen=True)
class WithstandLevels:
    """Alternating test voltages between windings and frame, rms, for a minute. [V]"""

    overhauled: float  # what a motor cleaned and dried must hold
    new: float  # that of a new winding, once
    source: Message | str


def withstand_levels(voltage: float, power: float | None) -> WithstandLevels:
    """The test voltages of a winding of a rated voltage [V], of a motor of a rated power [W] where that is known."""
    table = shipped_table("inspection_limits")["withstand"]
    new, overhauled, low = table["new"], table["overhauled"], table["low_voltage"]
    small = power is not None and power < low["below_power"] and voltage < low["below_voltage"]
    full = max(new["plus"] + new["times"] * voltage, new["at_least"])
    if small:
        full = new["low_voltage_plus"] + new["times"] * voltage
    least = overhauled["below_100_v"] if voltage < low["below_voltage"] else overhauled["at_least"]
    source = cited(table["title"], table["clause"], table["status"])
    return WithstandLevels(max(overhauled["times"] * voltage, float(least)), float(full), source)
