"""Parameters that are refused, and quotients without a value."""

from __future__ import annotations

import math

import numpy as np
import pytest

from certgen.physics.domain import plain, quotient, require_fraction, require_not_negative, require_positive


@pytest.mark.parametrize("value", [0.0, -1.0, np.array([1.0, -2.0]), -math.inf])
def test_a_parameter_that_must_be_positive_is_refused_otherwise(value):
    with pytest.raises(ValueError, match=r"arm length must be above 0, got -?[012i]"):
        require_positive(value, "arm length")


def test_the_message_names_the_first_value_refused():
    with pytest.raises(ValueError, match=r"drive ratio must be above 0, got -2$"):
        require_positive(np.array([1.0, -2.0, -3.0]), "drive ratio")


@pytest.mark.parametrize("value", [-1e-9, np.array([0.0, -1.0])])
def test_a_parameter_below_zero_is_refused(value):
    with pytest.raises(ValueError, match="rope diameter must not be below 0"):
        require_not_negative(value, "rope diameter")


@pytest.mark.parametrize("value", [0.0, -0.5, 1.0001, np.array([0.9, 1.2])])
def test_a_share_outside_zero_to_one_is_refused(value):
    with pytest.raises(ValueError, match="drive efficiency must be above 0 and at most 1, got"):
        require_fraction(value, "drive efficiency")


@pytest.mark.parametrize("value", [math.nan, np.array([math.nan, 0.5]), 1.0])
def test_nan_and_values_inside_pass(value):
    require_positive(value, "x")
    require_not_negative(value, "x")
    require_fraction(value, "x")


def test_zero_is_not_negative():
    require_not_negative(0.0, "x")


def test_quotient_is_nan_only_where_it_is_not_defined():
    below = np.array([2.0, 0.0, math.nan])
    result = quotient(6.0, below, defined=below > 0.0)
    np.testing.assert_array_equal(result, [3.0, math.nan, math.nan])


def test_quotient_of_floats_is_a_float():
    assert type(quotient(6.0, 2.0, defined=True)) is float
    assert math.isnan(quotient(6.0, 0.0, defined=False))


def test_quotient_broadcasts():
    result = quotient(np.array([[1.0], [2.0]]), np.array([1.0, 2.0]), defined=True)
    np.testing.assert_array_equal(result, [[1.0, 0.5], [2.0, 1.0]])


def test_plain_turns_only_an_array_without_dimensions_into_a_float():
    values = np.array([1.0])
    assert type(plain(np.asarray(2.5))) is float
    assert plain(values) is values
