"""What is interpolated over torque, at any torque of the load curve, with the errors of the tested points around."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.curves import ShapePreserving
from certgen.reduction.load_curve import LoadCurve
from certgen.reduction.model import LoadPoints
from certgen.reduction.uncertainty.interpolation import interpolation_error
from certgen.reduction.uncertainty.linear import Correlated, linear
from certgen.reduction.uncertainty.read_off import QUANTITIES, read_off_gradient

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class AlongCurve:
    """The load curve and the errors of its knots.

    ``at_knot`` gives the error, about zero, of a quantity or of torque at a knot of the curve; ``between`` that of
    interpolating, from its size.
    """

    curve: LoadCurve
    at_knot: Callable[[int, str], Correlated]
    between: Callable[[float], Correlated]

    def at(self, torque: Array) -> dict[str, list[Correlated]]:
        """Every interpolated quantity at fixed torques of shape (m,) [N*m]; m values each. [SI]"""
        return {name: self._quantity(name, one, torque) for name, one in self.curve.primary.items()}

    def read_off(self, quantity: str, point: LoadPoints) -> dict[str, Correlated]:
        """Every quantity of a point read off where the curve meets a wanted current, shaft power or speed.

        Parameters
        ----------
        quantity : {'current', 'shaft_power', 'speed'}
            What was wanted.
        point : LoadPoints
            The point found, of one row. [SI]

        Returns
        -------
        dict
            By name; empty where the curve runs level there. [SI]
        """
        gradient = read_off_gradient(self.curve, quantity, float(point.torque[0]))
        if gradient is None:
            return {}
        errors = [(slopes, self.at_knot(*place)) for place, slopes in gradient.by_knot.items()]
        errors += [
            (gradient.by_curve[name], self.between(size)) for name, size in gradient.curve_error.items() if size > 0.0
        ]
        values = {name: float(getattr(point, name)[0]) for name in QUANTITIES}
        return {
            name: linear(value, ((slopes[name], error) for slopes, error in errors))
            for name, value in values.items()
            if math.isfinite(value)
        }

    def _quantity(self, name: str, interpolant: ShapePreserving, torque: Array) -> list[Correlated]:
        places = np.searchsorted(self.curve.torque, interpolant.x)
        by_ordinate, by_abscissa = interpolant.by_points(torque)
        terms: list[list[tuple[float, Correlated]]] = [[] for _ in torque]
        for knot, place in enumerate(places.tolist()):
            errors = ((by_ordinate[knot], name), (by_abscissa[knot], "torque"))
            for slopes, of in errors:
                for column in np.flatnonzero(slopes).tolist():
                    terms[column].append((float(slopes[column]), self.at_knot(place, of)))
        values = np.asarray(interpolant(torque))
        for column, one in enumerate(torque.tolist()):
            size = interpolation_error(interpolant, one)
            if size > 0.0:
                terms[column].append((1.0, self.between(size)))
        return [linear(float(value), of) for value, of in zip(values, terms, strict=True)]
