"""Breakdown torque and its slip by a curve fitted through the readings about the summit of torque over slip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array


def summit_by_circuit(slip: Array, torque: Array) -> tuple[Array, Array]:
    """Greatest torque of the equivalent circuit that fits readings best, and its slip.

    Parameters
    ----------
    slip : array, shape (..., n), n >= 3
        Slip of the readings, more than zero, all different. [1]
    torque : array, shape (..., n)
        Their torque, more than zero. [N*m]

    Returns
    -------
    tuple of (array, array)
        Torque [N*m] and slip [1], shape (...); NaN where the readings are of no such curve.

    Notes
    -----
    Torque over slip of the circuit is T = V^2 (R2/s) / (w ((R1 + R2/s)^2 + X^2)), so that s/T = a + b s + c s^2 exactly.
    The three terms are found by least squares, each reading weighted as its torque is; then s_b = sqrt(a/c) and
    T_b = 1 / (b + 2 sqrt(a c)).

    References
    ----------
    M. Kloss, Drehmoment und Schluepfung des Drehstrommotors, Archiv fuer Elektrotechnik 5 (1916) 59, from memory;
    P. C. Sen, Principles of Electric Machines, torque by the Thevenin circuit, from memory.
    """
    ordinate, weight = slip / torque, torque**2 / slip
    constant, linear, square = _quadratic(slip, ordinate, weight)
    good = (constant > 0.0) & (square > 0.0)
    mean = np.sqrt(np.where(good, constant * square, np.nan))
    at = np.sqrt(np.where(good, constant, np.nan) / np.where(good, square, np.nan))
    below = linear + 2.0 * mean
    return np.where(below > 0.0, 1.0 / np.where(below > 0.0, below, np.nan), np.nan), at


def scatter_of_circuit(slip: Array, torque: Array) -> tuple[float, float]:
    """Standard uncertainties of `summit_by_circuit` from the scatter of more than three readings about the curve.

    Parameters
    ----------
    slip, torque : array, shape (n,), n >= 3
        As there. [1], [N*m]

    Returns
    -------
    tuple of (float, float)
        Of torque [N*m] and of slip [1]; zero for three readings, which any three terms meet.

    References
    ----------
    JCGM 100:2008, H.3.2 (least squares), 5.1.2 (carried to the summit by its derivatives).
    """
    if slip.size <= 3:
        return 0.0, 0.0
    ordinate, weight = slip / torque, torque**2 / slip
    constant, linear, square = (float(term) for term in _quadratic(slip, ordinate, weight))
    terms = np.vander(slip, 3, increasing=True) * weight[:, None]
    left = ordinate * weight - terms @ [constant, linear, square]
    covariance = float(left @ left) / (slip.size - 3) * np.linalg.inv(terms.T @ terms)
    ratio, mean = np.sqrt(square / constant), np.sqrt(constant * square)
    greatest = 1.0 / (linear + 2.0 * mean)
    by_term = np.array(
        [[-(greatest**2) * ratio, -(greatest**2), -(greatest**2) / ratio], [0.5 / mean, 0.0, -0.5 / (ratio * square)]]
    )
    of_torque, of_slip = np.sqrt(np.maximum(np.diag(by_term @ covariance @ by_term.T), 0.0))
    return float(of_torque), float(of_slip)


@dataclass(frozen=True)
class Vertex:
    """Summit of a parabola [N*m] at a speed [rad/s]; the standard uncertainties are those of the scatter about it."""

    torque: float
    speed: float
    torque_scatter: float = 0.0
    speed_scatter: float = 0.0


def summit_by_parabola(speed: Array, torque: Array) -> Vertex | None:
    """Summit of the parabola of torque over speed that fits readings best.

    Parameters
    ----------
    speed : array, shape (n,), n >= 3
        Speeds of the readings, three of them different. [rad/s]
    torque : array, shape (n,)
        Their torque. [N*m]

    Returns
    -------
    Vertex or None
        With the scatter of more than three readings carried to it; ``None`` where the parabola has no summit.

    References
    ----------
    JCGM 100:2008, H.3.2 (least squares), 5.1.2 (carried to the summit by its derivatives).
    """
    middle, width = float(speed.mean()), float(np.ptp(speed))
    across = (speed - middle) / width
    constant, slope, bend = (float(term) for term in _quadratic(across, torque, np.ones(speed.size)))
    if not bend < 0.0:
        return None
    top = -slope / (2.0 * bend)
    scatter = np.zeros(2)
    if speed.size > 3:
        terms = np.vander(across, 3, increasing=True)
        left = torque - terms @ [constant, slope, bend]
        covariance = float(left @ left) / (speed.size - 3) * np.linalg.inv(terms.T @ terms)
        by_term = np.array([[1.0, top, top**2], [0.0, -1.0 / (2.0 * bend), slope / (2.0 * bend**2)]])
        scatter = np.sqrt(np.maximum(np.diag(by_term @ covariance @ by_term.T), 0.0))
    return Vertex(
        torque=constant - slope**2 / (4.0 * bend),
        speed=middle + width * top,
        torque_scatter=float(scatter[0]),
        speed_scatter=float(scatter[1]) * width,
    )


def _quadratic(x: Array, y: Array, weight: Array) -> tuple[Array, Array, Array]:
    """Terms of y = a + b x + c x^2 by weighted least squares over the last axis, by the normal equations."""
    scale = np.max(np.abs(x), axis=-1, keepdims=True)
    terms = np.stack([np.ones_like(x), x / scale, (x / scale) ** 2], axis=-1) * weight[..., None]
    left = np.swapaxes(terms, -1, -2) @ terms
    right = np.swapaxes(terms, -1, -2) @ (y * weight)[..., None]
    found = np.linalg.solve(left, right)[..., 0]
    scale = scale[..., 0]
    constant, linear, square = (np.asarray(found[..., term], dtype=np.float64) for term in range(3))
    return constant, linear / scale, square / scale**2
