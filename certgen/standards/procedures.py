"""The published procedures: the loads at which they test a motor, and how they tell its losses apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

from certgen.messages.catalogue import Message
from certgen.standards.criteria import cited, shipped_table

INNER_VOLTAGE = "inner voltage"
RATED_VOLTAGE = "rated voltage"

_ICE_POINT = 273.15  # K


@dataclass(frozen=True)
class LossProcedure:
    """One procedure; loads and voltages are parts of the rated ones."""

    id: str
    title: str
    edition: str
    least_correlation: float
    greatest_intercept: float  # of the regression, over stray load loss at rated torque
    least_points: int
    least_points_to_rated: int
    least_points_above_rated: int
    lowest_load: float
    highest_load: float
    load_nearness: float
    low_voltage: float
    voltage_nearness: float
    least_low_voltages: int
    core_loss_at: str  # INNER_VOLTAGE or RATED_VOLTAGE
    friction_exponent: float
    copper_constant: float  # degC
    reference_coolant: float  # K
    lightest_coupled_load: float
    reference_by_class: Mapping[str, float]  # insulation class -> K
    reading_delay: tuple[tuple[float, float], ...]  # rated power up to [W], time after switching off [s]
    cited: Mapping[str, Message | str]  # source of every figure above

    def source(self, row: str) -> Message | str:
        """Where one figure comes from, as printed beside it."""
        return self.cited[row]

    def delay_allowed(self, power: float | None) -> float:
        """Longest time after switching off at which a resistance counts as that of running.

        Parameters
        ----------
        power : float or None
            Rated power; where it is not known the shortest time holds. [W]

        Returns
        -------
        float
            The time; 0 above the greatest rating listed. [s]
        """
        if power is None:
            return self.reading_delay[0][1]
        return next((seconds for most, seconds in self.reading_delay if power <= most), 0.0)

    @property
    def name(self) -> str:
        """Title with its edition, as printed."""
        return f"{self.title} ({self.edition})"


@lru_cache(maxsize=1)
def loss_procedures() -> tuple[LossProcedure, ...]:
    """Every procedure that comes with the program.

    Raises
    ------
    ValueError
        A figure is missing, unknown or without clause and status.
    """
    return tuple(_procedure(one) for one in shipped_table("loss_procedure")["procedures"])


def procedure_of(name: str) -> LossProcedure:
    """The procedure of a name, 'iec-60034-2-1' or 'ieee-112-b', as a criteria set names it beside it."""
    return next(one for one in loss_procedures() if one.id == name)


def _procedure(given: dict[str, Any]) -> LossProcedure:
    rows: dict[str, dict[str, Any]] = given["rows"]
    needed = {field.name for field in fields(LossProcedure)} - {"id", "title", "edition", "cited"}
    if set(rows) != needed:
        raise ValueError(f"{given['id']}: rows {sorted(set(rows) ^ needed)} are missing or unknown")
    for name, row in rows.items():
        if set(row) != {"value", "clause", "status"}:
            raise ValueError(f"{given['id']}, {name}: a row has value, clause and status")
    values = {name: row["value"] for name, row in rows.items()}
    if values["core_loss_at"] not in (INNER_VOLTAGE, RATED_VOLTAGE):
        raise ValueError(f"{given['id']}: core loss at {values['core_loss_at']!r} is not known")
    values["reference_coolant"] += _ICE_POINT
    by_class = values["reference_by_class"].items()
    values["reference_by_class"] = {letter: degrees + _ICE_POINT for letter, degrees in by_class}
    values["reading_delay"] = tuple((1000.0 * most, float(seconds)) for most, seconds in values["reading_delay"])
    name = f"{given['title']} ({given['edition']})"
    sources = {key: cited(name, row["clause"], row["status"]) for key, row in rows.items()}
    return LossProcedure(id=given["id"], title=given["title"], edition=given["edition"], cited=sources, **values)


# The loads at which the published procedures test a motor.


@dataclass(frozen=True)
class LoadsOfTest:
    """Loads as parts of the rated one, rising, with their source and that of the order they are taken in."""

    loads: tuple[float, ...]
    source: Message | str
    order_source: Message | str


@lru_cache(maxsize=4)
def loads_of_test(procedure: str, *, three_phase: bool) -> LoadsOfTest:
    """The loads at which a procedure tests a motor.

    Parameters
    ----------
    procedure : str
        Name of the procedure, as a criteria set names it among the tables beside it.
    three_phase : bool
        Whether the motor is of the kind the procedures are written for.

    Raises
    ------
    ValueError
        The table is not in order.
    """
    table = shipped_table("load_points")
    given: dict[str, Any] = next(one for one in table["standards"] if one["id"] == procedure)
    name, rows = f"{given['title']} ({given['edition']})", given["rows"]
    loads = tuple(float(one) for one in rows["loads"]["value"])
    if list(loads) != sorted(set(loads)) or rows["order"]["value"] != "falling":
        raise ValueError(f"load_points.yaml, {procedure}: loads must rise, and are taken falling")
    sources = {key: cited(name, row["clause"], row["status"]) for key, row in rows.items()}
    if not three_phase:
        sources = {key: cited(name, row["clause"], row["status"]) for key, row in table["others"].items()}
    return LoadsOfTest(loads, sources["loads"], sources["order"])
