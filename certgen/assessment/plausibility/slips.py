"""The slips of the pen that a figure may have suffered, and what stood there before."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from certgen.physics.domain import Array

POUND = 0.45359237  #: kg, exact (NIST SP 811, B.8)
STANDARD_GRAVITY = 9.80665  #: m/s^2, exact (ISO 80000-3)

#: Factors from what was meant to what was typed, by the quantity they may befall, in the order they are believed.
_FACTORS: tuple[tuple[str, float, tuple[str, ...]], ...] = (
    ("times_ten", 10.0, ()),
    ("tenth", 0.1, ()),
    ("pounds_for_kilograms", 1.0 / POUND, ("torque",)),
    ("kilograms_for_pounds", POUND, ("torque",)),
    ("newtons_for_kilograms", STANDARD_GRAVITY, ("torque",)),
    ("kilograms_for_newtons", 1.0 / STANDARD_GRAVITY, ("torque",)),
    ("line_for_phase", math.sqrt(3.0), ("voltage", "current", "input_power")),
    ("phase_for_line", 1.0 / math.sqrt(3.0), ("voltage", "current", "input_power")),
    ("doubled", 2.0, ()),
    ("halved", 0.5, ()),
)
#: Belief in a slip when several explain a row: the first that does is named.
ORDER = (
    "sign",
    "times_ten",
    "tenth",
    "digits_exchanged",
    *(name for name, _, _ in _FACTORS[2:]),
    "one_digit",
)
#: The longest figure whose digits are tried one by one.
_DIGITS = 8
_MOST_DECIMALS = 6


@dataclass(frozen=True)
class Proposal:
    """What may have been meant instead of what was typed."""

    slip: str
    value: float  #: as typed, in the unit of the column


def proposals(typed: float, quantity: str, decimals: int) -> list[Proposal]:
    """Every figure that one slip turns into the typed one.

    Parameters
    ----------
    typed : float
        The figure as it stands.
    quantity : str
        What it reads; some slips befall some quantities only.
    decimals : int
        Decimals the column is written with.

    Returns
    -------
    list of Proposal
    """
    if not math.isfinite(typed) or typed == 0.0:
        return []
    made = [Proposal("sign", -typed)]
    made += [Proposal(name, typed / by) for name, by, only in _FACTORS if not only or quantity in only]
    made += [Proposal("digits_exchanged", value) for value in _exchanged(typed, decimals)]
    made += [Proposal("one_digit", value) for value in _one_digit(typed, decimals)]
    return made


def decimals_of(values: Array) -> int:
    """Decimals a typed column is written with: enough for all figures but one, which may be the slip."""
    needed = sorted(_decimals(value) for value in values[np.isfinite(values)])
    return needed[-2] if len(needed) > 1 else (needed[0] if needed else 0)


def resolution_of(values: Array) -> float:
    """Smallest step a typed column is written in, in the unit of the column."""
    return float(10.0 ** -decimals_of(values))


def _decimals(value: float) -> int:
    for places in range(_MOST_DECIMALS):
        if abs(value - round(value, places)) <= 1e-9 * max(abs(value), 1e-9):
            return places
    return _MOST_DECIMALS


def _digits(typed: float, decimals: int) -> str | None:
    text = f"{abs(typed):.{decimals}f}"
    figures = text.replace(".", "")
    return text if len(figures) <= _DIGITS else None


def _exchanged(typed: float, decimals: int) -> Iterator[float]:
    text = _digits(typed, decimals)
    places = [k for k, sign in enumerate(text or "") if sign != "."]
    for first, second in pairwise(places):
        signs = list(text or "")
        if signs[first] != signs[second]:
            signs[first], signs[second] = signs[second], signs[first]
            yield math.copysign(float("".join(signs)), typed)


def _one_digit(typed: float, decimals: int) -> Iterator[float]:
    text = _digits(typed, decimals)
    for place, sign in enumerate(text or ""):
        if sign == ".":
            continue
        for other in "0123456789":
            if other != sign:
                yield math.copysign(float(f"{text[:place]}{other}{text[place + 1 :]}"), typed)  # type: ignore[index]
