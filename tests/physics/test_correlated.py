"""Means of correlated samples: an AR(1) process has a known answer, white scatter that of the GUM."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import correlate, lfilter

from certgen.physics.samples import autocorrelation, correlation_time, sample_mean
from certgen.physics.uncertainty import coverage_factor


def first_order(seed: int, count: int, phi: float) -> np.ndarray:
    """A stationary AR(1) process of standard deviation 1."""
    rng = np.random.default_rng(seed)
    return lfilter([1.0], [1.0, -phi], rng.normal(0.0, math.sqrt(1.0 - phi**2), count + 500))[500:]


def test_autocorrelation_is_that_of_a_general_library():
    samples = first_order(1, 200, 0.7)
    deviations = samples - samples.mean()
    whole = correlate(deviations, deviations, mode="full")[199:]
    assert autocorrelation(samples) == pytest.approx(whole / whole[0], abs=1e-12)


@pytest.mark.parametrize("phi", [0.0, 0.3, 0.6, 0.9])
def test_effective_number_of_a_first_order_process(phi):
    """G. E. P. Box and G. M. Jenkins, Time Series Analysis (from memory): rho_k = phi^k, so that the variance of the
    mean is s^2/n (1 + phi)/(1 - phi), and n samples are worth n (1 - phi)/(1 + phi)."""
    times = [correlation_time(first_order(seed, 4000, phi)) for seed in range(40)]
    assert np.mean(times) == pytest.approx((1.0 + phi) / (1.0 - phi), rel=0.08)


def test_blocks_change_nothing():
    """Twenty thousand samples are averaged in blocks of ten first."""
    numbers = [sample_mean(first_order(seed, 20_000, 0.8)).effective_number / 20_000 for seed in range(30)]
    assert np.mean(numbers) == pytest.approx(0.2 / 1.8, rel=0.08)


def test_white_samples_are_worth_what_the_gum_says():
    """JCGM 100:2008, 4.2.3: s / sqrt(n); a few lags look correlated by chance and cost a part of the samples."""
    samples = np.random.default_rng(4).normal(5.0, 0.3, 1000)
    found = sample_mean(samples)
    assert found.value == pytest.approx(samples.mean())
    assert found.standard_deviation == pytest.approx(samples.std(ddof=1))
    assert found.standard_uncertainty == pytest.approx(0.3 / math.sqrt(1000), rel=0.15)
    assert found.degrees_of_freedom == found.effective_number - 1.0


@pytest.mark.parametrize(("phi", "count", "least"), [(0.0, 60, 0.94), (0.5, 150, 0.93), (0.8, 150, 0.90)])
def test_the_mean_lies_within_its_uncertainty_as_often_as_it_should(phi, count, least):
    """95.45 % where samples are many against their correlation; Student's factor cannot make up for what 150 samples,
    worth 17, do not tell of their own correlation."""
    inside = []
    for seed in range(600):
        found = sample_mean(first_order(seed, count, phi))
        factor = coverage_factor(found.degrees_of_freedom)
        inside.append(abs(found.value) <= factor * found.standard_uncertainty)
    assert least <= np.mean(inside) <= 0.985


def test_a_straight_drift_does_not_make_the_mean_unsure():
    rng = np.random.default_rng(2)
    scatter = rng.normal(0.0, 0.1, 200)
    still, drifting = sample_mean(scatter), sample_mean(scatter + np.linspace(-2.0, 2.0, 200))
    assert drifting.value == pytest.approx(still.value, abs=1e-12)
    assert drifting.standard_deviation == pytest.approx(still.standard_deviation, rel=0.02)
    assert drifting.standard_uncertainty < 2.0 * still.standard_uncertainty


def test_equal_samples_have_no_scatter():
    found = sample_mean(np.full(10, 3.0))
    assert (found.value, found.standard_deviation, found.standard_uncertainty) == (3.0, 0.0, 0.0)


def test_weights_count_samples_by_the_time_they_stand_for():
    """One sample a second for 10 s, then ten a second for 10 s: each half of the time counts alike."""
    time = np.concatenate([np.arange(10.0), 10.0 + 0.1 * np.arange(100)])
    samples = np.where(time < 10.0, 1.0, 2.0) + 1e-3 * np.sin(7.0 * time)
    weights = np.where(time < 10.0, 1.0, 0.1)
    assert sample_mean(samples, weights).value == pytest.approx(1.5, abs=1e-3)
    assert sample_mean(samples).value > 1.9
    # L. Kish, Survey Sampling (1965), 11.7 (from memory): sum(w)^2 / sum(w^2) = 20^2 / (10 + 1)
    assert sample_mean(samples, weights).effective_number <= 400.0 / 11.0


@given(st.integers(0, 50), st.floats(-1e3, 1e3), st.floats(1e-3, 1e3), st.sampled_from([0.0, 0.7]))
def test_it_follows_shift_and_scale(seed, shift, scale, phi):
    samples = first_order(seed, 80, phi)
    plain, moved = sample_mean(samples), sample_mean(shift + scale * samples)
    assert moved.value == pytest.approx(shift + scale * plain.value, rel=1e-9, abs=1e-9 * scale)
    assert moved.standard_deviation == pytest.approx(scale * plain.standard_deviation, rel=1e-6)
    assert moved.effective_number == pytest.approx(plain.effective_number, rel=1e-5)


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=60))
def test_the_effective_number_stays_between_two_and_all(samples):
    found = sample_mean(np.array(samples))
    assert 2.0 <= found.effective_number <= max(2, len(samples))
    assert found.degrees_of_freedom >= 1.0
