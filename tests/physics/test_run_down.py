"""Run-downs against closed forms, printed examples of textbooks, the law of energy and repeated noise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import simpson, solve_ivp

from certgen.physics.run_down import CoastingRun, fit_run_down

pytestmark = pytest.mark.slow

RPM = math.tau / 60.0
TIME = np.linspace(0.0, 8.0, 161)
START = 150.0


def exact(constant, viscous, windage, time=TIME):
    """Speed under -dw/dt = a + b w + c w^2 by a general-purpose solver, while it turns."""
    solved = solve_ivp(
        lambda _, w: [-(constant + viscous * w[0] + windage * w[0] ** 2)], (time[0], time[-1]), [START],
        t_eval=time, rtol=1e-11, atol=1e-11,
    )  # fmt: skip
    turning = solved.y[0] > 1.0
    return CoastingRun(time[turning], solved.y[0][turning])


@pytest.mark.parametrize(
    ("speed", "expected"),
    [
        (START - 9.0 * TIME, (9.0, 0.0, 0.0)),  # dry friction: a straight line
        (START * np.exp(-TIME / 5.0), (0.0, 0.2, 0.0)),  # viscous: an exponential
        (START / (1.0 + 0.002 * START * TIME), (0.0, 0.0, 0.002)),  # windage: a hyperbola
        ((START + 20.0) * np.exp(-TIME / 9.0) - 20.0, (20.0 / 9.0, 1.0 / 9.0, 0.0)),  # dry and viscous
    ],
)
def test_closed_forms_give_their_coefficients_and_no_others(speed, expected):
    turning = speed > 0.0
    fit = fit_run_down([CoastingRun(TIME[turning], speed[turning])])
    # The speed between rows is a cubic: 1e-4 of the coefficient.
    np.testing.assert_allclose(fit.coefficients, expected, rtol=2e-4, atol=1e-12)


def test_all_three_terms_are_told_apart_where_the_scatter_is_small():
    run = exact(3.0, 0.05, 0.0008)
    fit = fit_run_down([run])
    np.testing.assert_allclose(fit.coefficients, (3.0, 0.05, 0.0008), rtol=2e-2)
    assert fit.deceleration(100.0) == pytest.approx(3.0 + 5.0 + 8.0, rel=1e-4)


def theraja(scale=1.0):
    """Speeds 1525 to 1475 rpm in 25 s, and in 20 s with 1 kW more."""
    speed = np.array([1525.0, 1475.0]) * RPM * scale
    alone = CoastingRun(np.array([0.0, 25.0]), speed)
    return [alone, CoastingRun(np.array([0.0, 20.0]), speed, added_power=1000.0)]


def test_theraja_example_31_17():
    """B. L. and A. K. Theraja, A Textbook of Electrical Technology, vol. II, example 31.17, page 1107: J = 121.709.

    The book takes pi as 3.14. It divides the power by the mean speed; the integral over the fall differs from that by
    (dn / n)^2 / 12 = 9e-5. Stray loss 4000 W.
    """
    fit = fit_run_down(theraja(scale=3.14 / math.pi))
    middle = 1500.0 * RPM * 3.14 / math.pi
    inertia = 1.0 / fit.per_inertia
    assert inertia == pytest.approx(121.709, rel=1e-4)
    assert inertia * fit.deceleration(middle) * middle == pytest.approx(4000.0, rel=2e-4)
    assert math.isnan(fit.residual)


def test_bakshi_example_3_20():
    """U. A. and M. V. Bakshi, DC Machines and Synchronous Machines, example 3.20, page 43: J = 55.96, losses 920.45 W.

    1030 to 970 rpm: 40 s without field, 20 s with it, 9 s with 225 V times 10 A more. The integral over the fall differs
    from the book's mean speed by (dn / n)^2 / 12 = 3e-4.
    """
    speed = np.array([1030.0, 970.0]) * RPM
    with_field = CoastingRun(np.array([0.0, 20.0]), speed)
    loaded = CoastingRun(np.array([0.0, 9.0]), speed, added_power=225.0 * 10.0)
    inertia = 1.0 / fit_run_down([with_field, loaded]).per_inertia
    assert inertia == pytest.approx(55.96, rel=5e-4)
    middle = 1000.0 * RPM
    mechanical = inertia * fit_run_down([CoastingRun(np.array([0.0, 40.0]), speed)]).deceleration(middle) * middle
    assert mechanical == pytest.approx(920.45, rel=5e-4)
    all_losses = inertia * fit_run_down([with_field]).deceleration(middle) * middle
    assert all_losses - mechanical == pytest.approx(920.45, rel=5e-4)  # iron


@pytest.mark.parametrize(
    ("high", "low", "amperes", "alone", "loaded", "stray"),
    [(240.0, 220.0, 10.0, 25.0, 6.0, 726.316), (220.0, 190.0, 12.0, 30.0, 5.0, 492.0)],
)
def test_bakshi_examples_3_5_and_3_21(high, low, amperes, alone, loaded, stray):
    """The same book, pages 17 and 44: the speed follows the voltage, so the loss needs no speed and no inertia.

    The stray loss follows from the printed efficiencies 80.67 % and 82.5 %. Against the mean voltage the integral over
    the fall differs by (dV / V)^2 / 12, 6e-4 and 2e-3.
    """
    speed = np.array([high, low])
    power = 0.5 * (high + low) * amperes
    runs = [
        CoastingRun(np.array([0.0, alone]), speed),
        CoastingRun(np.array([0.0, loaded]), speed, added_power=power),
    ]
    fit = fit_run_down(runs)
    middle = speed.mean()
    found = fit.deceleration(middle) * middle / fit.per_inertia
    assert found == pytest.approx(stray, rel=1.1 * ((high - low) / middle) ** 2 / 12.0)


friction = st.tuples(st.floats(0.5, 10.0), st.floats(0.0, 0.1), st.floats(0.0, 0.001))


@given(friction)
def test_energy_lost_is_the_energy_the_mass_gave(terms):
    """Integral of T_f w dt over the run = J (w1^2 - w2^2) / 2, whatever terms were kept; both over J here."""
    run = exact(*terms)
    fit = fit_run_down([run])
    power = simpson([fit.deceleration(speed) * speed for speed in run.speed], x=run.time)
    assert power == pytest.approx(0.5 * (run.speed[0] ** 2 - run.speed[-1] ** 2), rel=2e-3)


@given(friction, st.floats(0.5, 20.0))
def test_a_known_torque_gives_the_inertia(terms, added):
    """Made with J = 1: the second run falls faster by the torque over J."""
    alone, braked = exact(*terms), exact(terms[0] + added, *terms[1:])
    runs = [alone, CoastingRun(braked.time, braked.speed, added_torque=added)]
    assert 1.0 / fit_run_down(runs).per_inertia == pytest.approx(1.0, rel=2e-3)


def test_uncertainty_covers_the_truth_of_noisy_runs():
    """Deceleration at 100 rad/s within two of its standard deviations in about 95 % of 200 repeats."""
    run, random = exact(3.0, 0.1, 0.0), np.random.default_rng(11)
    inside = []
    for _ in range(200):
        fit = fit_run_down([CoastingRun(run.time, run.speed + random.normal(0.0, 0.5, run.speed.size))])
        gradient = fit.gradient(100.0)
        off = abs(fit.deceleration(100.0) - 13.0)
        inside.append(off <= 2.0 * math.sqrt(gradient @ fit.covariance @ gradient))
    assert np.mean(inside) == pytest.approx(0.95, abs=0.05)


def test_noise_leaves_only_terms_that_the_speeds_carry():
    """Under dry friction alone, with noise, the other terms are kept about as seldom as their level says."""
    random = np.random.default_rng(4)
    kept = []
    for _ in range(100):
        fit = fit_run_down([CoastingRun(TIME, START - 9.0 * TIME + random.normal(0.0, 0.5, TIME.size))])
        kept.append(np.count_nonzero(fit.coefficients))
        assert fit.deceleration(100.0) == pytest.approx(9.0, abs=0.2)
    assert np.mean(np.array(kept) == 1) > 0.85


def test_a_rising_speed_is_no_run_down():
    assert fit_run_down([CoastingRun(TIME, START + TIME)]) is None


def test_a_gap_is_bridged_by_the_fit_and_not_by_the_rows_beside_it():
    """Sixty runs of known friction with three seconds of rows missing: errors over their standard uncertainties."""
    time, dry, viscous = np.arange(0.0, 12.0, 0.1), 3.0, 0.05
    speed = (START + dry / viscous) * np.exp(-time * viscous) - dry / viscous
    turning = np.flatnonzero(speed > 5.0)
    parts = []
    for seed in range(60):
        random = np.random.default_rng(seed)
        begin = int(random.integers(8, turning.size - 40))
        rows = np.setdiff1d(turning, np.arange(begin, begin + 30))
        fit = fit_run_down([CoastingRun(time[rows], speed[rows] + random.normal(0.0, 0.3, rows.size))])
        gradient = fit.gradient(100.0)
        standard = math.sqrt(gradient @ fit.covariance @ gradient)
        parts.append((fit.deceleration(100.0) - dry - viscous * 100.0) / standard)
    assert np.mean(np.abs(parts) <= 2.0) > 0.8
