from __future__ import annotations

import math
from dataclasses import fields

import numpy as np
import pytest

from certgen.physics.electrics import efficiency
from certgen.physics.induction import slip
from certgen.physics.losses import residual_loss, stray_load_loss
from certgen.physics.mechanics import torque_at
from certgen.physics.winding import resistance_at, resistance_between_lines
from certgen.reduction.loss_procedure import fit_stray
from certgen.reduction.loss_segregation import LossCurve, Segregated, regression_rows, segregate
from certgen.reduction.model import LoadPoints

ICE = 273.15
RPM = math.pi / 30.0

# Load points of the 18.5 kW motor of the Modelica Standard Library (IMC_withLosses; Haumer et al., Modelica 2009),
# whose curves came with it: output [W], current [A], speed [rpm], input [W]. The losses beside them were worked out
# once by hand from the same columns, with 0.56 ohm a phase in delta brought to 90 degC, core loss 410 W and friction
# 180 W: stator, rotor, residual [W]. They are no published results; speeds are rounded to 1 rpm by the source.
POINTS = np.array([
    [5325.0, 13.87, 1490.0, 6122.097, 137.2925, 37.1654, 32.6392],
    [7521.0, 16.41, 1486.0, 8423.1157, 192.1812, 72.9954, 46.9391],
    [9372.0, 18.78, 1482.0, 10381.0368, 251.701, 116.632, 50.7037],
    [11010.0, 21.07, 1479.0, 12146.955, 316.8275, 159.8818, 70.2457],
    [12930.0, 23.92, 1475.0, 14227.5528, 408.3346, 223.487, 75.7313],
    [14950.0, 27.05, 1471.0, 16448.4542, 522.1897, 299.9811, 86.2833],
    [16360.0, 29.4, 1467.0, 18037.4862, 616.8626, 374.2337, 96.3899],
    [18500.0, 32.85, 1462.0, 20455.5506, 770.1309, 488.3106, 107.1091],
    [18560.0, 32.95, 1462.0, 20524.1623, 774.8268, 489.9298, 109.4057],
    [20180.0, 35.92, 1458.0, 22402.3091, 920.8024, 590.0022, 121.5045],
    [22170.0, 39.35, 1453.0, 24710.2095, 1105.0534, 726.7816, 118.3746],
])  # fmt: skip
SIX = [0, 2, 5, 7, 9, 10]
TORQUES = [34.1275, 48.3313, 60.3887, 71.0871, 83.7101, 97.051, 106.4939, 120.8358, 121.2277, 132.1706, 145.704]


def load_points(**columns):
    """Load points that hold what is given and nothing else."""
    count = len(next(iter(columns.values())))
    arrays = {field.name: np.full(count, np.nan) for field in fields(LoadPoints) if field.name != "remarks"}
    return LoadPoints(**{**arrays, **columns}, remarks=("",) * count)


def segregated(rows):
    output, current, speed, taken = POINTS[rows, :4].T
    points = load_points(current=current, input_power=taken, speed=speed * RPM, shaft_power=output)
    phase = resistance_at(0.56, 20.0 + ICE, 90.0 + ICE, constant=1.0 / 0.00392 - 20.0)
    parts = segregate(
        points,
        resistance=np.full(len(rows), resistance_between_lines(phase, "delta")),
        slip=np.asarray(slip(speed, 1500.0)),
        core=np.full(len(rows), 410.0),
        friction_windage=180.0,
        exponent=0.0,
    )
    torque = np.asarray(torque_at(output, speed * RPM))
    return torque, parts, np.asarray(residual_loss(taken, output, parts.known))


def test_losses_of_eleven_load_points():
    torque, parts, residual = segregated(list(range(11)))
    assert torque == pytest.approx(TORQUES, abs=0.5e-4)
    assert parts.stator == pytest.approx(POINTS[:, 4], abs=0.5e-4)
    assert parts.rotor == pytest.approx(POINTS[:, 5], abs=0.5e-4)
    # the inputs beside it are rounded to the same digit
    assert residual == pytest.approx(POINTS[:, 6], abs=1.0e-4)


@pytest.mark.parametrize(
    ("rows", "line", "at_rated", "percent"),
    [
        (list(range(11)), (0.004452, 39.515, 0.96572), 64.96, 90.646),
        (SIX, (0.004548, 34.916, 0.97136), 66.36, 90.639),
    ],
)
def test_regression_of_measured_load_points(rows, line, at_rated, percent):
    """Slope, intercept, correlation worked out once by hand from the columns above; rated are 18.5 kW at 1462.5 rpm."""
    slope, intercept, correlation = line
    torque, parts, residual = segregated(rows)
    fit = fit_stray(torque, residual, np.arange(len(rows)), least_correlation=0.95)
    assert fit.accepted
    assert fit.removed is None
    assert fit.line.slope == pytest.approx(slope, abs=0.5e-6)
    assert fit.line.intercept == pytest.approx(intercept, abs=0.5e-3)
    assert fit.line.correlation == pytest.approx(correlation, abs=0.5e-5)
    assert stray_load_loss(fit.line.slope, 18500.0 / (1462.5 * RPM)) == pytest.approx(at_rated, abs=0.5e-2)
    rated = rows.index(7)
    stray = stray_load_loss(fit.line.slope, torque[rated])
    taken = POINTS[7, 3]
    output = taken - parts.known[rated] - stray
    assert 100.0 * efficiency(output, taken) == pytest.approx(percent, abs=0.5e-3)


def test_rows_of_the_regression():
    """Outside the range of loads, past breakdown, without a residual or impossible: not used."""
    points = load_points(
        speed=np.array([150.0, 148.0, 146.0, 144.0, 120.0, 140.0, 147.0]),
        torque=np.array([1.0, 5.0, 8.0, 10.0, 9.0, 16.0, 7.0]),
        shaft_power=np.array([150.0, 740.0, 1168.0, 1440.0, 1080.0, 2240.0, 1029.0]),
        input_power=np.array([300.0, 900.0, 1400.0, 1700.0, 1900.0, 2900.0, 1000.0]),
    )
    residual = np.array([1.0, 2.0, np.nan, 3.0, 4.0, 5.0, 6.0])
    rows = regression_rows(points, residual, points.shaft_power / 1400.0, (0.2, 1.55))
    assert rows.tolist() == [1, 3]


def curve(shift=0.0):
    taken = np.array([100.0, 1000.0, 2000.0])
    parts = Segregated(*(np.array([5.0, 20.0 + shift, 60.0]) for _ in range(4)))
    return LossCurve(taken, parts, np.array([0.0, 10.0, 40.0]), np.array([0.0, 5.0, 10.0]))


def test_figures_along_the_curve_add_up():
    found = curve().at(1200.0)
    losses = sum(found[name] for name in ("stator", "rotor", "core", "friction_windage", "stray"))
    assert found["shaft_power"] == 1200.0
    assert found["input_power"] - losses == pytest.approx(1200.0)
    assert found["efficiency"] == pytest.approx(1200.0 / found["input_power"])


def test_beyond_the_curve_there_is_nothing():
    assert curve().at(1721.0) is None
    assert curve().at(79.0) is None
    assert curve().at(1720.0) is not None
    assert curve(shift=np.nan).at(500.0) is None


def test_a_curve_that_ends_just_short_tells_its_end():
    assert curve().reached(1200.0, 0.02) == 1200.0
    assert curve().reached(1740.0, 0.02) == 1720.0
    assert curve().reached(1800.0, 0.02) == 1800.0
    assert curve().reached(79.0, 0.02) == 80.0
