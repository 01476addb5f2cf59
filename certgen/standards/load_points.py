"""The loads at which the published procedures test a motor."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from certgen.standards.published import IEC, NEMA, cited, standard_behind
from certgen.standards.tables import shipped_table

#: The procedure that goes with the standard behind a criteria set.
_BESIDE = {IEC: "iec-60034-2-1", NEMA: "ieee-112-b"}


@dataclass(frozen=True)
class LoadsOfTest:
    """Loads as parts of the rated one, rising, with their source and that of the order they are taken in."""

    loads: tuple[float, ...]
    source: str
    order_source: str


@lru_cache(maxsize=4)
def loads_of_test(criteria: str, *, three_phase: bool) -> LoadsOfTest:
    """The loads that go with a criteria set, by the set's name; IEC's for a shop's own set.

    Parameters
    ----------
    criteria : str
        Name of the criteria set.
    three_phase : bool
        Whether the motor is of the kind the procedures are written for.

    Raises
    ------
    ValueError
        The table is not in order.
    """
    table = shipped_table("load_points")
    wanted = _BESIDE[standard_behind(criteria)]
    given: dict[str, Any] = next(one for one in table["standards"] if one["id"] == wanted)
    name, rows = f"{given['title']} ({given['edition']})", given["rows"]
    loads = tuple(float(one) for one in rows["loads"]["value"])
    if list(loads) != sorted(set(loads)) or rows["order"]["value"] != "falling":
        raise ValueError(f"load_points.yaml, {wanted}: loads must rise, and are taken falling")
    sources = {key: cited(name, row["clause"], row["status"]) for key, row in rows.items()}
    if not three_phase:
        sources = {key: cited(name, row["clause"], row["status"]) for key, row in table["others"].items()}
    return LoadsOfTest(loads, sources["loads"], sources["order"])
