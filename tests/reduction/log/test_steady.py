"""What counts as steady, bin by bin."""

from __future__ import annotations

import numpy as np
import pytest

from certgen.job.table import Steady
from certgen.reduction.log.model import Bands
from certgen.reduction.log.steady import bands_of, bins_of, calm_bins, is_steady, scatter_of_bins, steady_stretches


def binned(load, speed=None, interval=0.25, hold=5.0):
    load = np.asarray(load, dtype=float)
    speed = np.full(load.size, 150.0) if speed is None else speed
    return bins_of(interval * np.arange(load.size), speed, load, (hold, 20))


def stretches(bins, **bands):
    return steady_stretches(bins, Bands(5.0, **({"speed": 0.005, "torque": 0.02} | bands)), np.ones(bins.count, bool))


def test_usual_bands_and_hold():
    """Common practice, no source: 5 s, or 10 samples of a slow logger."""
    assert bands_of(Steady(), 0.1) == Bands(5.0, 0.005, 0.02)
    assert bands_of(Steady(), 2.0).hold == 20.0
    assert bands_of(Steady(hold=3.0, speed_band=0.01, torque_band=0.05), 2.0) == Bands(3.0, 0.01, 0.05)


def test_bins_are_means_by_time():
    bins = bins_of(np.array([0.0, 0.1, 0.26, 0.9]), np.array([1.0, 3.0, 5.0, 7.0]), np.ones(4), (5.0, 20))
    assert bins.first.tolist() == [0, 2, 3]
    assert bins.speed.tolist() == [2.0, 5.0, 7.0]
    assert not bins.broken[1:].any()


def test_a_gap_breaks_the_log():
    time = np.concatenate([np.arange(0.0, 5.0, 0.25), np.arange(10.0, 15.0, 0.25)])
    bins = bins_of(time, np.ones(40), np.ones(40), (5.0, 20))
    assert np.flatnonzero(bins.broken).tolist() == [0, 20]


def test_a_ramp_does_not_enter_the_scatter():
    rng = np.random.default_rng(1)
    means = 3.0 * np.arange(4000.0) + rng.normal(0.0, 0.2, 4000)
    assert scatter_of_bins(means) == pytest.approx(0.2, rel=0.05)


def test_noisy_logs_are_cut_into_longer_bins():
    rng, time = np.random.default_rng(1), 0.01 * np.arange(5000)
    quiet, noisy = (rng.normal(5.0, size, 5000) for size in (0.01, 1.0))
    bands = Bands(5.0, 0.005, 0.02)
    assert calm_bins(time, np.full(5000, 150.0), quiet, bands).width == pytest.approx(0.25)
    assert calm_bins(time, np.full(5000, 150.0), noisy, bands).width > 0.25


def test_level_is_steady_and_ramp_is_not():
    assert stretches(binned(np.full(40, 5.0))) == [(0, 40)]
    assert stretches(binned(np.linspace(1.0, 9.0, 40))) == []


def test_speed_alone_can_be_unsteady():
    assert stretches(binned(np.full(40, 5.0), np.linspace(140.0, 150.0, 40))) == []


def test_a_step_parts_two_levels():
    (first, second) = stretches(binned(np.repeat([5.0, 6.0], 30)))
    assert first[0] == 0
    assert first[1] <= 30 <= second[0]
    assert second[1] == 60


@pytest.mark.parametrize(("step", "parts"), [(0.06, 2), (0.02, 1)])
def test_the_band_of_the_load_is_a_part_of_its_mean(step, parts):
    """2 % either way of 5, twice over: 0.2; a tenth of the hold lies between, so that the halves are not compared."""
    load = np.repeat([5.0, 5.0 * (1.0 + step)], 30)
    assert len(stretches(binned(load))) == parts


def test_bins_that_may_not_be_used_part_a_stretch():
    bins = binned(np.full(80, 5.0))
    usable = np.ones(80, dtype=bool)
    usable[40] = False
    found = steady_stretches(bins, Bands(5.0, 0.005, 0.02), usable)
    assert [(start <= 1, stop >= 79) for start, stop in found] == [(True, False), (False, True)]


def test_whether_a_stretch_named_by_hand_is_steady():
    bins = binned(np.concatenate([np.full(30, 5.0), np.linspace(5.0, 8.0, 30)]))
    bands = Bands(5.0, 0.005, 0.02)
    assert is_steady(bins, bands, (0, 30))
    assert not is_steady(bins, bands, (20, 60))
