"""Locked-rotor code letters."""

from __future__ import annotations

import itertools
from functools import lru_cache

from certgen.standards.tables import shipped_table


@lru_cache(maxsize=1)
def _bounds() -> dict[str, tuple[float, float | None]]:
    """Each letter's bounds [kVA/hp]: the lower belongs to it, the upper to the next; the last has no upper."""
    lower: dict[str, float] = shipped_table("code_letters")["lower_bounds"]
    starts = [float(value) for value in lower.values()]
    if starts[0] != 0.0 or any(low >= high for low, high in itertools.pairwise(starts)):
        raise ValueError("code_letters.yaml: the bounds must rise from 0")
    return dict(zip(lower, zip(starts, [*starts[1:], None], strict=True), strict=True))


def code_letter(kva_per_horsepower: float) -> str:
    """Code letter of a locked-rotor apparent power per horsepower.

    Parameters
    ----------
    kva_per_horsepower : float
        At rated voltage and frequency, >= 0. [kVA/hp]

    Returns
    -------
    str
        The letter whose interval holds the value; an interval's lower bound belongs to it.

    Raises
    ------
    ValueError
        The value is negative or no number.

    References
    ----------
    NEMA MG 1, 10.37.2.
    """
    if not kva_per_horsepower >= 0.0:
        raise ValueError(f"locked-rotor kVA per hp must not be below 0, got {kva_per_horsepower:g}")
    return next(letter for letter, (low, _) in reversed(_bounds().items()) if kva_per_horsepower >= low)


def letter_bounds(letter: str) -> tuple[float, float | None]:
    """Lower bound (included) and upper bound (not included; ``None`` for the last letter) of a letter. [kVA/hp]

    Raises ``KeyError`` for a letter the table does not use.
    """
    return _bounds()[letter]


def code_letter_source() -> str:
    """Standard and clause, as printed."""
    table = shipped_table("code_letters")
    return f"{table['standard']} {table['edition']}, {table['clause']}"
