"""Where curves meet levels: roots of cubics, touching, ends, gaps."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from physics.curve_points import points
from scipy import interpolate

from certgen.physics.curves import ShapePreserving, crossings

pytestmark = pytest.mark.slow


@given(points(least=3), st.floats(0.0, 1.0))
def test_crossings_agree_with_the_roots_of_the_cubics(xy, share):
    x, y = xy
    level = y.min() + share * np.ptp(y)
    assume(np.abs(y - level).min() > 1e-3)  # touching is tested by itself
    expected = interpolate.PchipInterpolator(x, y).solve(level, extrapolate=False)
    found = crossings(ShapePreserving(x, y), level, x)
    assert found.size == expected.size
    np.testing.assert_allclose(found, np.sort(expected), rtol=1e-7, atol=1e-7)


@given(points(width=16), st.floats(-100.0, 100.0))
def test_crossings_are_crossings(xy, level):
    x, y = xy
    curve = ShapePreserving(x, y)
    found = crossings(curve, level, x)
    next_to_it = np.spacing(np.abs(found))  # where the curve is steep, x itself is no finer than this
    assert np.all(np.abs(curve(found) - level) <= 1e-10 + 4 * np.abs(curve.slope(found)) * next_to_it)
    assert np.all(np.diff(found) > 0.0)
    assert np.all((found >= x[0]) & (found <= x[-1]))
    sides = np.where(np.abs(y - level) > 1e-9, np.sign(y - level), 0.0)
    assert found.size >= np.count_nonzero(sides[:-1] * sides[1:] < 0)


@given(points(width=16), st.data())
def test_the_level_of_a_point_is_met_there(xy, data):
    x, y = xy[0], np.round(xy[1])  # whole numbers, so that no other point is level but for rounding
    place = data.draw(st.integers(0, x.size - 1))
    level = y[place]
    found = crossings(ShapePreserving(x, y), level, x)
    beside = y[max(place - 1, 0)], y[min(place + 1, x.size - 1)]
    within_a_level_stretch = 0 < place < x.size - 1 and beside == (level, level)
    assert (x[place] in found) != within_a_level_stretch


def test_crossings_of_a_sine():
    found = crossings(np.sin, 0.5, [0.0, 2 * math.pi])
    np.testing.assert_allclose(found, [math.pi / 6, 5 * math.pi / 6], rtol=1e-13)
    found = crossings(np.sin, 0.0, [1.0, 10.0])
    np.testing.assert_allclose(found, [math.pi, 2 * math.pi, 3 * math.pi], rtol=1e-12)


@pytest.mark.parametrize("knots", [[-1.0, 1.0], [-1.0, 0.3, 1.0], [-1.0, 0.0, 1.0], [0.0, 1.0], [-1.0, 0.0]])
def test_touching_counts_once(knots):
    for sign in (1.0, -1.0):
        found = crossings(lambda x, sign=sign: sign * x**2 + 3.0, 3.0, knots)
        np.testing.assert_allclose(found, [0.0], atol=1e-6)
        assert crossings(lambda x, sign=sign: sign * x**2 + 3.0, 3.0 - sign * 1e-6, knots).size == 0


@pytest.mark.parametrize("touch", [0.5037, 0.5 + 1 / 128])  # the second midway, where both neighbours are level
def test_touching_between_two_samples_counts_once(touch):
    found = crossings(lambda x: (x - touch) ** 2, 0.0, [0.0, 1.0])
    np.testing.assert_allclose(found, [touch], atol=1e-6)


def test_two_crossings_between_two_samples_are_both_found():
    # 1e-4 either side of a turning point that no sample meets
    found = crossings(lambda x: (x - 0.5037) ** 2 - 1e-8, 0.0, [0.0, 1.0])
    np.testing.assert_allclose(found, [0.5036, 0.5038], rtol=1e-9)


def test_crossing_at_the_ends_and_at_a_knot():
    curve = ShapePreserving(np.array([0.0, 1.0, 2.0]), np.array([1.0, 3.0, 2.0]))
    np.testing.assert_array_equal(crossings(curve, 1.0, curve.x), [0.0])
    np.testing.assert_array_equal(crossings(curve, 3.0, curve.x), [1.0])
    assert crossings(curve, 2.0, curve.x)[-1] == 2.0
    assert crossings(curve, 3.0001, curve.x).size == 0


def test_a_stretch_in_the_level_gives_its_ends():
    curve = ShapePreserving(np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 5.0, 5.0, 9.0]))
    np.testing.assert_array_equal(crossings(curve, 5.0, curve.x), [1.0, 2.0])
    np.testing.assert_array_equal(crossings(np.zeros_like, 0.0, [0.0, 1.0]), [0.0, 1.0])


def test_crossings_skip_where_there_is_no_curve():
    def gap(x):
        return np.where((x > 0.4) & (x < 0.6), math.nan, x - 0.5)

    assert crossings(gap, 0.0, [0.0, 1.0]).size == 0
    np.testing.assert_allclose(crossings(gap, 0.25, [0.0, 1.0]), [0.75])
    assert crossings(lambda x: np.full_like(x, math.nan), 0.0, [0.0, 1.0]).size == 0


@pytest.mark.parametrize("level", [math.nan, math.inf, -math.inf])
def test_no_level_no_crossing(level):
    assert crossings(np.sin, level, [0.0, 1.0]).size == 0


def test_knots_may_come_in_any_order_but_must_span_something():
    np.testing.assert_allclose(crossings(np.sin, 0.5, [1.0, 0.0, 1.0]), [math.pi / 6])
    for knots in ([], [1.0], [1.0, 1.0], [0.0, math.nan], [0.0, math.inf]):
        with pytest.raises(ValueError, match="at least two distinct finite knots"):
            crossings(np.sin, 0.5, knots)
