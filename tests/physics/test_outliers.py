"""The Hampel identifier and its constant."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from scipy.stats import median_abs_deviation

from certgen.physics.samples import CONSISTENT, THRESHOLD, hampel, scatter_by_median, successive_scatter


def test_the_constant():
    """F. R. Hampel, J. Amer. Statist. Assoc. 69 (1974) 383: 1.4826, one over the upper quartile of the normal law."""
    assert CONSISTENT == 1.4826
    assert pytest.approx(1.0 / NormalDist().inv_cdf(0.75), abs=5e-5) == CONSISTENT


def test_scatter_is_that_of_a_general_library():
    samples = np.random.default_rng(1).normal(3.0, 0.2, 501)
    assert scatter_by_median(samples) == pytest.approx(median_abs_deviation(samples, scale="normal"), rel=1e-4)
    assert math.isnan(scatter_by_median(np.empty(0)))


def test_scatter_from_sample_to_sample():
    rng = np.random.default_rng(3)
    samples = rng.normal(0.0, 0.5, (2, 20_000)) + np.linspace(0.0, 100.0, 20_000)
    assert successive_scatter(samples) == pytest.approx([0.5, 0.5], rel=0.03)


def test_a_sample_far_from_its_neighbours():
    samples = np.array([1.0, 1.1, 0.9, 1.0, 1.2, 5.0, 1.0, 0.9, 1.1, 1.0, 0.8])
    found, beside = hampel(samples, np.arange(11), half_width=5, least_scatter=np.full(11, 0.01))
    assert np.flatnonzero(found).tolist() == [5]
    assert beside[5] == 1.0  # median of the eleven
    # By hand: the deviations from 1 have the median 0.1, so the limit is 6 x 1.4826 x 0.1.
    edge = 1.0 + THRESHOLD * CONSISTENT * 0.1
    for value, expected in ((edge - 1e-6, False), (edge + 1e-6, True)):
        samples[5] = value
        assert hampel(samples, np.array([5]), half_width=5, least_scatter=np.array([0.01]))[0][0] == expected


def test_neither_a_ramp_nor_a_step_is_an_outlier():
    ramp, step = np.arange(60.0), np.repeat([1.0, 9.0], 30)
    for samples in (ramp, step, step[::-1].copy()):
        inner = np.arange(5, 55)
        assert not hampel(samples, inner, half_width=5, least_scatter=np.full(50, 1e-6))[0].any()


def test_normal_scatter_is_left_alone():
    """Two sides of a normal law beyond six standard deviations: 2 of 10^9."""
    assert 2.0 * NormalDist().cdf(-THRESHOLD) < 2e-9 * 1.01
