"""Which listed horsepower a rated power stands for."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from certgen.physics.locked_rotor import HORSEPOWER
from certgen.standards.tables import shipped_table

#: How far a plate may stand off a listed rating by rounding alone, in parts of it. [1] Common practice, no source.
_ROUNDING = 0.01


@lru_cache(maxsize=1)
def listed_ratings() -> dict[str, tuple[float, ...]]:
    """Horsepower as the tables write it, to the powers that are taken for it. [W]"""
    pairs: dict[str, float | None] = shipped_table("horsepower_ratings")["kilowatts"]
    return {
        label: (horsepower_of(label) * HORSEPOWER, *(() if kilowatts is None else (1000.0 * kilowatts,)))
        for label, kilowatts in pairs.items()
    }


def horsepower_of(label: str) -> float:
    """Horsepower of a label such as '1/2' or '7.5'."""
    return float(Fraction(label))


def listed_horsepower(power: float) -> str | None:
    """Label of the listed rating that a rated power stands for.

    Parameters
    ----------
    power : float
        Rated power. [W]

    Returns
    -------
    str or None
        Label of the rating whose horsepower, or whose paired kilowatts, the power meets within 1 %; ``None`` where
        no listed rating is that near.

    References
    ----------
    NEMA MG 1, 10.32; pairs of 10 CFR 431.25 and 431.446.
    """
    for label, powers in listed_ratings().items():
        if any(abs(power / one - 1.0) <= _ROUNDING for one in powers):
            return label
    return None
