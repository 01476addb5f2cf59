"""Heating and cooling: winding rise by resistance, the exponential law, and fits of it to readings."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from certgen.physics.curves import straight_line
from certgen.physics.domain import Array, FloatOrArray, Mask, quotient, require_not_negative, require_positive
from certgen.physics.winding import resistance_at, temperature_by_resistance

#: Three constants are fitted, so four readings are the fewest that leave anything over to judge the fit by.
LEAST_READINGS = 4
#: Time constants looked through: from this part of the closest spacing to this multiple of the length of the run.
_SHORTEST, _LONGEST = 0.2, 50.0
_TRIALS = 240
#: The parts that the bracket of the best one is cut into at a time, as powers, and how often.
_PARTS = np.arange(65) / 64.0
_CUTS = 8


def rise_by_resistance(
    hot: FloatOrArray, *, cold: float, cold_temperature: float, ambient: FloatOrArray, constant: float
) -> FloatOrArray:
    """Rise of a winding above the cooling air, from its resistance hot and cold.

    Parameters
    ----------
    hot : float or array, shape (n,)
        Resistance of the warm winding, > 0. [ohm]
    cold : float
        Resistance of the cold winding, > 0. [ohm]
    cold_temperature : float
        Temperature of the cold winding. [K]
    ambient : float or array, shape (n,)
        Temperature of the cooling air while the winding was warm. [K]
    constant : float
        234.5 (IEEE) or 235 (IEC) for copper, 225 for aluminium. [degC]

    Returns
    -------
    float or array, shape (n,)
        t2 - ta = (R2 - R1) / R1 (k + t1) + t1 - ta. [K]

    Raises
    ------
    ValueError
        A resistance is not above 0, or the cold temperature lies where the linear law gives none.

    References
    ----------
    IEC 60034-1, 8.6.2.3.3, and IEEE Std 112 (from memory); D. C. Kulshreshtha, Basic Electrical Engineering,
    example 2.18, page 32.

    Examples
    --------
    Copper of 4 ohm at 20 degC that reads 5 ohm, the air still at 20 degC:

    >>> rise_by_resistance(5.0, cold=4.0, cold_temperature=293.15, ambient=293.15, constant=235.0)
    63.75
    """
    return temperature_by_resistance(hot, cold, cold_temperature, constant=constant) - ambient


def resistance_of_rise(
    rise: FloatOrArray, *, cold: float, cold_temperature: float, ambient: FloatOrArray, constant: float
) -> FloatOrArray:
    """Resistance a winding has at a rise; the inverse of :func:`rise_by_resistance`, with its parameters.

    Parameters
    ----------
    rise : float or array, shape (n,)
        Rise above the cooling air. [K]
    cold, cold_temperature, ambient, constant
        As for :func:`rise_by_resistance`.

    Returns
    -------
    float or array, shape (n,)
        R2 = R1 (k + ta + rise) / (k + t1). [ohm]
    """
    return resistance_at(cold, cold_temperature, ambient + rise, constant=constant)


def rise_after(
    time: FloatOrArray, *, final: FloatOrArray, time_constant: float, start: FloatOrArray = 0.0
) -> FloatOrArray:
    """Rise of a body with one time constant after some time at constant loss.

    Parameters
    ----------
    time : float or array, shape (n,)
        Time since the loss began, >= 0. [s]
    final : float or array, shape (n,)
        Rise it tends to; 0 for cooling with the loss switched off. [K]
    time_constant : float
        Heating or cooling time constant, > 0. [s]
    start : float or array, shape (n,)
        Rise at time 0. [K]

    Returns
    -------
    float or array, shape (n,)
        final + (start - final) exp(-t / tau). [K]

    Raises
    ------
    ValueError
        The time constant is not above 0, or a time lies below 0.

    References
    ----------
    B. R. Gupta and V. Singhal, Fundamentals of Electric Drives and Control, chapter 4.
    """
    require_positive(time_constant, "time constant")
    require_not_negative(time, "time")
    decay = np.exp(-np.asarray(time) / time_constant)
    values = np.asarray(final + (start - final) * decay)
    return float(values) if values.ndim == 0 else values


def final_of_equal_steps(first: FloatOrArray, second: FloatOrArray, third: FloatOrArray) -> FloatOrArray:
    """Final rise from three rises read at equal intervals.

    Parameters
    ----------
    first, second, third : float or array, shape (n,)
        Rises in order of time. [K]

    Returns
    -------
    float or array, shape (n,)
        (second^2 - first third) / (2 second - first - third); NaN unless each step is smaller than the one
        before and of its sign, as no exponential passes through other readings. [K]

    References
    ----------
    Three ordinates of an exponential at equal intervals; with a first rise of 0 it is B. L. Theraja and
    A. K. Theraja, A Textbook of Electrical Technology, vol. III, example 45.15, page 1809.

    Examples
    --------
    Rises of 40, 60 and 70 K at equal steps halve what is left each time, and end at 80 K:

    >>> final_of_equal_steps(40.0, 60.0, 70.0)
    80.0
    """
    excess = np.asarray(second**2 - first * third)
    return quotient(excess, 2.0 * second - first - third, defined=_slows(first, second, third))


def time_constant_of_equal_steps(
    first: FloatOrArray, second: FloatOrArray, third: FloatOrArray, *, interval: float
) -> FloatOrArray:
    """Time constant from three rises read at equal intervals.

    Parameters
    ----------
    first, second, third : float or array, shape (n,)
        Rises in order of time. [K]
    interval : float
        Time between two of them, > 0. [s]

    Returns
    -------
    float or array, shape (n,)
        interval / ln((second - first) / (third - second)); NaN where :func:`final_of_equal_steps` is. [s]

    Raises
    ------
    ValueError
        The interval is not above 0.

    References
    ----------
    B. R. Gupta and V. Singhal, Fundamentals of Electric Drives and Control, example 4.1, page 49.
    """
    require_positive(interval, "interval")
    slows = _slows(first, second, third)
    ratio = np.asarray(quotient(second - first, third - second, defined=slows))
    return quotient(interval, np.log(ratio), defined=slows)


def _slows(first: FloatOrArray, second: FloatOrArray, third: FloatOrArray) -> Mask:
    early, late = np.asarray(second - first), np.asarray(third - second)
    return np.asarray((early * late > 0.0) & (np.abs(late) < np.abs(early)))


@dataclass(frozen=True)
class Exponential:
    """start -> final with one time constant, by least squares; NaN throughout where the readings show no bend."""

    #: Rise at the first reading. [K]
    start: float
    #: Rise it tends to. [K]
    final: float
    #: Time constant. [s]
    time_constant: float
    #: Standard uncertainties of the fit alone. [K], [s]
    u_final: float
    u_time_constant: float
    #: Scatter of the readings about the curve, with n - 3 degrees of freedom. [K]
    residual_standard_deviation: float


_NO_BEND = Exponential(*(math.nan,) * 6)


def fit_exponential(time: ArrayLike, rise: ArrayLike) -> Exponential:
    """Fit theta(t) = start + (final - start) (1 - exp(-(t - t_1) / tau)) to readings by least squares.

    Parameters
    ----------
    time : array, shape (n,), n >= 4
        Times of the readings, rising. [s]
    rise : array, shape (n,)
        What was read. [K]

    Returns
    -------
    Exponential
        The three constants with their uncertainties. NaN where the best time constant is longer than 50 times
        the run or shorter than a fifth of the closest spacing: the readings then show a straight line or a step.

    Raises
    ------
    ValueError
        Fewer than four readings, not of one length, not finite, or times that do not rise.

    Notes
    -----
    For a given tau the other two constants are a straight-line fit, so only tau is searched (variable
    projection): through a ladder of values, then in the bracket about the best, by where the slope changes sign.

    References
    ----------
    G. H. Golub and V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413.
    """
    times, rises = np.asarray(time, dtype=np.float64), np.asarray(rise, dtype=np.float64)
    if times.ndim != 1 or times.shape != rises.shape or times.size < LEAST_READINGS:
        raise ValueError(f"an exponential needs {LEAST_READINGS} readings, each with its time")
    if not (np.isfinite(times).all() and np.isfinite(rises).all()) or np.any(np.diff(times) <= 0.0):
        raise ValueError("an exponential needs finite readings at times that rise")
    elapsed = times - times[0]
    ladder = np.geomspace(_SHORTEST * np.diff(times).min(), _LONGEST * elapsed[-1], _TRIALS)
    best = int(np.argmin(np.sum(_about_lines(elapsed, rises, ladder)[0] ** 2, axis=1)))
    if best in (0, _TRIALS - 1) or np.ptp(rises) == 0.0:
        return _NO_BEND
    tau = _least(elapsed, rises, float(ladder[best - 1]), float(ladder[best + 1]))
    left, spans = _about_lines(elapsed, rises, np.array([tau]))
    span = float(spans[0])
    start = float(rises.mean() + span * np.expm1(-elapsed / tau).mean())
    scatter = math.sqrt(float(np.sum(left**2)) / (times.size - 3))
    return Exponential(start, start + span, tau, *_uncertainties(elapsed, span, tau, scatter), scatter)


def _about_lines(elapsed: Array, rises: Array, ladder: Array) -> tuple[Array, Array]:
    """What each of m time constants leaves of the readings, shape (m, n), and the span of its best line, shape (m,)."""
    gone = -np.expm1(-elapsed / ladder[:, None])
    gone -= gone.mean(axis=1, keepdims=True)
    span = gone @ rises / np.sum(gone**2, axis=1)
    return rises - rises.mean() - span[:, None] * gone, span


def _least(elapsed: Array, rises: Array, low: float, high: float) -> float:
    """Time constant of the least sum of squares between two: where its slope changes sign, which is sharper to see."""
    for _ in range(_CUTS):
        ladder = low * (high / low) ** _PARTS
        rising = _slopes_of_squares(elapsed, rises, ladder[1:-1]) > 0.0
        part = int(np.argmax(np.append(rising, True)))
        low, high = float(ladder[part]), float(ladder[part + 1])
    return math.sqrt(low * high)


def _slopes_of_squares(elapsed: Array, rises: Array, ladder: Array) -> Array:
    """Slope of the sum of squares over the logarithm of each time constant, shape (m,)."""
    left, span = _about_lines(elapsed, rises, ladder)
    ratio = elapsed / ladder[:, None]
    return np.asarray(2.0 * span * np.sum(left * ratio * np.exp(-ratio), axis=1))


def _uncertainties(elapsed: Array, span: float, tau: float, scatter: float) -> tuple[float, float]:
    _, by_final, by_tau = _by_readings(elapsed, span, tau)
    return scatter * float(np.linalg.norm(by_final)), scatter * float(np.linalg.norm(by_tau))


def exponential_by_readings(time: Array, fit: Exponential) -> Array:
    """By how much the constants of a fitted exponential move with each reading.

    Parameters
    ----------
    time : array, shape (n,)
        Times of the readings. [s]
    fit : Exponential
        The fit.

    Returns
    -------
    array, shape (3, n)
        Of start [1], final [1] and time constant [s/K], linearised about the fit.
    """
    return _by_readings(time - time[0], fit.final - fit.start, fit.time_constant)


def _by_readings(elapsed: Array, span: float, tau: float) -> Array:
    decay = np.exp(-elapsed / tau)
    # Columns: derivative by start, by final, by the logarithm of tau, which keeps them of one size.
    slopes = np.column_stack([decay, 1.0 - decay, -span * elapsed / tau * decay])
    return np.asarray(np.linalg.pinv(slopes) * np.array([[1.0], [1.0], [tau]]))


@dataclass(frozen=True)
class SwitchOff:
    """A cooling series carried back to the instant of switching off."""

    #: Rise at that instant; NaN where the readings do not fall or are not all above the cooling air. [K]
    rise: float
    #: Time constant of the first fall. [s]
    time_constant: float
    #: Standard uncertainty of the rise by the scatter about the line; NaN for two readings. [K]
    u_rise: float


def rise_at_switch_off(time: ArrayLike, rise: ArrayLike) -> SwitchOff:
    """Carry rises read after switching off back to that instant, along a straight line in their logarithm.

    Parameters
    ----------
    time : array, shape (n,), n >= 2
        Times since switching off. [s]
    rise : array, shape (n,)
        Rises above the cooling air. [K]

    Returns
    -------
    SwitchOff
        ln(rise) = a - t / tau at t = 0.

    Raises
    ------
    ValueError
        Fewer than two different times, or not of one length.

    References
    ----------
    Extrapolation with temperature on a logarithmic scale: IEC 60034-1, 8.6.2.3.3, and IEEE Std 112, both from
    memory.
    """
    times, rises = np.asarray(time, dtype=np.float64), np.asarray(rise, dtype=np.float64)
    if np.any(rises <= 0.0):
        return SwitchOff(math.nan, math.nan, math.nan)
    line = straight_line(times, np.log(rises))
    if not line.slope < 0.0:
        return SwitchOff(math.nan, math.nan, math.nan)
    at_zero = math.exp(line.intercept)
    from_mean = times - times.mean()
    lever = math.sqrt(1.0 / times.size + float(times.mean() ** 2 / (from_mean @ from_mean)))
    return SwitchOff(at_zero, -1.0 / line.slope, at_zero * line.residual_standard_deviation * lever)


# How long a body that heats with one time constant bears more heat than it gives away.


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
