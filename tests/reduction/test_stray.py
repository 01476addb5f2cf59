from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from certgen.reduction.loss_procedure import fit_stray

TORQUE = np.array([12.5, 11.5, 10.0, 7.5, 5.0, 2.5])
ROWS = np.arange(6)


@given(st.floats(0.01, 10.0), st.floats(-50.0, 50.0))
def test_a_line_comes_back(slope, intercept):
    fit = fit_stray(TORQUE, slope * TORQUE**2 + intercept, ROWS, least_correlation=0.95)
    assert fit.accepted
    assert fit.removed is None
    assert fit.line.slope == pytest.approx(slope, rel=1e-6)
    assert fit.line.intercept == pytest.approx(intercept, rel=1e-6, abs=1e-6)


@given(st.lists(st.floats(0.0, 50.0), min_size=6, max_size=6, unique=True))
def test_correlation_and_line_agree_with_scipy(residual):
    found = fit_stray(TORQUE, np.array(residual), ROWS, least_correlation=-1.0)
    expected = stats.linregress(TORQUE**2, residual)
    assert found.line.slope == pytest.approx(expected.slope, rel=1e-9, abs=1e-9)
    assert found.line.correlation == pytest.approx(expected.rvalue, rel=1e-6, abs=1e-6)


def test_one_bad_point_is_left_out_once():
    residual = 0.2 * TORQUE**2
    residual[2] += 15.0
    fit = fit_stray(TORQUE, residual, ROWS, least_correlation=0.95)
    assert fit.removed == 2
    assert fit.rows == (0, 1, 3, 4, 5)
    assert fit.accepted
    assert fit.line.slope == pytest.approx(0.2)
    assert fit.second_correlation == pytest.approx(1.0)


def test_two_bad_points_are_refused_and_the_first_line_stands():
    residual = 0.2 * TORQUE**2
    residual[[1, 5]] += np.array([-25.0, 30.0])
    fit = fit_stray(TORQUE, residual, ROWS, least_correlation=0.95)
    assert not fit.accepted
    assert fit.removed is None
    assert fit.rows == (0, 1, 2, 3, 4, 5)
    assert fit.second_correlation < 0.95


def test_each_rule_judges_by_its_own_limit():
    """IEEE Std 112 asks 0.90, IEC 60034-2-1 0.95; in between one leaves a point out that the other keeps."""
    residual = 0.2 * TORQUE**2 + np.array([0.0, 5.0, -5.0, 4.0, -4.0, 4.5])
    loose = fit_stray(TORQUE, residual, ROWS, least_correlation=0.90)
    assert 0.90 <= loose.line.correlation < 0.95
    assert loose.accepted
    assert loose.removed is None
    strict = fit_stray(TORQUE, residual, ROWS, least_correlation=0.95)
    assert strict.removed is not None or not strict.accepted


def test_a_falling_loss_is_never_accepted():
    fit = fit_stray(TORQUE, 40.0 - 0.2 * TORQUE**2, ROWS, least_correlation=0.90)
    assert fit.line.correlation == pytest.approx(-1.0)
    assert not fit.accepted


def test_too_few_points():
    with pytest.raises(ValueError, match="needs three load points, got 2"):
        fit_stray(TORQUE, TORQUE, np.array([0, 1]), least_correlation=0.9)
