"""Heating and cooling against worked examples of textbooks, and the fits against scipy.

The figures of the books are those of the textbook companions (FOSSEE), which recompute the examples.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from certgen.physics.thermal import (
    final_of_equal_steps,
    fit_exponential,
    resistance_of_rise,
    rise_after,
    rise_at_switch_off,
    rise_by_resistance,
    time_constant_of_equal_steps,
)

pytestmark = pytest.mark.slow

MINUTE, HOUR = 60.0, 3600.0
ICE = 273.15
COLD = {"cold": 3.42, "cold_temperature": ICE + 20.0, "ambient": ICE + 20.0}


def test_winding_rise_by_resistance(as_printed):
    """D. C. Kulshreshtha, Basic Electrical Engineering, example 2.18, page 32: alpha at 0 degC is 0.00426 / K."""
    assert rise_by_resistance(4.22, **COLD, constant=1.0 / 0.00426) == as_printed("59.59")


def test_constants_of_the_standards_differ_by_a_sixth_of_a_kelvin():
    """k 234.5 (IEEE) against 235 (IEC): by hand (4.22 / 3.42 - 1) times half a kelvin."""
    rises = [rise_by_resistance(4.22, **COLD, constant=k) for k in (234.5, 235.0)]
    assert rises[1] - rises[0] == pytest.approx((4.22 / 3.42 - 1.0) * 0.5)


def test_rise_counts_from_the_air_at_the_hot_reading():
    """t2 - ta, not t2 - t1: 3 K warmer air, 3 K less rise."""
    warmer = {**COLD, "ambient": COLD["ambient"] + 3.0}
    assert rise_by_resistance(4.22, **COLD, constant=235.0) - rise_by_resistance(
        4.22, **warmer, constant=235.0
    ) == pytest.approx(3.0)


@given(st.floats(1.0, 150.0), st.floats(0.01, 1e3), st.floats(-10.0, 40.0), st.floats(-10.0, 40.0))
def test_resistance_of_a_rise_is_the_inverse(rise, cold, at, ambient):
    known = {"cold": cold, "cold_temperature": ICE + at, "ambient": ICE + ambient, "constant": 235.0}
    assert rise_by_resistance(resistance_of_rise(rise, **known), **known) == pytest.approx(rise, abs=1e-9)


def test_final_rise_and_time_constant_of_two_readings(as_printed):
    """B. R. Gupta and V. Singhal, Fundamentals of Electric Drives and Control, example 4.1, page 49."""
    assert final_of_equal_steps(0.0, 30.0, 45.0) == as_printed("60.0")
    assert time_constant_of_equal_steps(0.0, 30.0, 45.0, interval=40.0 * MINUTE) / MINUTE == as_printed("57.71")


def test_heating_and_cooling_with_an_ambient(as_printed):
    """Gupta and Singhal, example 4.3, page 51; ambient 30 degC."""
    final = final_of_equal_steps(0.0, 24.0, 37.0)
    assert 30.0 + final == as_printed("82.36")
    assert time_constant_of_equal_steps(0.0, 24.0, 37.0, interval=HOUR) / HOUR == as_printed("1.63")
    cooled = rise_after(2.7 * HOUR, final=0.0, time_constant=1.63 * HOUR, start=final)
    assert 30.0 + cooled == as_printed("40")


def greatest_of_a_cycle(final, heating, cooling, on, off):
    rise = 0.0
    for _ in range(200):
        top = rise_after(on, final=final, time_constant=heating, start=rise)
        rise = rise_after(off, final=0.0, time_constant=cooling, start=top)
    return top


@pytest.mark.parametrize(
    ("cycle", "printed"),
    [
        ((50.0, 110.0, 150.0, 30.0, 45.0), "27.37"),  # example 4.4, page 52
        ((55.0, 100.0, 140.0, 15.0, 25.0), "27.36"),  # example 4.7, page 61
    ],
)
def test_greatest_rise_of_a_repeated_cycle(as_printed, cycle, printed):
    """Gupta and Singhal, chapter 4; the cycle is repeated until it closes."""
    assert greatest_of_a_cycle(*cycle) == as_printed(printed)


@pytest.mark.parametrize(("rise", "rate"), [(20.0, "0.08"), (28.0, "0.06")])
def test_rates_of_rise(as_printed, rise, rate):
    """Gupta and Singhal, example 4.5, page 52: final rise 52.0 K and time constant 400.0 min give both rates."""
    step = 1e-3
    grown = rise_after(step, final=52.0, time_constant=400.0, start=rise) - rise
    assert grown / step == as_printed(rate)


def test_short_time_rating_with_constant_losses():
    """Gupta and Singhal, example 4.8, page 62, is wrong in print: it prints 323.8 kW, having lost a term.

    By the usual expression a 100 kW motor whose constant loss is 0.9 of the variable one bears 309.5 kW for 20 min.
    """

    def part_of_rated_rise(power):
        return rise_after(20.0, final=(0.9 + (power / 100.0) ** 2) / 1.9, time_constant=100.0)

    assert part_of_rated_rise(309.542) == pytest.approx(1.0, abs=1e-5)
    assert part_of_rated_rise(323.8) > 1.08


@pytest.mark.parametrize(
    ("rated", "printed", "digit", "time", "tau"),
    [
        (50.0, 120.9, 0.05, 15.0, 80.0),  # Gupta and Singhal, example 4.9, page 62
        (40.0, 75.13, 0.005, 0.5, 1.5),  # B. L. and A. K. Theraja, vol. III, example 45.9, page 1807
    ],
)
def test_short_time_rating(rated, printed, digit, time, tau):
    """At the printed rating, losses with its square, the rise just reaches that of the rated load."""
    reached = rise_after(time, final=(printed / rated) ** 2, time_constant=tau)
    assert reached == pytest.approx(1.0, rel=2.0 * digit / printed)


def test_periodic_rating():
    """Gupta and Singhal, example 4.9, page 62: 50 kW continuous is 67.2 kW for 15 min on, 20 min off."""
    top = greatest_of_a_cycle((67.2 / 50.0) ** 2, 80.0, 110.0, 15.0, 20.0)
    assert top == pytest.approx(1.0, rel=2.0 * 0.05 / 67.2)


def test_rise_after_heating_then_cooling(as_printed):
    """B. L. and A. K. Theraja, A Textbook of Electrical Technology, vol. III, example 45.11, page 1808."""
    hot = rise_after(0.5, final=100.0, time_constant=1.0)
    assert rise_after(0.2, final=0.0, time_constant=2.0, start=hot) == as_printed("35.6")


@pytest.mark.parametrize("tau", [0.3, 1.0, 5.0])
def test_overload_for_a_greater_rise(as_printed, tau):
    """Theraja, example 45.12, page 1808: 30 K after an hour at 20 kW, 50 K at 25.82 kW, whatever the time constant."""
    final = 30.0 / (1.0 - math.exp(-1.0 / tau))
    assert rise_after(1.0, final=final * (25.82 / 20.0) ** 2, time_constant=tau) == as_printed("50.0")


def test_final_rise_and_cooling_of_a_transformer(as_printed):
    """Theraja, example 45.13, page 1809: 25 K and 37.5 K after one and two hours; 50 K falls to 10 K in 1.5 h."""
    assert final_of_equal_steps(0.0, 25.0, 37.5) == as_printed("50.0")
    # the printed time constant has two digits, which leave the 10 K uncertain by 0.1 K
    assert rise_after(1.5, final=0.0, time_constant=0.93, start=50.0) == pytest.approx(10.0, abs=0.1)


def test_final_rise_time_constant_and_overload(as_printed):
    """Theraja, example 45.15, page 1809."""
    assert final_of_equal_steps(0.0, 15.0, 25.0) == as_printed("45.0")
    tau = time_constant_of_equal_steps(0.0, 15.0, 25.0, interval=1.0)
    assert tau == as_printed("2.47")
    assert rise_after(1.0, final=90.0, time_constant=tau) == as_printed("30.0")


def test_steps_that_do_not_slow_have_no_final_rise():
    assert math.isnan(final_of_equal_steps(0.0, 10.0, 20.0))
    assert math.isnan(final_of_equal_steps(0.0, 10.0, 25.0))
    assert math.isnan(time_constant_of_equal_steps(0.0, 10.0, 9.0, interval=60.0))


def test_a_body_without_time_constant_is_refused():
    with pytest.raises(ValueError, match="time constant must be above 0"):
        rise_after(1.0, final=10.0, time_constant=0.0)
    with pytest.raises(ValueError, match="time must not be below 0"):
        rise_after(-1.0, final=10.0, time_constant=1.0)


#: A frame at rated load, read each quarter of an hour to a tenth of a kelvin: invented.
QUARTERS = np.arange(0.0, 151.0, 15.0) * MINUTE
READ = np.array([0.1, 13.9, 22.7, 28.2, 31.5, 33.9, 35.6, 36.5, 37.3, 37.7, 38.0])


def law(time, start, final, tau):
    return final + (start - final) * np.exp(-time / tau)


@pytest.mark.parametrize("noise", [0.0, 0.1, 0.5])
def test_fit_agrees_with_the_least_squares_of_scipy(noise):
    scatter = np.random.default_rng(20).normal(0.0, noise, QUARTERS.size)
    rises = READ + scatter
    wanted, covariance = curve_fit(law, QUARTERS, rises, p0=(0.0, 40.0, 1800.0), ftol=1e-14, xtol=1e-14, gtol=1e-14)
    found = fit_exponential(QUARTERS, rises)
    assert (found.start, found.final, found.time_constant) == pytest.approx(tuple(wanted), rel=1e-5, abs=1e-5)
    # scipy takes the slopes of its covariance by finite differences
    assert (found.u_final, found.u_time_constant) == pytest.approx(tuple(np.sqrt(np.diag(covariance))[1:]), rel=2e-3)


def test_a_later_zero_of_time_changes_nothing_but_the_clock():
    early, late = fit_exponential(QUARTERS, READ), fit_exponential(QUARTERS + 7777.0, READ)
    assert late.final == pytest.approx(early.final, rel=1e-9)
    assert late.time_constant == pytest.approx(early.time_constant, rel=1e-6)


@given(
    start=st.floats(-5.0, 30.0),
    climb=st.floats(5.0, 100.0),
    tau=st.floats(300.0, 7200.0),
    lengths=st.floats(1.2, 6.0),
    count=st.integers(5, 30),
)
def test_fit_recovers_the_constants_behind_exact_readings(start, climb, tau, lengths, count):
    time = np.linspace(0.0, lengths * tau, count)
    found = fit_exponential(time, law(time, start, start + climb, tau))
    assert found.final == pytest.approx(start + climb, rel=1e-4)
    assert found.time_constant == pytest.approx(tau, rel=1e-4)


@given(st.floats(5.0, 80.0), st.floats(600.0, 7200.0))
def test_fit_follows_cooling_too(hot, tau):
    time = np.linspace(0.0, 3.0 * tau, 12)
    found = fit_exponential(time, law(time, hot, 0.0, tau))
    assert found.final == pytest.approx(0.0, abs=1e-3)
    assert found.time_constant == pytest.approx(tau, rel=1e-4)


@pytest.mark.parametrize("rises", [[0.0, 5.0, 10.0, 15.0, 20.0], [3.0] * 5, [0.0, 9.0, 9.0, 9.0, 9.0]])
def test_a_line_a_constant_and_a_step_have_no_bend(rises):
    assert math.isnan(fit_exponential(np.arange(5.0) * 600.0, rises).time_constant)


@pytest.mark.parametrize(
    ("time", "rise"),
    [
        ([0.0, 1.0, 2.0], [0.0, 1.0, 1.5]),
        ([0.0, 1.0, 1.0, 2.0], [0.0, 1.0, 1.0, 1.5]),
        ([0.0, 1.0, 2.0, 3.0], [0.0, 1.0]),
    ],
)
def test_readings_no_exponential_can_be_fitted_to(time, rise):
    with pytest.raises(ValueError, match="an exponential needs"):
        fit_exponential(time, rise)


@given(st.floats(10.0, 120.0), st.floats(120.0, 3600.0), st.floats(5.0, 60.0))
def test_a_winding_that_cools_by_the_law_is_carried_back_to_its_rise(rise, tau, first):
    time = first + np.arange(5.0) * 30.0
    found = rise_at_switch_off(time, rise * np.exp(-time / tau))
    assert found.rise == pytest.approx(rise, rel=1e-9)
    assert found.time_constant == pytest.approx(tau, rel=1e-9)
    assert found.u_rise == pytest.approx(0.0, abs=1e-6)


def test_carrying_back_agrees_with_the_line_of_numpy():
    """numpy.polyfit with its covariance, over the logarithm of scattered readings (invented)."""
    time, rises = np.array([30.0, 60.0, 90.0, 120.0, 150.0]), np.array([60.2, 57.9, 56.1, 53.8, 52.3])
    coefficients, covariance = np.polyfit(time, np.log(rises), 1, cov=True)
    found = rise_at_switch_off(time, rises)
    assert found.rise == pytest.approx(math.exp(coefficients[1]))
    assert found.u_rise == pytest.approx(found.rise * math.sqrt(covariance[1, 1]))


@pytest.mark.parametrize("rises", [[50.0, 51.0, 52.0], [5.0, 0.0, -1.0], [50.0, 50.0, 50.0]])
def test_readings_that_do_not_fall_towards_the_air_are_not_carried_back(rises):
    assert math.isnan(rise_at_switch_off([10.0, 20.0, 30.0], rises).rise)
