"""How long a body that heats with one time constant bears more heat than it gives away."""

from __future__ import annotations

import math

from certgen.physics.domain import require_positive


def time_to_limit(heat: float, continuous: float, time_constant: float) -> float:
    """Time from cold until a heat input brings a body to the temperature of its continuous one.

    Parameters
    ----------
    heat : float
        Heat that flows in, > 0. [W]
    continuous : float
        Heat the body may take for ever, > 0. [W]
    time_constant : float
        Its heating time constant, > 0. [s]

    Returns
    -------
    float
        tau ln(P / (P - P_c)); infinite where the heat is at most the continuous one. [s]

    Raises
    ------
    ValueError
        A parameter is not above 0.

    References
    ----------
    B. R. Gupta and V. Singhal, Fundamentals of Electric Drives and Control, chapter 4, example 4.9 (short-time
    rating): final rise in proportion to heat, reached with one exponential.
    """
    _require(heat, continuous)
    require_positive(time_constant, "time constant")
    if heat <= continuous:
        return math.inf
    return -time_constant * math.log1p(-continuous / heat)


def time_constant_of_short_time(heat: float, continuous: float, time: float) -> float:
    """Time constant of a body that bears a greater heat for a known time from cold.

    Parameters
    ----------
    heat : float
        Heat of the short time, above the continuous one. [W]
    continuous : float
        Heat the body may take for ever, > 0. [W]
    time : float
        How long the greater heat may flow, > 0. [s]

    Returns
    -------
    float
        t / ln(P / (P - P_c)). [s]

    Raises
    ------
    ValueError
        The heat is not above the continuous one, or a parameter is not above 0.

    References
    ----------
    As :func:`time_to_limit`, solved for the time constant.
    """
    _require(heat, continuous)
    require_positive(time, "time")
    require_positive(heat - continuous, "heat of the short time less the continuous one")
    return -time / math.log1p(-continuous / heat)


def _require(heat: float, continuous: float) -> None:
    require_positive(heat, "heat")
    require_positive(continuous, "continuous heat")
