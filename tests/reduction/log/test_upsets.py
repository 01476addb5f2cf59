"""A load that falls off by itself is no load point, however long it stays off; one that was set is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_readings, make_rig
from simulated_logs import DOWN, SLIP, SYNCHRONOUS, Log, faults, logged_job, reduced, run, weighed

from certgen.assessment.log_cautions import log_evidence
from certgen.job.table import Steady
from certgen.reduction.log.model import Reason
from certgen.reduction.log.reduce import reduced_log

pytestmark = pytest.mark.slow

LOADS = (10.0, 7.5, 4.5)
LENGTHS = (2.0, 5.0, 15.0, 30.0)


def three_loads(seed: int) -> Log:
    """Three loads, each held for 50 s."""
    return run(seed, loads=LOADS, held=50.0)


def fall(log: Log, start: float, seconds: float, part: float = 0.05, run_out: float = 0.0) -> None:
    """The load down to a part of itself from a time on, at once or within a run-out, and the speed up with it."""
    off = (log.time >= start) & (log.time < start + seconds)
    left = np.clip(1.0 - (log.time - start) / run_out, part, 1.0) if run_out else np.full(log.time.size, part)
    fallen = np.where(off, log.torque * left, log.torque)
    log.speed = log.speed + SYNCHRONOUS * SLIP * (log.torque - fallen)
    log.torque = fallen + np.where(off, np.random.default_rng(5).normal(0.0, 0.02, off.size), 0.0)


def points(found):
    return [plateau.means["torque"].value for plateau in found.plateaus]


@pytest.mark.parametrize("seconds", LENGTHS)
@pytest.mark.parametrize("which", range(3))
@pytest.mark.parametrize("part", [0.0, 0.05, 0.5])
def test_a_load_that_comes_back_is_one_upset_and_one_point(which, seconds, part):
    for seed in range(4):
        log = three_loads(seed)
        start = log.truth[which][0] + 8.0
        fall(log, start, seconds, part)
        found = reduced(log)
        (upset,) = found.lost_loads
        assert upset.start == pytest.approx(start, abs=0.15)
        assert upset.end == pytest.approx(start + seconds, abs=0.25)
        assert upset.part_left == pytest.approx(part, abs=0.03)
        assert upset.came_back
        assert points(found) == pytest.approx(LOADS, rel=0.005)
        inside = found.reasons[log.between(start, start + seconds)]
        assert np.count_nonzero(inside == Reason.USED) == 0
        assert found.used + sum(one.count for one in found.left_out) == found.samples


@pytest.mark.parametrize("taken", [0.5, 1.0, 2.0])
def test_brake_current_that_runs_out_slowly(taken):
    for seed in range(4):
        log = three_loads(seed)
        start = log.truth[1][0] + 12.0
        fall(log, start, 20.0, 0.0, run_out=taken)
        found = reduced(log)
        assert [upset.cause for upset in found.lost_loads] in (["brake"], ["coupling_or_brake"])
        assert points(found) == pytest.approx(LOADS, rel=0.005)
        inside = found.reasons[log.between(start + 0.1 * taken, start + 20.0)]
        assert np.count_nonzero(inside == Reason.USED) == 0


@pytest.mark.parametrize("which", range(3))
def test_a_load_that_does_not_come_back(which):
    for seed in range(4):
        log = three_loads(seed)
        start = log.truth[which][0] + 15.0
        fall(log, start, 1e9)
        found = reduced(log)
        assert points(found) == pytest.approx(LOADS[: which + 1], rel=0.005)
        assert [upset.came_back for upset in found.lost_loads] == [False]


def told(found):
    return [one.message.key for one in log_evidence(found)]


def test_what_became_of_a_lost_load_is_said():
    back, stayed, set_again = (three_loads(2) for _ in range(3))
    fall(back, 15.0, 12.0)
    fall(stayed, stayed.truth[2][0] + 15.0, 1e9)
    fall(set_again, set_again.truth[0][0] + 15.0, set_again.truth[1][0] - set_again.truth[0][0] - 15.0)
    assert told(reduced(back)) == ["evidence.load_lost"]
    assert told(reduced(stayed)) == ["evidence.load_lost_for_good"]
    assert told(reduced(set_again)) == ["evidence.load_lost_then_set"]


def test_a_load_held_for_a_moment_and_lost_is_an_upset():
    """Before the first plateau, among much scatter, just before the motor is switched off, and after one slow setting."""
    moment = run(3, loads=(8.0,), held=30.0, interval=0.25)
    fall(moment, moment.truth[0][0] + 3.8, 5.0)
    noisy = run(4, loads=(2.0, 4.0, 6.0, 8.0, 10.0), held=45.0, interval=0.25, torque_scatter=0.1)
    fall(noisy, noisy.truth[4][0] + 1.8, 7.0, 0.5)
    last = run(5, loads=(8.0,), held=50.0, torque_scatter=0.1, correlation=0.5, stands_at_the_ends=4.0)
    fall(last, last.truth[0][1] - 18.0, 15.5, 0.5)
    for log in (moment, noisy, last):
        found = reduced(log)
        assert [upset.came_back for upset in found.lost_loads] == [True]
        assert points(found) == pytest.approx([load for _, _, load in log.truth], rel=0.01)
    slow = run(6, loads=(10.0, 5.0), held=40.0, interval=0.25, stands_at_the_ends=4.0)
    fall(slow, slow.truth[1][0] + 15.0, 1e9, 0.02)
    assert told(reduced(slow)) == ["evidence.load_lost_for_good"]
    assert points(reduced(slow)) == pytest.approx([10.0, 5.0], rel=0.01)


def test_a_coupling_that_slips_in_front_of_the_tachometer():
    log = three_loads(1)
    where = log.between(30.0, 45.0)
    log.torque[where] *= 0.4
    log.speed[where] *= 0.6
    found = reduced(log)
    assert [upset.cause for upset in found.lost_loads] == ["coupling"]
    assert points(found) == pytest.approx(LOADS, rel=0.005)


def test_a_load_without_a_change_of_speed_points_to_the_sensor():
    log = three_loads(1)
    log.torque[log.between(30.0, 45.0)] *= 0.1
    found = reduced(log)
    assert [upset.cause for upset in found.lost_loads] == ["sensor"]
    assert points(found) == pytest.approx(LOADS, rel=0.005)


def test_brake_current_tells_what_was_set():
    log = three_loads(1)
    fall(log, 20.0, 15.0, 0.4)
    log.more = {"brake_current": np.sqrt(np.maximum(log.torque, 0.0))}
    found = reduced(log)
    assert (found.lost_loads, faults(found)) == ((), {})
    assert 4.0 in [pytest.approx(point, rel=0.01) for point in points(found)]
    log.more = {"brake_current": np.sqrt(np.maximum(three_loads(1).torque, 0.0))}
    assert [upset.cause for upset in reduced(log).lost_loads] == ["coupling"]


def test_the_job_tells_what_was_meant():
    log = three_loads(1)
    fall(log, 20.0, 15.0, 0.4)
    job = logged_job()
    load_test = replace(job.readings.load_test, meant=((19.0, 36.0),))
    job = replace(job, readings=replace(job.readings, load_test=load_test))
    readings = make_readings(time=log.time, speed=log.speed, torque=log.torque)
    found = reduced_log(job, make_rig(), readings)
    assert found.lost_loads == ()
    assert any(point == pytest.approx(4.0, rel=0.01) for point in points(found))


def test_loads_set_as_quickly_as_one_fell_are_steps():
    """A brake that is always switched: nothing tells a fall from a setting."""
    for seed in range(4):
        assert reduced(run(seed, loads=(5.0, 10.0, 5.0, 0.2, 5.0, 10.0), change=0.5, held=20.0)).lost_loads == ()
        assert reduced(run(seed, loads=DOWN, change=0.0)).lost_loads == ()
        assert reduced(run(seed, loads=(10.0, 5.0), change=0.0)).lost_loads == ()


def test_a_pinned_stretch_leaves_the_same_upset_out():
    log = three_loads(1)
    fall(log, 30.0, 10.0)
    found = reduced(log, Steady(at=((10.0, 50.0), (60.0, 100.0), (31.0, 39.0))))
    assert points(found) == pytest.approx(LOADS[:2], rel=0.005)
    assert len(found.lost_loads) == 1


def test_a_pinned_stretch_leaves_a_stall_out():
    log = three_loads(1)
    where = log.between(30.0, 35.0)
    log.speed[where], log.torque[where] = 0.0, log.torque[where] * 1.3
    found = reduced(log, Steady(at=((10.0, 50.0),)))
    assert points(found) == pytest.approx(LOADS[:1], rel=0.005)
    assert faults(found)["STALLED"] == pytest.approx(50, abs=2)


@pytest.mark.parametrize(("factor", "name"), [(0.5, "PULSE_MISSED"), (2.0, "PULSE_DOUBLED")])
@pytest.mark.parametrize("seconds", [1.0, 5.0, 20.0])
def test_wrong_pulses_of_any_length(factor, name, seconds):
    for seed in range(4):
        log = three_loads(seed)
        log.speed[log.between(20.0, 20.0 + seconds)] *= factor
        found = reduced(log)
        assert faults(found) == {name: pytest.approx(10 * seconds, abs=1)}
        assert {round(point, 1) for point in points(found)} == set(LOADS)


def test_the_end_of_a_slow_setting_is_no_upset():
    for seed in (2, 4, 8, 9, 13, 17):
        log = run(seed, loads=(10.0, 5.0), held=30.0, change=4.9, torque_scatter=0.1, correlation=0.5)
        found = reduced(log)
        assert found.lost_loads == ()
        assert points(found) == pytest.approx([10.0, 5.0], rel=0.01)


@pytest.mark.parametrize(("factor", "name"), [(0.5, "PULSE_MISSED"), (2.0, "PULSE_DOUBLED")])
@pytest.mark.parametrize(("start", "end"), [(20.0, 1e9), (-1.0, 110.0), (20.0, 130.0)])
def test_the_poles_tell_which_part_of_a_log_counted_wrongly(factor, name, start, end):
    """An induction motor runs below its synchronous speed, and not at half of it: most of the log may be wrong."""
    log = three_loads(1)
    off = (log.time >= start) & (log.time < end)
    log.speed[off] *= factor
    found = reduced(log, poles=4)
    assert list(faults(found)) == [name]
    assert not np.any(off & (found.reasons == Reason.USED))
    right = SYNCHRONOUS * (1.0 - SLIP * np.array(points(found)))
    assert [plateau.means["speed"].value for plateau in found.plateaus] == pytest.approx(right, rel=0.005)


def test_a_load_clipped_in_most_of_its_samples_is_dropped_whole():
    """Scatter about the span: the samples below it would give too small a mean, and are no outliers."""
    for seed in range(4):
        log = run(seed, torque_scatter=0.05)
        log.torque = np.minimum(log.torque, 9.98)
        found = weighed(log, span=9.98)
        assert len(found.plateaus) == 4
        assert set(faults(found)) == {"FULL_SPAN"}
        assert faults(found)["FULL_SPAN"] > 140


@pytest.mark.parametrize("at", [None, ((10.0, 50.0), (60.0, 100.0), (115.0, 155.0))])
@pytest.mark.parametrize("count", [6, 10, 30, 80, 150])
@pytest.mark.parametrize(("speed", "load"), [(1.0, 1.5), (1.1, 1.0), (0.9, 1.0)])
def test_a_channel_that_jumps_alone_is_no_load_however_long(speed, load, count, at):
    """Searched and pinned stretches mark the same samples."""
    for seed in range(3):
        log = three_loads(seed)
        where = slice(log.at(22.0), log.at(22.0) + count)
        log.speed[where] *= speed
        log.torque[where] *= load
        found = reduced(log, Steady(at=at))
        assert (found.reasons[where] == Reason.OUTLIER).all()
        assert faults(found) == {"OUTLIER": count}
        assert sorted(set(np.round(points(found), 1))) == sorted(LOADS)


def test_a_load_that_was_set_for_a_moment_moves_the_speed_and_is_no_spike():
    """A brake switched up and back within a sample each: the motor slowed as it does with that load."""
    log = three_loads(2)
    for start, seconds in ((20.0, 3.0), (30.0, 8.0)):
        where = log.between(start, start + seconds)
        log.torque[where] *= 1.4
        log.speed[where] -= SYNCHRONOUS * SLIP * 0.4 * LOADS[0]
    assert faults(reduced(log)) == {}


@pytest.mark.parametrize("change", [0.0, 0.5])
def test_loads_switched_up_and_back_on_a_motor_that_keeps_its_speed_are_loads(change):
    """A synchronous motor: the speed tells nothing of the load, so that what lasts a hold was set."""
    for seed in range(3):
        log = run(seed, loads=(5.0, 10.0, 5.0, 8.0, 5.0), change=change, held=20.0)
        log.speed = np.full(log.time.size, SYNCHRONOUS) + np.random.default_rng(seed).normal(0.0, 0.05, log.time.size)
        found = reduced(log)
        assert "OUTLIER" not in faults(found)
        assert len(points(found)) >= 4


def test_a_load_that_is_back_until_the_motor_is_switched_off_is_no_spike():
    """It jumps up to what it was, and to nothing with the speed at the end."""
    for seed in range(3):
        log = run(seed, loads=(8.0,), held=80.0, stands_at_the_ends=4.0)
        fall(log, 30.0, 20.0, 0.15)
        found = reduced(log)
        assert points(found) == pytest.approx([8.0], rel=0.005)
        assert set(faults(found)) == {"LOAD_LOST"}
