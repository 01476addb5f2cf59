"""Values that depend on errors to first order: published evaluations and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from certgen.physics.curves import straight_line as plain_line
from certgen.reduction.uncertainty.linear import (
    all_propagated,
    combined,
    derivatives,
    linear,
    nominal,
    propagated,
    single,
    straight_line,
    weighted,
)

READINGS = st.lists(st.floats(0.5, 50.0), min_size=4, max_size=8, unique=True)


def test_published_standard_resistor():
    """EA-4/02, example S3, a 10 kohm resistor: 10 000.178 ohm, u = 8.33 mohm.

    Model and result as a published evaluation of it prints them (10000.1780007665, 0.00832800405259282); the inputs
    from memory, which give that result.
    """
    rectangular, triangular = math.sqrt(3.0), math.sqrt(6.0)
    standard = ufloat(10_000.053, 0.0025)
    drift = ufloat(0.020, 0.010 / rectangular)
    warm_standard, warm_item = ufloat(0.0, 0.00275 / rectangular), ufloat(0.0, 0.0055 / rectangular)
    leakage = ufloat(1.0, 1.0e-6 / triangular)
    ratio = ufloat(1.0000105, 0.158e-6 / math.sqrt(5.0))
    found = single(
        lambda rs, rd, ts, rc, r, tx: (rs + rd + ts) * rc * r - tx,
        standard, drift, warm_standard, leakage, ratio, warm_item,
    )  # fmt: skip
    assert nominal(found) == pytest.approx(10_000.178, abs=0.0005)
    assert found.std_dev == pytest.approx(8.33e-3, abs=0.005e-3)


def test_impedance_of_the_guide_from_simultaneous_readings():
    """JCGM 100:2008, H.2: R = V cos(phi) / I is 127.732 ohm, u = 0.071 ohm, from five sets read together."""
    volts = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
    amperes = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
    phase = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
    # Each set is one error, shared by its three readings: a fifth of its distance from the mean, over sqrt(1 - 1/n).
    sets = [ufloat(0.0, 1.0) for _ in range(5)]
    by = 1.0 / math.sqrt(5.0 * 4.0)
    means = [
        linear(values.mean(), [(by * (one - values.mean()), error) for one, error in zip(values, sets, strict=True)])
        for values in (volts, amperes, phase)
    ]
    found = single(lambda v, i, p: v * np.cos(p) / i, *means)
    assert nominal(found) == pytest.approx(127.732, abs=0.0005)
    assert found.std_dev == pytest.approx(0.071, abs=0.0005)


@given(READINGS, st.floats(0.001, 0.1))
def test_a_shared_gain_leaves_a_ratio_alone(readings, size):
    gain = ufloat(0.0, size)
    values = [linear(one, [(one, gain)]) for one in readings]
    ratios = propagated(lambda top, bottom: top / bottom, [values[1:], values[:-1]])
    for ratio in ratios:
        assert getattr(ratio, "std_dev", 0.0) == pytest.approx(0.0, abs=1e-6 * abs(nominal(ratio)))


@given(READINGS, st.floats(-5.0, 5.0), st.floats(-20.0, 20.0), st.integers(0, 3))
def test_a_line_moves_as_when_fitted_anew(x, slope, intercept, moved):
    scatter = 0.1 * np.sin(np.arange(len(x)))
    y = intercept + slope * np.array(x) + scatter
    by_x, by_y = ufloat(0.0, 1.0), ufloat(0.0, 1.0)
    xs, ys = list(x), y.tolist()
    xs[moved], ys[moved] = linear(x[moved], [(1.0, by_x)]), linear(y[moved], [(1.0, by_y)])
    found = dict(zip(("slope", "intercept"), straight_line(xs, ys), strict=True))
    spread = float(np.ptp(x))
    step = 1e-5 * spread
    for name, value in found.items():
        assert nominal(value) == pytest.approx(getattr(plain_line(x, y), name), rel=1e-9, abs=1e-9)
        for variable, axis in ((by_x, np.array(x)), (by_y, y)):
            sides = []
            for sign in (1.0, -1.0):
                shifted_axis = axis.copy()
                shifted_axis[moved] += sign * step
                pair = (shifted_axis, y) if variable is by_x else (np.array(x), shifted_axis)
                sides.append(getattr(plain_line(*pair), name))
            expected = (sides[0] - sides[1]) / (2.0 * step)
            assert derivatives(value).get(variable, 0.0) == pytest.approx(
                expected, rel=1e-3, abs=1e-3 * (1 + abs(slope))
            )


def test_what_is_not_known_stays_so():
    assert single(lambda one: one, None) is None
    assert propagated(lambda one: one, [[None, 2.0]]) == [None, 2.0]
    assert weighted([1.0, None], np.array([0.5, 0.5])) is None
    assert weighted([1.0, None], np.array([1.0, 0.0])) == 1.0
    assert math.isnan(nominal(None))


def test_a_row_moves_with_its_own_errors_only():
    first, second = ufloat(1.0, 0.1), ufloat(2.0, 0.2)
    found = all_propagated(lambda one: {"twice": 2.0 * one, "square": one**2}, [[first, second]])
    assert derivatives(found["square"][1]) == pytest.approx({second: 4.0})
    assert found["twice"][0].std_dev == pytest.approx(0.2)


def test_published_thermal_expansion_coefficient():
    """NIST TN 1900, example E13: (L1 - L0) / (L0 (T1 - T0)) is 1.7266e-5 /K, u = 1.76e-6 /K.

    Inputs and results as the tests of an uncertainty library of a national laboratory (suncal) carry them.
    """
    cold_length, cold = ufloat(1.4999, 0.0001), ufloat(288.15, 0.02)
    warm_length, warm = ufloat(1.5021, 0.0002), ufloat(373.10, 0.05)
    found = single(lambda l0, l1, t0, t1: (l1 - l0) / (l0 * (t1 - t0)), cold_length, warm_length, cold, warm)
    assert nominal(found) == pytest.approx(1.7266e-5, abs=0.00005e-5)
    assert found.std_dev == pytest.approx(1.76e-6, abs=0.005e-6)


@given(READINGS, st.integers(1, 4))
def test_values_combined_are_those_made_one_by_one(readings, count):
    errors = [ufloat(0.0, 0.1) for _ in range(3)]
    others = [linear(one, [(one, errors[row % 3]), (1.0, errors[0])]) for row, one in enumerate(readings)] + [2.0]
    slopes = np.sin(np.arange(count * len(others))).reshape(count, len(others))
    slopes[0, 0] = math.nan  # a slope that is not known tells nothing
    for value, row in zip(combined([1.0] * count, slopes, others), slopes, strict=True):
        alone = linear(1.0, zip(row.tolist(), others, strict=True))
        assert nominal(value) == 1.0
        assert derivatives(value) == pytest.approx(derivatives(alone), rel=1e-9, abs=1e-12)
