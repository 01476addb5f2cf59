"""How a point read off the load curve moves with the tested points around it.

The torque T* at which the curve meets the wanted value moves so that the value stays met: dT* = -dq / (dq/dT). Every
interpolated quantity moves with its own knots and along the curve with T*, and what is derived moves with those.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.reduction.load_curve import PRIMARY, LoadCurve
from certgen.reduction.model import POINT_UNITS
from certgen.reduction.uncertainty.interpolation import interpolation_error

Array = NDArray[np.float64]

#: Quantities without a doubt of their own: time stamps only order the rows.
_PLAIN = frozenset({"time"})
QUANTITIES = tuple(name for name in POINT_UNITS if name not in _PLAIN)

#: Relative step of the finite differences; a cubic is smooth enough for it.
_STEP = 1e-6


@dataclass(frozen=True, eq=False)
class Gradient:
    """Derivatives of each quantity read off: by what was tested at the knots, and by errors of the curve itself.

    ``by_knots`` has a row for each of :data:`QUANTITIES` and a column for each of ``knots``: which knot, and 'torque'
    or an interpolated quantity. ``by_curve`` has a column for each interpolated quantity, whose standard uncertainty
    from interpolating is in ``curve_errors``.
    """

    knots: tuple[tuple[int, str], ...]
    by_knots: Array
    by_curve: Array
    curve_errors: tuple[float, ...]


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
    names, at = tuple(curve.primary), np.array([torque])
    knots: dict[tuple[int, str], Array] = {}
    for index, (name, interpolant) in enumerate(curve.primary.items()):
        for slopes, of in zip(interpolant.by_points(at), (name, "torque"), strict=True):
            for knot in np.flatnonzero(slopes[:, 0]).tolist():
                place = int(np.searchsorted(curve.torque, interpolant.x[knot]))
                knots.setdefault((place, of), np.zeros(len(names)))[index] = slopes[knot, 0]
    return Gradient(
        knots=tuple(knots),
        by_knots=local.moved(np.array([*knots.values()]).T),
        by_curve=local.moved(np.eye(len(names))),
        curve_errors=tuple(interpolation_error(one, torque) for one in curve.primary.values()),
    )


class _Local:
    """The curve around one torque: slopes of the interpolated quantities, and how derived ones follow from them."""

    def __init__(self, curve: LoadCurve, quantity: str, torque: float) -> None:
        names = tuple(curve.primary)
        self._slopes = np.array([float(one.slope(torque)) for one in curve.primary.values()])
        self._by_torque, self._by_value = _derived(curve, torque)
        # How the wanted quantity moves with each interpolated one at fixed torque.
        by_power = quantity == "shaft_power"
        self._wanted = np.array([float(name == ("speed" if by_power else quantity)) for name in names])
        self._wanted *= torque if by_power else 1.0
        own = float(curve.primary["speed"](torque)) if by_power else 0.0
        self._steepness = float(self._wanted @ self._slopes) + own

    @property
    def level(self) -> bool:
        """Whether the wanted quantity does not change with torque."""
        return self._steepness == 0.0 or not math.isfinite(self._steepness)

    def moved(self, effects: Array) -> Array:
        """Change of every quantity read off, from changes of interpolated ones at fixed torque: a column a case."""
        along = -(self._wanted @ effects) / self._steepness
        changes = effects + self._slopes[:, None] * along
        return np.asarray(self._by_torque[:, None] * along + self._by_value @ changes)


def _derived(curve: LoadCurve, torque: float) -> tuple[Array, Array]:
    """Partial derivatives of every quantity by torque, and by each interpolated quantity: a row a quantity."""
    names = tuple(curve.primary)
    values = np.array([torque, *(float(one(torque)) for one in curve.primary.values())])
    steps = _STEP * np.maximum(np.abs(values), 1e-3)
    moved = np.concatenate([np.diag(steps), -np.diag(steps)], axis=1) + values[:, None]
    columns = {name: np.full(moved.shape[1], math.nan) for name in PRIMARY}
    columns.update(zip(names, moved[1:], strict=True))
    points = curve.derive(moved[0], columns)
    up, down = np.split(np.array([getattr(points, quantity) for quantity in QUANTITIES]), 2, axis=1)
    slopes = (up - down) / (2.0 * steps)
    slopes = np.where(np.isfinite(slopes), slopes, 0.0)
    return slopes[:, 0], slopes[:, 1:]
