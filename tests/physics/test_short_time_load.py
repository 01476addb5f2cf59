"""Short-time ratings of textbooks: losses go with the square of load, and losses are what heats."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.thermal import rise_after, time_constant_of_short_time, time_to_limit


def test_theraja_half_hour_rating():
    """Theraja, A Textbook of Electrical Technology III, example 45.9: 40 kW, 1.5 h: half-hour rating 75.13 kW."""
    assert time_to_limit(75.13**2, 40.0**2, 1.5) == pytest.approx(0.5, abs=0.0002)  # half the last digit of 75.13
    assert time_constant_of_short_time(75.13**2, 40.0**2, 0.5) == pytest.approx(1.5, abs=0.0005)


def test_gupta_quarter_hour_rating():
    """Gupta and Singhal, Fundamentals of Electric Drives and Control, example 4.9: 50 kW, 80 min: 120.9 kW for 15 min."""
    assert time_to_limit(120.9**2, 50.0**2, 80.0) == pytest.approx(15.0, abs=0.015)  # half the last digit of 120.9


def test_what_may_flow_for_ever():
    assert time_to_limit(600.0, 600.0, 100.0) == math.inf
    assert time_to_limit(1.0, 600.0, 100.0) == math.inf


@given(st.floats(1.01, 50.0), st.floats(1.0, 1e4))
def test_the_time_ends_where_the_rise_is_that_of_continuous_heat(times, constant):
    """The exponential of :mod:`certgen.physics.thermal` reaches the continuous rise just then; and there and back."""
    time = time_to_limit(times, 1.0, constant)
    assert rise_after(time, final=times, time_constant=constant) == pytest.approx(1.0, rel=1e-9)
    assert time_constant_of_short_time(times, 1.0, time) == pytest.approx(constant, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: time_to_limit(0.0, 1.0, 1.0), "heat must be above 0"),
        (lambda: time_to_limit(1.0, 0.0, 1.0), "continuous heat must be above 0"),
        (lambda: time_to_limit(2.0, 1.0, 0.0), "time constant must be above 0"),
        (lambda: time_constant_of_short_time(1.0, 1.0, 1.0), "less the continuous one must be above 0"),
        (lambda: time_constant_of_short_time(2.0, 1.0, 0.0), "time must be above 0"),
    ],
)
def test_impossible_parameters(call, said):
    with pytest.raises(ValueError, match=said):
        call()
