"""Within what supply a motor may run and be tested, and what an unbalanced supply takes from its rating."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from certgen.messages.catalogue import Message
from certgen.standards.criteria import cited, shipped_table

UNIVERSAL = "universal"


@dataclass(frozen=True)
class Band:
    """Lowest and highest value allowed, as parts; either may be absent."""

    low: float | None
    high: float | None
    source: Message | str

    def holds(self, part: float) -> bool:
        """Whether a part lies within, rounding aside."""
        below = self.low is not None and part < self.low - 1e-9
        return not below and (self.high is None or part <= self.high + 1e-9)


@dataclass(frozen=True)
class SupplyOfTest:
    """Within what a test is made."""

    frequency: float
    unbalance: float
    source: Message | str


def running_band(standard: str, quantity: str, motor_type: str) -> Band | None:
    """The band a motor may run in.

    Parameters
    ----------
    standard : {'iec-60034-1', 'nema-mg-1'}
        Whose limit.
    quantity : {'voltage', 'frequency', 'combined', 'unbalance'}
        Deviation from rated of voltage or frequency, both deviations added, or unbalance of the voltages.
    motor_type : str
        Kind of motor; universal motors may have a voltage band of their own.

    Returns
    -------
    Band or None
        ``None`` where the standard has no such limit.
    """
    table = _table()["running"][standard]
    row = table[quantity]
    if quantity == "voltage" and motor_type == UNIVERSAL and table["universal_voltage"] is not None:
        row = table["universal_voltage"]
    if row is None:
        return None
    source = cited(f"{table['title']} {table['edition']}", row["clause"], row["status"])
    return Band(row.get("low"), row.get("high"), source)


def zone_band(zone: str, frequency: float) -> Band | None:
    """The voltages a zone of IEC 60034-1 allows at a frequency off the rated one.

    Parameters
    ----------
    zone : {'A', 'B'}
        A: rated torque continuously; B: rated torque, but not for long.
    frequency : float
        Frequency over the rated one, less 1. [1]

    Returns
    -------
    Band or None
        Lowest and highest voltage over the rated one, less 1; a bound that is not known is absent. ``None`` for a
        frequency outside the zone. [1]

    References
    ----------
    IEC 60034-1, 7.3; corners as a maker's figure labels them, their places from memory.
    """
    table = _table()["zones"]
    low, high = _edge(table[zone]["low"], frequency), _edge(table[zone]["high"], frequency)
    if low is None:
        return None
    return Band(low, high, cited("IEC 60034-1", f"{table['clause']}, zone {zone}", table["status"]))


def _edge(points: list[list[float]], frequency: float) -> float | None:
    at, voltages = zip(*points, strict=True)
    known = at[0] - 1e-9 <= frequency <= at[-1] + 1e-9
    return float(np.interp(frequency, at, voltages)) if known else None


def supply_of_test(standard: str) -> SupplyOfTest:
    """Within what frequency and unbalance a test is made by the test standard that goes with a standard."""
    row = _table()["test"][standard]
    source = cited(row["title"], Message("source.supply_of_test"), row["status"])
    return SupplyOfTest(row["frequency"], row["unbalance"], source)


def derating_factor(unbalance: float) -> float | None:
    """Part of rated power that an unbalanced supply leaves.

    Parameters
    ----------
    unbalance : float
        Unbalance of the line voltages. [1]

    Returns
    -------
    float or None
        Straight between the points of the curve, 1 below its first; ``None`` beyond its last, where a motor is
        not to be run. [1]

    References
    ----------
    NEMA MG 1, Figure 14-1, as an engineering data page reads it (engineeringtoolbox.com).
    """
    at, factors = (np.array(column, dtype=float) for column in zip(*_table()["derating"]["points"], strict=True))
    return None if unbalance > at[-1] else float(np.interp(unbalance, at, factors))


def derating_source() -> str:
    """Where the derating comes from."""
    row = _table()["derating"]
    return str(row["title"])


def unremarkable_current_unbalance() -> Band:
    """Unbalance of the currents let pass without asking."""
    row = _table()["current_unbalance"]
    return Band(None, row["unremarkable"], cited("", Message("source.a_tenth"), row["status"]))


def usual_current_unbalance(voltage_unbalance: float) -> tuple[float, float]:
    """Unbalance of the currents that an unbalance of the voltages usually makes, lowest and highest."""
    low, high = _table()["current_unbalance"]["usual_ratio"]
    return low * voltage_unbalance, high * voltage_unbalance


def _table() -> Mapping[str, Any]:
    found: Mapping[str, Any] = shipped_table("supply_limits")
    return found
