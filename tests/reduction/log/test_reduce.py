"""A log with known truth: plateaus at the right times, means that hold it, nothing amiss on a sound log."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_readings, make_rig
from hypothesis import given, settings
from hypothesis import strategies as st
from simulated_logs import DOWN, SLIP, SYNCHRONOUS, UP, Log, faults, logged_job, reduced, run

from certgen.job.table import Steady
from certgen.physics.uncertainty import coverage_factor
from certgen.reduction.log.model import Reason
from certgen.reduction.log.reduce import reduced_log
from certgen.reduction.reduce import reduce_test

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
#: Sound logs: dense, sparse, by hand, in steps, drawn down, correlated, coarse, silent, from standstill to standstill.
SOUND = {
    "plain": {},
    "dense": {"interval": 0.01},
    "one sample a second": {"interval": 1.0, "held": 30.0},
    "in steps": {"change": 0.0},
    "falling": {"loads": DOWN},
    "falling in steps": {"loads": DOWN, "change": 0.0},
    "quick changes to and fro": {"loads": (5.0, 10.0, 5.0, 0.2, 5.0, 10.0), "change": 0.5},
    "near loads": {"loads": (9.0, 9.6, 10.2, 10.8)},
    "slow hand": {"change": 10.0, "held": 8.0},
    "from standstill to standstill": {"loads": DOWN, "stands_at_the_ends": 4.0},
    "correlated": {"correlation": 0.8},
    "coarse displays": {"torque_step": 0.05, "speed_step": RPM},
    "displays coarser than the scatter": {
        "torque_scatter": 0.001, "speed_scatter": 0.001, "torque_step": 0.01, "speed_step": RPM,
    },
    "no scatter": {"torque_scatter": 0.0, "speed_scatter": 0.0},
}  # fmt: skip


@pytest.mark.parametrize("plan", SOUND.values(), ids=SOUND)
def test_a_sound_log_gives_its_loads_and_no_alarm(plan):
    for seed in range(6):
        log = run(seed, **plan)
        found = reduced(log)
        assert faults(found) == {}
        assert len(found.plateaus) == len(log.truth)
        interval = log.time[1]
        for plateau, (start, end, load) in zip(found.plateaus, log.truth, strict=True):
            # A stretch within the bands may begin while the load still creeps up to them.
            assert start - max(interval, 0.8) <= plateau.start <= start + 0.2 * (end - start)
            assert end - 0.2 * (end - start) <= plateau.end <= end + max(interval, 0.8)
            assert plateau.means["torque"].value == pytest.approx(load, rel=0.005, abs=0.02)
        assert found.used + sum(one.count for one in found.left_out) == found.samples == log.time.size


@pytest.mark.parametrize("plan", [{"change": 0.0}, {"correlation": 0.5}], ids=["white", "correlated"])
def test_the_means_hold_the_truth_as_often_as_they_should(plan):
    """Student's factor for 95.45 %, JCGM 100:2008, G.6.4."""
    inside = []
    for seed in range(100):
        log = run(1000 + seed, **plan)
        for plateau, (_, _, load) in zip(reduced(log).plateaus, log.truth, strict=True):
            for mean, true in (
                (plateau.means["torque"], load),
                (plateau.means["speed"], SYNCHRONOUS * (1.0 - SLIP * load)),
            ):
                factor = coverage_factor(mean.degrees_of_freedom)
                inside.append(abs(mean.value - true) <= factor * mean.standard_uncertainty)
    assert 0.93 <= np.mean(inside) <= 0.985  # 1000 means: sure to 0.7 %, those of one log share nothing


def means(found, name="torque"):
    return [plateau.means[name].value for plateau in found.plateaus]


@settings(max_examples=15)
@given(st.integers(0, 20), st.floats(-1e4, 1e4))
def test_it_does_not_matter_when_the_clock_was_started(seed, origin):
    log = run(seed, held=10.0)
    plain = reduced(log)
    log.time = log.time + round(origin, 1)
    moved = reduced(log)
    assert means(moved) == pytest.approx(means(plain), rel=2e-3)
    starts = [plateau.start - round(origin, 1) for plateau in moved.plateaus]
    assert starts == pytest.approx([plateau.start for plateau in plain.plateaus], abs=0.3)


@settings(max_examples=15)
@given(st.integers(0, 20), st.floats(0.01, 100.0), st.floats(0.1, 10.0))
def test_units_do_not_matter(seed, of_torque, of_speed):
    log = run(seed, held=10.0)
    plain = reduced(log)
    log.torque, log.speed = log.torque * of_torque, log.speed * of_speed
    scaled = reduced(log)
    assert means(scaled) == pytest.approx([of_torque * one for one in means(plain)])
    assert [(one.start, one.end) for one in scaled.plateaus] == [(one.start, one.end) for one in plain.plateaus]


@settings(max_examples=10)
@given(st.integers(0, 20), st.floats(2.0, 20.0))
def test_an_unsteady_ramp_in_between_changes_no_point(seed, change):
    quick, slow = run(seed, change=2.0), run(seed, change=change)
    found = reduced(slow)
    assert len(found.plateaus) == len(UP)
    assert means(found) == pytest.approx(means(reduced(quick)), rel=0.005)


