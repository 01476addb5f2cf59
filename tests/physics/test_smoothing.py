"""The low-pass of sweeps: its frequency response measured against the one stated, in any spacing of the samples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from certgen.physics.smoothing import WIDTH_OF_BANDWIDTH, averaged, longest_step, smooth, width_of

pytestmark = pytest.mark.slow

BANDWIDTH = 2.0
EVEN = np.arange(0.0, 10.0, 0.01)
MIDDLE = np.array([5.0])


def passed(time, frequency):
    """What becomes of a vibration: the complex factors on its value and on its rate of change."""
    phase = 2.0 * math.pi * frequency
    real, imaginary = (smooth(time, part(phase * time), MIDDLE, BANDWIDTH) for part in (np.cos, np.sin))
    there = np.exp(1j * phase * MIDDLE[0])
    value = (real.value[0] + 1j * imaginary.value[0]) / there
    return value, (real.slope[0] + 1j * imaginary.slope[0]) / there / (1j * phase)


def kernel_response(frequency):
    """Transform of the equivalent kernel (3 - u^2) phi(u) / 2 of Fan and Gijbels (1996), by numerical quadrature."""
    turn = 2.0 * math.pi * frequency * width_of(BANDWIDTH)

    def integrand(u):
        return 0.5 * (3.0 - u**2) * math.exp(-0.5 * u**2) / math.sqrt(2.0 * math.pi) * math.cos(turn * u)

    return quad(integrand, -12.0, 12.0)[0]


def test_the_constant_is_the_width_at_which_the_response_is_minus_3_db():
    y = brentq(lambda y: (1.0 + y) * math.exp(-y) - 1.0 / math.sqrt(2.0), 0.1, 5.0)
    assert pytest.approx(math.sqrt(2.0 * y) / (2.0 * math.pi), abs=5e-8) == WIDTH_OF_BANDWIDTH


def test_the_bandwidth_stated_is_the_bandwidth_measured():
    value, rate = passed(EVEN, BANDWIDTH)
    assert abs(value) == pytest.approx(1.0 / math.sqrt(2.0), abs=2e-4)
    assert abs(rate) == pytest.approx(1.0 / math.sqrt(2.0), abs=2e-4)


@pytest.mark.parametrize("part", [0.1, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0])
def test_value_and_rate_have_the_response_of_the_published_kernel_and_no_phase(part):
    expected = kernel_response(part * BANDWIDTH)
    for found in passed(EVEN, part * BANDWIDTH):
        assert found.real == pytest.approx(expected, abs=2e-4)
        assert abs(found.imag) < 1e-6


@pytest.mark.parametrize("part", [0.1, 0.5, 1.0])
def test_uneven_samples_are_passed_alike(part):
    """Samples at random times, 100 a second in the mean: the response scatters about the stated one."""
    random = np.random.default_rng(5)
    found = []
    for _ in range(40):
        found.append(passed(np.sort(random.uniform(0.0, 10.0, 1000)), part * BANDWIDTH))
    value, rate = np.mean(found, axis=0)
    assert value == pytest.approx(kernel_response(part * BANDWIDTH), abs=0.02)
    assert rate == pytest.approx(kernel_response(part * BANDWIDTH), abs=0.05)


@given(
    st.lists(st.floats(-5.0, 5.0), min_size=3, max_size=3),
    st.integers(0, 10**6),
)
def test_a_parabola_passes_unchanged_in_any_spacing(coefficients, seed):
    time = np.sort(np.random.default_rng(seed).uniform(0.0, 4.0, 600))
    at = np.linspace(1.0, 3.0, 5)
    found = smooth(time, np.polyval(coefficients, time), at, BANDWIDTH)
    np.testing.assert_allclose(found.value, np.polyval(coefficients, at), atol=1e-8)
    np.testing.assert_allclose(found.slope, np.polyval(np.polyder(coefficients), at), atol=1e-6)


def test_the_rate_is_the_derivative_of_the_value():
    random = np.random.default_rng(2)
    time = np.sort(random.uniform(0.0, 10.0, 1000))
    samples = random.normal(0.0, 1.0, time.size)
    step = 1e-4
    around = smooth(time, samples, [5.0 - step, 5.0, 5.0 + step], BANDWIDTH)
    assert around.slope[1] == pytest.approx((around.value[2] - around.value[0]) / (2.0 * step), rel=1e-3)


def test_an_accelerating_mass_balances_whatever_the_samples():
    """T = -J dw/dt sampled together: after the filter the sum of both is nothing, so torque and rate are in step."""
    time = np.sort(np.random.default_rng(3).uniform(0.0, 10.0, 4000))
    speed, rate = np.sin(2.0 * math.pi * 1.5 * time), 2.0 * math.pi * 1.5 * np.cos(2.0 * math.pi * 1.5 * time)
    at = np.linspace(4.0, 6.0, 21)
    left = smooth(time, -rate, at, BANDWIDTH).value + smooth(time, speed, at, BANDWIDTH).slope
    assert np.abs(left).max() < 0.15 * 2.0 * math.pi * 1.5 * 0.5


def test_deviations_are_those_of_repeated_noise():
    random = np.random.default_rng(7)
    found = [smooth(EVEN[:400], random.normal(0.0, 1.0, 400), [2.0], BANDWIDTH) for _ in range(400)]
    for name in ("value", "slope"):
        spread = np.std([getattr(one, name)[0] for one in found])
        stated = np.sqrt(np.mean([getattr(one, f"{name}_deviation")[0] ** 2 for one in found]))
        assert spread == pytest.approx(stated, rel=0.1)  # 400 repeats: a standard deviation to 3.5 %


def test_ends_gaps_and_blank_cells_give_nothing_or_what_is_left():
    at = np.array([0.1, 3.0, 5.0, 9.95])
    gap = EVEN[(EVEN < 4.8) | (EVEN > 5.2)]
    found = smooth(gap, gap, at, BANDWIDTH)
    np.testing.assert_array_equal(np.isfinite(found.value), [False, True, False, False])
    blank = np.where(np.arange(EVEN.size) % 3 == 0, np.nan, EVEN)
    assert smooth(EVEN, blank, MIDDLE, BANDWIDTH).value[0] == pytest.approx(5.0)


def test_samples_too_far_apart_for_the_bandwidth_give_nothing():
    step = longest_step(BANDWIDTH)
    for spacing, known in ((0.99 * step, True), (1.01 * step, False)):
        time = np.arange(0.0, 10.0, spacing)
        assert np.isfinite(smooth(time, time, MIDDLE, BANDWIDTH).value[0]) == known


def test_no_bandwidth_is_refused():
    with pytest.raises(ValueError, match="bandwidth must be above 0"):
        smooth(EVEN, EVEN, MIDDLE, 0.0)


def test_averaging_dense_samples_first_changes_nothing_at_the_bandwidth():
    time = np.arange(0.0, 4.0, 0.0005)
    columns = {"time": time, "wave": np.sin(2.0 * math.pi * BANDWIDTH * time), "blank": np.full(time.size, np.nan)}
    short = averaged(time, columns, BANDWIDTH)
    assert short["time"].size < 0.1 * time.size
    at = np.linspace(1.0, 3.0, 9)
    before = smooth(time, columns["wave"], at, BANDWIDTH)
    after = smooth(short["time"], short["wave"], at, BANDWIDTH)
    np.testing.assert_allclose(after.value, before.value, atol=3e-4)
    np.testing.assert_allclose(after.slope, before.slope, atol=3e-4 * 2.0 * math.pi * BANDWIDTH)
    assert np.isnan(short["blank"]).all()


def test_averaging_leaves_the_deviation_of_noise_as_it_is():
    time = np.arange(0.0, 4.0, 0.0005)
    noise = np.random.default_rng(9).normal(0.0, 1.0, time.size)
    short = averaged(time, {"time": time, "noise": noise}, BANDWIDTH)
    before = smooth(time, noise, np.linspace(1.0, 3.0, 9), BANDWIDTH)
    after = smooth(short["time"], short["noise"], np.linspace(1.0, 3.0, 9), BANDWIDTH)
    np.testing.assert_allclose(after.value, before.value, atol=0.1 * before.value_deviation[0])
    np.testing.assert_allclose(after.value_deviation, before.value_deviation, rtol=0.15)


def test_samples_that_are_not_dense_stay_as_they_are():
    assert averaged(EVEN, {"time": EVEN}, BANDWIDTH)["time"].size == EVEN.size
