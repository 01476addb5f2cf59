"""How a point read off the load curve moves with the tested points around it.

The torque T* at which the curve meets the wanted value moves so that the value stays met: dT* = -dq / (dq/dT). Every
interpolated quantity moves with its own knots and along the curve with T*, and what is derived moves with those.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.reduction.load_curve import PRIMARY, LoadCurve
from certgen.reduction.model import POINT_UNITS, LoadPoints
from certgen.reduction.uncertainty.interpolation import interpolation_error

Array = NDArray[np.float64]

#: Quantities without a doubt of their own: time stamps only order the rows.
_PLAIN = frozenset({"time"})
QUANTITIES = tuple(name for name in POINT_UNITS if name not in _PLAIN)

#: Relative step of the finite differences; a cubic is smooth enough for it.
_STEP = 1e-6


@dataclass(frozen=True, eq=False)
class Gradient:
    """Derivatives of each quantity read off: by knot and what was tested there, and by an error of the curve itself.

    ``by_knot`` maps (knot, 'torque' or an interpolated quantity) to the derivatives by quantity; ``by_curve``
    maps an interpolated quantity to them; ``curve_error`` is its standard uncertainty from interpolating.
    """

    by_knot: Mapping[tuple[int, str], Mapping[str, float]]
    by_curve: Mapping[str, Mapping[str, float]]
    curve_error: Mapping[str, float]


def read_off_gradient(curve: LoadCurve, quantity: str, torque: float) -> Gradient | None:
    """Derivatives of the point at a torque where the curve meets the wanted value of a quantity.

    Parameters
    ----------
    curve : LoadCurve
        The load curve.
    quantity : {'current', 'shaft_power', 'speed'}
        What was wanted.
    torque : float
        The torque found. [N*m]

    Returns
    -------
    Gradient or None
        In SI units of the quantities; ``None`` where the curve runs level, so that the torque is not determined.

    References
    ----------
    JCGM 100:2008, 5.1; the implicit function theorem for the point of crossing.
    """
    local = _Local(curve, quantity, torque)
    if local.level:
        return None
    by_knot: dict[tuple[int, str], dict[str, float]] = {}
    by_torque: dict[int, dict[str, float]] = {}
    for name, interpolant in curve.primary.items():
        by_ordinate, by_abscissa = interpolant.by_points(np.array([torque]))
        for knot, place in enumerate(np.searchsorted(curve.torque, interpolant.x).tolist()):
            if by_ordinate[knot, 0]:
                by_knot[place, name] = local.moved({name: float(by_ordinate[knot, 0])})
            if by_abscissa[knot, 0]:
                by_torque.setdefault(place, {})[name] = float(by_abscissa[knot, 0])
    for place, effects in by_torque.items():
        by_knot[place, "torque"] = local.moved(effects)
    by_curve = {name: local.moved({name: 1.0}) for name in curve.primary}
    errors = {name: interpolation_error(one, torque) for name, one in curve.primary.items()}
    return Gradient(by_knot, by_curve, errors)


class _Local:
    """The curve around one torque: values, slopes, and how derived quantities follow from them."""

    def __init__(self, curve: LoadCurve, quantity: str, torque: float) -> None:
        self._quantity, self._torque = quantity, torque
        self._slopes = {name: float(one.slope(torque)) for name, one in curve.primary.items()}
        self._speed = float(curve.primary["speed"](torque))
        self._names = tuple(curve.primary)
        self._by_torque, self._by_value = _derived(curve, torque)
        self._steepness = self._wanted_by(self._slopes) + (self._speed if quantity == "shaft_power" else 0.0)

    @property
    def level(self) -> bool:
        """Whether the wanted quantity does not change with torque."""
        return self._steepness == 0.0 or not math.isfinite(self._steepness)

    def _wanted_by(self, effects: Mapping[str, float]) -> float:
        """Change of the wanted quantity at fixed torque, from changes of the interpolated ones."""
        if self._quantity == "shaft_power":
            return self._torque * effects.get("speed", 0.0)
        return effects.get(self._quantity, 0.0)

    def moved(self, effects: Mapping[str, float]) -> dict[str, float]:
        """Change of every quantity read off, from changes of interpolated ones at fixed torque."""
        along = -self._wanted_by(effects) / self._steepness
        changes = {name: effects.get(name, 0.0) + self._slopes[name] * along for name in self._names}
        return {
            quantity: self._by_torque[quantity] * along
            + sum(self._by_value[name][quantity] * change for name, change in changes.items() if change)
            for quantity in QUANTITIES
        }


def _derived(curve: LoadCurve, torque: float) -> tuple[dict[str, float], dict[str, dict[str, float]]]:
    """Partial derivatives of every quantity by torque, and by each interpolated quantity."""
    names = tuple(curve.primary)
    values = {name: float(one(torque)) for name, one in curve.primary.items()}
    steps = {"torque": _step(torque), **{name: _step(values[name]) for name in names}}
    order = ("torque", *names)
    count = 2 * len(order)
    torques = np.full(count, torque)
    columns = {name: np.full(count, values.get(name, math.nan)) for name in PRIMARY}
    for index, name in enumerate(order):
        target = torques if name == "torque" else columns[name]
        target[2 * index] += steps[name]
        target[2 * index + 1] -= steps[name]
    points = curve.derive(torques, columns)
    slopes = {name: _difference(points, index, steps[name]) for index, name in enumerate(order)}
    return slopes["torque"], {name: slopes[name] for name in names}


def _difference(points: LoadPoints, index: int, step: float) -> dict[str, float]:
    found = {}
    for quantity in QUANTITIES:
        values = getattr(points, quantity)
        slope = float(values[2 * index] - values[2 * index + 1]) / (2.0 * step)
        found[quantity] = slope if math.isfinite(slope) else 0.0
    return found


def _step(value: float) -> float:
    return _STEP * max(abs(value), 1e-3)