def test_unequal_sampling_counts_by_time():
    """A logger that writes ten times as often in the second half of each load."""
    log = run(3, interval=0.05, torque_scatter=0.005)
    drift = 0.05 * np.sin((log.time % 18.0) / 18.0 * math.pi)
    log.torque = log.torque + drift
    sparse = (log.time % 18.0 > 10.0) | (np.arange(log.time.size) % 10 == 0)
    thinned = Log(log.time[sparse], log.speed[sparse], log.torque[sparse], log.truth)
    assert means(reduced(thinned)) == pytest.approx(means(reduced(log)), abs=0.002)  # by count 0.005 lower


def test_a_stretch_is_not_steady_across_a_gap_in_the_log():
    log = run(1, loads=(5.0,), held=40.0)
    keep = (log.time < 15.0) | (log.time > 30.0)
    log = Log(log.time[keep], log.speed[keep], log.torque[keep], log.truth)
    assert [(one.start < 15.0, one.end > 30.0) for one in reduced(log).plateaus] == [(True, False), (False, True)]


def test_shorter_than_the_hold_is_no_point():
    assert len(reduced(run(1, held=4.0), Steady(hold=8.0)).plateaus) == 0
    assert len(reduced(run(1, held=4.0), Steady(hold=3.0)).plateaus) == len(UP)


def test_bands_part_loads_that_lie_near():
    log = run(1, loads=(9.0, 9.2), change=2.0)
    assert len(reduced(log, Steady(torque_band=0.005)).plateaus) == 2
    assert len(reduced(log, Steady(torque_band=0.05, speed_band=0.05)).plateaus) == 1


def test_a_slow_drift_is_cut_into_stretches_within_the_band():
    log = run(1, loads=(10.0,), held=300.0)
    log.speed = log.speed * (1.0 - 0.02 * log.time / 300.0)
    found = reduced(log)
    assert 2 <= len(found.plateaus) <= 4
    for plateau in found.plateaus:
        inside = log.speed[log.between(plateau.start, plateau.end)]
        assert np.ptp(inside) < 2 * 0.005 * inside.mean() + 10 * 0.08


def test_stretches_can_be_pinned():
    log = run(2)
    log.speed[log.at(10.0)] /= 2
    found = reduced(log, Steady(at=((60.0, 70.0), (8.0, 14.0))))
    assert [(one.start, one.end) for one in found.plateaus] == [(8.0, 14.0), (60.0, 70.0)]
    assert all(one.pinned and one.steady for one in found.plateaus)
    assert faults(found) == {"PULSE_MISSED": 1}
    assert {one.reason for one in found.left_out} == {Reason.NOT_CHOSEN, Reason.PULSE_MISSED}
    assert not reduced(log, Steady(at=((15.0, 25.0),))).plateaus[0].steady


def test_a_pinned_stretch_beyond_the_log_gives_nothing():
    found = reduced(run(2), Steady(at=((8.0, 14.0), (900.0, 910.0))))
    assert len(found.plateaus) == 1


@pytest.mark.parametrize("count", [1, 2, 3, 11, 40])
def test_a_log_too_short_for_anything(count):
    log = run(0)
    short = Log(log.time[:count], log.speed[:count], log.torque[:count], [])
    found = reduced(short)
    assert (found.plateaus, found.used, found.samples) == ((), 0, count)


@pytest.mark.parametrize("name", ["time", "speed", "torque"])
def test_a_channel_that_gave_nothing_at_all(name):
    log = run(0)
    setattr(log, name, np.full(log.time.size, np.nan))
    found = reduced(log)
    assert found.used == 0
    assert sum(one.count for one in found.left_out) == found.samples


def test_rows_typed_by_hand_are_no_log():
    readings = make_readings(time=[0.0, 1.0], speed=[150.0, 149.0], torque=[1.0, 2.0])
    job = logged_job()
    assert reduced_log(job, make_rig(), readings) is not None
    object.__setattr__(job.readings.load_test, "steady", None)
    assert reduced_log(job, make_rig(), readings) is None


def test_the_points_of_a_test_are_the_plateaus():
    log = run(5)
    readings = make_readings(time=log.time, speed=log.speed, torque=log.torque)
    reduction = reduce_test(logged_job(), make_rig(), readings)
    assert reduction.points.torque == pytest.approx(UP, rel=0.005)
    assert reduction.points.count == len(reduction.log.plateaus) == len(UP)
    found = reduction.uncertainties.points[4]["torque"]
    assert found.assumed  # nothing is said of the sensor
    assert reduction.curve is not None


def test_a_log_without_a_point_reduces_to_nothing():
    log = run(5)
    readings = make_readings(time=log.time[:20], speed=log.speed[:20], torque=log.torque[:20])
    reduction = reduce_test(logged_job(power=1500.0, speed=150.0, frequency=50.0, poles=4), make_rig(), readings)
    assert reduction.points.count == 0
    assert (reduction.curve, reduction.torque_speed, reduction.no_load_point) == (None, None, None)
    assert set(reduction.operating.values()) == {None}
