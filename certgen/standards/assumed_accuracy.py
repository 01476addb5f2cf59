"""The accuracy an instrument, a length or a supply is taken to have where nobody states it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from certgen.physics.domain import FloatOrArray
from certgen.standards.criteria import shipped_table


@dataclass(frozen=True)
class AssumedAccuracy:
    """Limits of error either side of an ordinary one of a kind, rectangular, each independent of the others.

    ``reading`` is a part of what was read, ``greatest`` of the greatest value read in the test, ``constant`` the same
    everywhere in ``unit``; ``step`` the last digit shown, as a part of the greatest value, where it cannot be seen.
    ``reason`` says what was thought of, ``source`` what it rests on.
    """

    kind: str
    unit: str
    reading: float
    greatest: float
    constant: float
    step: float
    degrees_of_freedom: float
    reason: str
    source: str

    def limit(self, value: FloatOrArray, greatest: float) -> FloatOrArray:
        """Limits of a value added up, as a maker adds the parts of his.

        Parameters
        ----------
        value : float or array, shape (n,)
            What was read. [unit]
        greatest : float
            The greatest value read in the test, in size. [unit]

        Returns
        -------
        float or array, shape (n,)
            Half-width either side. [unit]

        References
        ----------
        JCGM 100:2008 (GUM), 4.3.7, example 2.
        """
        size: FloatOrArray = np.abs(value)
        return size * self.reading + (self.greatest * greatest + self.constant)


@cache
def assumed_accuracy(kind: str) -> AssumedAccuracy:
    """What an ordinary one of a kind is taken to be good for.

    Parameters
    ----------
    kind : str
        A key of the table, such as 'ammeter' or 'arm_length'.

    Returns
    -------
    AssumedAccuracy
        Limits in SI, with the degrees of freedom that belong to how well the limits themselves are known:
        1 / (2 r^2) for a relative standard uncertainty r, infinite for none. [1]

    Raises
    ------
    KeyError
        The table has no such kind: a mistake of the program.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7 (limits either side), G.4.2, equation (G.3), and G.4.3 (degrees of freedom).
    """
    row = _table()["kinds"][kind]
    unsure = float(row["unsure"])
    return AssumedAccuracy(
        kind=kind,
        unit=row["unit"],
        reading=float(row.get("reading", 0.0)),
        greatest=float(row.get("greatest", 0.0)),
        constant=float(row["constant"]) if "constant" in row else 0.5 * (row.get("high", 0.0) - row.get("low", 0.0)),
        step=float(row.get("step", 0.0)),
        degrees_of_freedom=1.0 / (2.0 * unsure**2) if unsure else math.inf,
        reason=row["reason"],
        source=row.get("source", f"{_table()['status']}, no source"),
    )


def assumed_kinds() -> tuple[str, ...]:
    """Every kind the table has."""
    return tuple(_table()["kinds"])


def gravity_on_earth() -> tuple[float, float]:
    """Least and greatest gravity on the earth's surface. [m/s^2]

    References
    ----------
    C. Hirt, S. Claessens, T. Fecher, M. Kuhn, R. Pail and M. Rexer, Geophys. Res. Lett. 40 (2013) 4279.
    """
    row = _table()["kinds"]["local_gravity"]
    return float(row["low"]), float(row["high"])


def _table() -> Mapping[str, Any]:
    found: Mapping[str, Any] = shipped_table("assumed_accuracy")
    return found
