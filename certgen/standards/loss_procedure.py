"""The published procedures by which the losses of a three-phase cage motor are told apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import lru_cache
from importlib import resources
from typing import Any

import yaml

from certgen.standards.criteria import STATUSES

INNER_VOLTAGE = "inner voltage"
RATED_VOLTAGE = "rated voltage"

_ICE_POINT = 273.15  # K
#: The procedure that goes with a criteria set; any other set goes with the first.
_OF_CRITERIA = {"iec-60034-1": "iec-60034-2-1", "nema-mg-1": "ieee-112-b"}


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
    statuses: Mapping[str, str]  # of every figure above

    @property
    def name(self) -> str:
        """Title with its edition, as printed."""
        return f"{self.title} ({self.edition})"

    def source(self, row: str) -> str:
        """Where one figure comes from, as printed beside it."""
        status = self.statuses[row]
        if status == "common practice":
            return "common practice, no source"
        return f"{self.name}, from memory" if status == "from memory" else self.name

    def delay_allowed(self, power: float | None) -> float:
        """Longest time after switching off at which a resistance counts as that of running [s].

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


@lru_cache(maxsize=1)
def loss_procedures() -> tuple[LossProcedure, ...]:
    """Every procedure that comes with the program.

    Raises
    ------
    ValueError
        A figure is missing, unknown or without clause and status.
    """
    text = resources.files("certgen.standards").joinpath("loss_procedure.yaml").read_text(encoding="utf-8")
    return tuple(_procedure(one) for one in yaml.safe_load(text)["procedures"])


def procedure_of(criteria: str) -> LossProcedure:
    """The procedure that goes with a criteria set, by the set's name; IEC's for a shop's own set."""
    wanted = _OF_CRITERIA.get(criteria, "iec-60034-2-1")
    return next(one for one in loss_procedures() if one.id == wanted)


def _procedure(given: dict[str, Any]) -> LossProcedure:
    rows: dict[str, dict[str, Any]] = given["rows"]
    needed = {field.name for field in fields(LossProcedure)} - {"id", "title", "edition", "statuses"}
    if set(rows) != needed:
        raise ValueError(f"{given['id']}: rows {sorted(set(rows) ^ needed)} are missing or unknown")
    for name, row in rows.items():
        if set(row) != {"value", "clause", "status"} or row["status"] not in STATUSES:
            raise ValueError(f"{given['id']}, {name}: a row has value, clause and a known status")
    values = {name: row["value"] for name, row in rows.items()}
    if values["core_loss_at"] not in (INNER_VOLTAGE, RATED_VOLTAGE):
        raise ValueError(f"{given['id']}: core loss at {values['core_loss_at']!r} is not known")
    values["reference_coolant"] += _ICE_POINT
    values["reference_by_class"] = {
        letter: degrees + _ICE_POINT for letter, degrees in values["reference_by_class"].items()
    }
    values["reading_delay"] = tuple((1000.0 * most, float(seconds)) for most, seconds in values["reading_delay"])
    statuses = {name: row["status"] for name, row in rows.items()}
    return LossProcedure(
        id=given["id"], title=given["title"], edition=given["edition"], statuses=statuses, **values
    )
