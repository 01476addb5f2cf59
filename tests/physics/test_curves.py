"""Lines and curves against reference data sets and against scipy."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from physics.curve_points import points
from scipy import interpolate, stats

from certgen.physics.curves import Line, ShapePreserving, straight_line

pytestmark = pytest.mark.slow

# NIST Statistical Reference Datasets, Norris (ozone monitors): linear regression, lower level of difficulty
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
    339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5,
    778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]  # fmt: skip
NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2,
    999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]  # fmt: skip


# The line


def test_line_of_the_thermometer(as_printed):
    # JCGM 100:2008, annex H.3, table H.6: intercept and slope at t - 20 degC, and s
    reading = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    correction = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    line = straight_line(np.array(reading) - 20.0, correction)
    assert line.intercept == as_printed("-0.1712")
    assert line.slope == as_printed("0.00218")
    assert line.residual_standard_deviation == as_printed("0.0035")


def test_line_of_a_certified_data_set():
    # Certified to 15 digits; double arithmetic leaves twelve of them.
    line = straight_line(NORRIS_X, NORRIS_Y)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert line.residual_standard_deviation == pytest.approx(0.884796396144373, rel=1e-12)
    assert line.correlation**2 == pytest.approx(0.999993745883712, rel=1e-12)


def test_stray_loss_regression_of_a_measured_motor(as_printed):
    # Residual loss against torque squared of an 18.5 kW motor (Haumer, Kral, Kapeller, Baeuml, Gragger: The
    # AdvancedMachines Library, Modelica 2009; Modelica Standard Library, BSD-3-Clause). The losses were
    # separated and the line recomputed from those published readings; the slope is not itself published.
    torque = np.array([34.1275, 60.3887, 97.051, 120.8358, 132.1706, 145.704])
    residual_loss = [32.6392, 50.7037, 86.2833, 107.1091, 121.5045, 118.3746]
    line = straight_line(torque**2, residual_loss)
    assert line.slope == as_printed("0.004548")
    assert line.intercept == as_printed("34.916")
    assert line.correlation == as_printed("0.97136")


@given(points(least=3, most=20))
def test_line_agrees_with_scipy(xy):
    x, y = xy
    assume(np.ptp(y) > 1e-3)
    line, expected = straight_line(x, y), stats.linregress(x, y)
    size = 1.0 + abs(x).max()
    assert line.slope == pytest.approx(expected.slope, rel=1e-7, abs=1e-9)
    assert line.intercept == pytest.approx(expected.intercept, rel=1e-7, abs=1e-9 * size)
    assert line.correlation == pytest.approx(expected.rvalue, rel=1e-6, abs=1e-7)
    spread = expected.stderr * math.sqrt(np.sum((x - x.mean()) ** 2))
    assert line.residual_standard_deviation == pytest.approx(spread, rel=1e-5, abs=1e-5)


def test_two_points_leave_no_scatter_to_tell():
    line = straight_line([1.0, 3.0], [2.0, 8.0])
    assert (line.slope, line.intercept, line.correlation) == (3.0, -1.0, 1.0)
    assert math.isnan(line.residual_standard_deviation)


def test_level_points_have_no_correlation():
    line = straight_line([1.0, 2.0, 3.0], [5.0, 5.0, 5.0])
    assert (line.slope, line.intercept, line.residual_standard_deviation) == (0.0, 5.0, 0.0)
    assert math.isnan(line.correlation)


def test_a_missing_point_leaves_no_line():
    line = straight_line([1.0, 2.0, 3.0], [5.0, math.nan, 7.0])
    assert all(math.isnan(value) for value in dataclasses.astuple(line))


def test_a_line_cannot_be_changed():
    line = Line(slope=1.0, intercept=0.0, residual_standard_deviation=0.1, correlation=0.9)
    with pytest.raises(dataclasses.FrozenInstanceError):
        line.slope = 2.0


@pytest.mark.parametrize("x", [[], [1.0], [2.0, 2.0, 2.0]])
def test_a_line_needs_two_values_of_x(x):
    with pytest.raises(ValueError, match="at least two distinct values of x"):
        straight_line(x, x)


@pytest.mark.parametrize("call", [straight_line, ShapePreserving])
def test_x_and_y_must_be_of_one_length(call):
    with pytest.raises(ValueError, match="x and y must be lists of one length"):
        call([1.0, 2.0, 3.0], [1.0, 2.0])
    with pytest.raises(ValueError, match="x and y must be lists of one length"):
        call([[1.0, 2.0]], [[1.0, 2.0]])


# The shape-preserving curve


@given(points())
def test_curve_agrees_with_scipy_between_the_points(xy):
    x, y = xy
    curve, expected = ShapePreserving(x, y), interpolate.PchipInterpolator(x, y)
    at = np.concatenate([x, np.linspace(x[0], x[-1], 101)])
    np.testing.assert_allclose(curve(at), expected(at), rtol=1e-9, atol=1e-9)
    inside = np.linspace(x[0], x[-1], 101)[1:-1]
    np.testing.assert_allclose(curve.slope(inside), expected(inside, 1), rtol=1e-6, atol=1e-6)


@given(points(width=16))
def test_curve_goes_through_its_points_and_never_beyond_them(xy):
    x, y = xy
    curve = ShapePreserving(x, y)
    np.testing.assert_allclose(curve(x), y, rtol=0.0, atol=1e-10)
    for left, right, low, high in zip(x[:-1], x[1:], y[:-1], y[1:], strict=True):
        between = curve(np.linspace(left, right, 33))
        assert between.min() >= min(low, high) - 1e-10
        assert between.max() <= max(low, high) + 1e-10


@given(points(least=3), st.sampled_from([1.0, -1.0]))
def test_monotone_points_give_a_monotone_curve(xy, direction):
    x, y = xy
    y = direction * np.sort(y)
    values = ShapePreserving(x, y)(np.linspace(x[0], x[-1], 301))
    assert (direction * np.diff(values)).min() >= -1e-10


@given(points(), st.floats(0.0, 50.0))
def test_curve_goes_on_straight_outside(xy, beyond):
    x, y = xy
    curve = ShapePreserving(x, y)
    first, last = curve.slope(x[0]), curve.slope(x[-1])
    assert curve(x[0] - beyond) == pytest.approx(y[0] - first * beyond, rel=1e-9, abs=1e-7)
    assert curve(x[-1] + beyond) == pytest.approx(y[-1] + last * beyond, rel=1e-9, abs=1e-7)
    assert curve.slope(x[0] - 1.0 - beyond) == first
    assert curve.slope(x[-1] + 1.0 + beyond) == last


def test_slope_is_the_derivative_of_the_curve():
    curve = ShapePreserving(np.array([0.0, 1.0, 3.0, 4.0]), np.array([0.0, 2.0, 3.0, 1.0]))
    at = np.array([-1.0, 0.3, 0.9, 1.7, 2.9, 3.5, 5.0])
    step = 1e-6
    np.testing.assert_allclose((curve(at + step) - curve(at - step)) / (2 * step), curve.slope(at), rtol=1e-7)


def test_two_points_give_a_straight_line():
    curve = ShapePreserving(np.array([1.0, 3.0]), np.array([2.0, 8.0]))
    np.testing.assert_allclose(curve(np.array([0.0, 1.0, 2.0, 3.0, 4.0])), [-1.0, 2.0, 5.0, 8.0, 11.0])
    np.testing.assert_array_equal(curve.slope(np.array([0.0, 2.0, 4.0])), [3.0, 3.0, 3.0])


def test_float_in_float_out_and_nan_stays_nan():
    curve = ShapePreserving(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 4.0]))
    assert type(curve(1.0)) is float
    assert type(curve.slope(1.0)) is float
    assert math.isnan(curve(math.nan))
    assert math.isnan(curve.slope(math.nan))
    np.testing.assert_array_equal(curve(np.array([1.0, math.nan])), [1.0, math.nan])
    assert curve(np.empty(0)).shape == (0,)


def test_curve_keeps_points_of_its_own():
    x, y = np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 4.0])
    curve = ShapePreserving(x, y)
    y[1] = 99.0
    assert curve(1.0) == 1.0
    with pytest.raises(ValueError, match="read-only"):
        curve.y[1] = 99.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        curve.x = y


@pytest.mark.parametrize(
    ("x", "y", "message"),
    [
        ([1.0], [1.0], "at least two points, got 1"),
        ([1.0, 1.0], [1.0, 2.0], "x that rises"),
        ([2.0, 1.0], [1.0, 2.0], "x that rises"),
        ([1.0, math.nan], [1.0, 2.0], "finite points"),
        ([1.0, 2.0], [1.0, math.inf], "finite points"),
    ],
)
def test_points_that_make_no_curve_are_refused(x, y, message):
    with pytest.raises(ValueError, match=message):
        ShapePreserving(np.array(x), np.array(y))
