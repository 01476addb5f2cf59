"""Each thing that goes wrong with a sample is told by its name, and nothing else is."""

from __future__ import annotations

import numpy as np
import pytest
from simulated_logs import faults, reduced, run, weighed

pytestmark = pytest.mark.slow

SEEDS = range(8)


def somewhere(seed, low=5.0, high=84.0):
    return float(np.random.default_rng(100 + seed).uniform(low, high))


def broken(seed, change, **plan):
    """A log with one thing gone wrong from some time on, and what was told of it."""
    log = run(seed, **plan)
    change(log, log.at(somewhere(seed)))
    found = reduced(log)
    assert len(found.plateaus) == len(log.truth)
    return faults(found)


@pytest.mark.parametrize("interval", [0.1, 0.02])
@pytest.mark.parametrize(("factor", "name"), [(0.5, "PULSE_MISSED"), (2.0, "PULSE_DOUBLED")])
@pytest.mark.parametrize("length", [1, 3])
def test_a_magnet_missed_or_counted_twice(factor, name, length, interval):
    def change(log, at):
        log.speed[at : at + length] *= factor

    for seed in SEEDS:
        assert broken(seed, change, interval=interval) == {name: length}


def test_a_stray_sample_of_the_load():
    def change(log, at):
        log.torque[at] += 3.0

    for seed in SEEDS:
        assert broken(seed, change) == {"OUTLIER": 1}


@pytest.mark.parametrize("name", ["speed", "torque"])
def test_missing_samples(name):
    def change(log, at):
        getattr(log, name)[at : at + 7] = np.nan

    for seed in SEEDS:
        assert broken(seed, change) == {"DROPPED_OUT": 7}


@pytest.mark.parametrize("length", [1, 4, 15])
@pytest.mark.parametrize("name", ["speed", "torque"])
def test_zeros_between_good_samples(name, length):
    def change(log, at):
        getattr(log, name)[at : at + length] = 0.0

    for seed in SEEDS:
        assert broken(seed, change) == {"DROPPED_OUT": length}


@pytest.mark.parametrize("names", [("speed",), ("torque",), ("speed", "torque")])
def test_a_frozen_channel(names):
    def change(log, at):
        for name in names:
            getattr(log, name)[at : at + 20] = getattr(log, name)[at]

    for seed in SEEDS:
        assert broken(seed, change) == {"DROPPED_OUT": 20}


def test_time_that_runs_backwards():
    log = run(1)
    log.time[300:] -= 5.0
    assert faults(reduced(log)) == {"BACKWARDS": 50}


@pytest.mark.parametrize("step", [0.0, 0.005])
def test_a_scale_at_its_full_span(step):
    """Ten newton metres on a sensor that ends at 9.3: known from the rig, or by the maximum shown again and again."""
    for seed in SEEDS:
        log = run(seed, torque_step=step)
        log.torque = np.minimum(log.torque, 9.3)
        for found in (reduced(log), weighed(log, span=9.3)):
            counts = faults(found)
            assert set(counts) == {"FULL_SPAN"}
            assert counts["FULL_SPAN"] == pytest.approx(160, abs=3)  # 15 s of the load, and the last of the ramp
            assert len(found.plateaus) == 4


def test_a_display_coarser_than_the_scatter_needs_the_span_of_the_rig():
    log = run(1, torque_step=0.1, torque_scatter=0.02)
    log.torque = np.minimum(log.torque, 9.3)
    assert faults(reduced(log)) == {}
    assert set(faults(weighed(log, span=9.3))) == {"FULL_SPAN"}


def test_other_columns_are_looked_at_where_the_load_is_steady():
    log = run(1)
    log.more = {"current": 2.0 + 0.1 * log.torque}
    for at, value in ((10.0, 9.0), (30.0, 0.0), (50.0, np.nan)):
        log.more["current"][log.at(at)] = value
    assert faults(reduced(log)) == {"OUTLIER": 1, "DROPPED_OUT": 2}


def test_a_column_read_less_often_did_not_drop_out():
    log = run(1)
    log.more = {"winding_temperature": np.where(np.arange(log.time.size) % 20 == 0, 330.0, np.nan)}
    found = reduced(log)
    assert faults(found) == {}
    assert found.plateaus[0].means["winding_temperature"].samples < 10
    assert found.readings.load_test.column("winding_temperature") == pytest.approx([330.0] * 5)


def test_everything_left_out():
    log = run(1)
    found = weighed(log, span=0.01)
    assert (found.plateaus, found.used) == ((), 0)
    assert faults(found) == {"FULL_SPAN": int(np.count_nonzero(log.torque >= 0.01))}
