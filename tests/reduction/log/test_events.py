"""Loads that fall off and motors that stall are told from what a bench does on purpose."""

from __future__ import annotations

import numpy as np
import pytest
from simulated_logs import DOWN, SLIP, SYNCHRONOUS, faults, reduced, run

pytestmark = pytest.mark.slow

SEEDS = range(8)


def let_go(log, start, stop, part=0.06):
    """The brake's torque down to a part of itself, the speed up with it."""
    where = slice(log.at(start), log.at(stop))
    log.torque[where] *= part
    noise = log.speed[where] - log.speed[where].mean()
    log.speed[where] = SYNCHRONOUS * (1.0 - SLIP * log.torque[where]) + 0.3 * noise


@pytest.mark.parametrize("seconds", [0.4, 1.0, 3.0])
def test_a_coupling_that_slips_and_grips_again(seconds):
    for seed in SEEDS:
        log = run(seed)
        let_go(log, 48.0, 48.0 + seconds)
        counts = faults(reduced(log))
        assert set(counts) == {"LOAD_LOST"}
        assert counts["LOAD_LOST"] == pytest.approx(10 * seconds, abs=1)


def test_a_load_that_does_not_come_back():
    for seed in SEEDS:
        log = run(seed)
        let_go(log, 87.5, 1e9)
        counts = faults(reduced(log))
        assert set(counts) == {"LOAD_LOST"}
        assert counts["LOAD_LOST"] == pytest.approx(25, abs=1)


def test_of_a_heavy_load_gone_for_good_nothing_is_a_point():
    for seed in SEEDS:
        log = run(seed)
        let_go(log, 82.0, 1e9)
        found = reduced(log)
        assert faults(found) == {"LOAD_LOST": pytest.approx(80, abs=2)}
        assert found.plateaus[-1].means["torque"].value == pytest.approx(10.0, abs=0.02)


def test_with_the_brake_still_excited_the_idle_motor_is_no_point():
    log = run(1)
    let_go(log, 82.0, 1e9)
    log.more = {"brake_current": np.sqrt(np.maximum(run(1).torque, 0.0))}
    found = reduced(log)
    assert faults(found)["LOAD_LOST"] == pytest.approx(80, abs=2)
    assert len(found.plateaus) == 5


def test_the_last_light_load_taken_off_is_no_fault():
    for seed in SEEDS:
        log = run(seed, loads=DOWN, change=0.0)
        assert faults(reduced(log)) == {}


@pytest.mark.parametrize("torque_held", [1.3, 0.6])
def test_a_motor_that_stalls(torque_held):
    for seed in SEEDS:
        log = run(seed)
        at, down, still = log.at(64.0), 8, 30
        log.speed[at : at + down] *= np.linspace(1.0, 0.0, down)
        log.speed[at + down : at + down + still] = 0.0
        log.torque[at : at + down + still] *= torque_held
        log.speed[at + down + still : at + down + still + 6] *= np.linspace(0.1, 0.9, 6)
        counts = faults(reduced(log))
        assert set(counts) == {"STALLED"}
        assert counts["STALLED"] == pytest.approx(down + still, abs=2)


def test_a_stall_seen_in_the_current_alone():
    """A scale that lost the load shows nothing, but the motor takes its starting current."""
    log = run(1)
    at = log.at(64.0)
    log.more = {"current": 2.0 + 0.2 * log.torque}
    log.speed[at : at + 5] *= np.linspace(1.0, 0.05, 5)
    log.speed[at + 5 :] = 0.0
    log.torque[at + 2 :] = 0.001
    log.more["current"][at + 5 :] = 20.0
    assert set(faults(reduced(log))) == {"STALLED"}


def test_a_motor_switched_off_did_not_stall():
    for seed in SEEDS:
        assert faults(reduced(run(seed, loads=DOWN, stands_at_the_ends=5.0))) == {}
