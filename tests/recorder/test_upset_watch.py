"""Upsets named while they happen, on runs made up for the test."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from certgen.recorder.upset_watch import Sample, UpsetWatch

pytestmark = pytest.mark.slow

SPEED, HELD = 149.0, 10.0  # [rad/s], [N*m]


def run(
    torques: np.ndarray, rate: float, *, speeds: np.ndarray | None = None, current: np.ndarray | None = None
) -> list[str]:
    speeds = SPEED + 7.0 * (1.0 - torques / HELD) if speeds is None else speeds
    current = np.full(len(torques), np.nan) if current is None else current
    samples = [
        Sample(index / rate, float(speed), float(torque), float(amperes))
        for index, (speed, torque, amperes) in enumerate(zip(speeds, torques, current, strict=True))
    ]
    watch = UpsetWatch()
    told: list[str] = []
    for at in range(0, len(samples), 3):  # rows come in batches
        told += [message.key for message in watch.happened(samples[at : at + 3])]
    return told


def noise(count: int, seed: int, part: float) -> np.ndarray:
    return 1.0 + part * np.random.default_rng(seed).standard_normal(count)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([1.0, 2.0, 5.0, 10.0, 50.0]),
    st.floats(0.0, 0.6),
    st.floats(2.5, 30.0),
    st.floats(0.25, 1.0),
    st.integers(0, 999),
)
def test_a_load_that_falls_at_once_is_named_and_so_is_its_coming_back(
    rate: float, left: float, seconds: float, part: float, seed: int
) -> None:
    """At any load, gone or in part, for seconds or half a minute."""
    held, lost = round(8.0 * rate), max(3, round(seconds * rate))
    torques = part * HELD * np.concatenate([np.ones(held), np.full(lost, left), np.ones(held)])
    torques *= noise(len(torques), seed, 0.01)
    assert run(torques, rate) == ["recorder.upset.lost", "recorder.upset.back"]


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([1.0, 5.0, 10.0, 50.0]), st.lists(st.floats(0.1, 1.2), min_size=2, max_size=6), st.integers(0, 999)
)
def test_loads_set_by_hand_are_no_upset(rate: float, loads: list[float], seed: int) -> None:
    """Each load set over four seconds from the one before, as with a hand wheel."""
    parts = [np.full(round(6.0 * rate), loads[0])]
    for before, after in itertools.pairwise(loads):
        parts += [np.linspace(before, after, max(2, round(4.0 * rate))), np.full(round(6.0 * rate), after)]
    torques = HELD * np.concatenate(parts)
    told = run(torques * noise(len(torques), seed, 0.01), rate)
    slow = all(before - after < 0.5 * before for before, after in itertools.pairwise(loads))
    assert told == [] or not slow


def test_one_row_that_fails_is_no_upset() -> None:
    torques = np.full(60, HELD)
    torques[40] = 0.0
    assert run(torques, 5.0) == []


def test_a_load_that_the_brake_s_current_shows_was_taken_off_is_no_upset() -> None:
    torques = np.concatenate([np.full(50, HELD), np.full(50, 4.0)])
    current = np.concatenate([np.full(50, 2.0), np.full(50, 1.2)])
    assert run(torques, 5.0, current=current) == []
    assert run(torques, 5.0, current=np.full(100, 2.0)) == ["recorder.upset.lost"]


def test_a_current_that_ran_out_is_an_upset() -> None:
    torques = np.concatenate([np.full(50, HELD), np.zeros(50)])
    current = np.concatenate([np.full(50, 2.0), np.zeros(50)])
    assert run(torques, 5.0, current=current) == ["recorder.upset.lost"]


def test_a_speed_that_falls_with_the_load_is_named_as_that() -> None:
    torques = np.concatenate([np.full(50, HELD), np.full(20, 1.0)])
    speeds = np.concatenate([np.full(50, SPEED), np.full(20, 90.0)])
    assert run(torques, 5.0, speeds=speeds) == ["recorder.upset.speed_fell"]


@pytest.mark.parametrize("missing", ["torque", "speed"])
def test_rows_without_a_figure_are_passed_over(missing: str) -> None:
    values = {"torque": HELD, "speed": SPEED, missing: float("nan")}
    assert list(UpsetWatch().happened([Sample(float(at), **values) for at in range(9)])) == []


@settings(max_examples=30, deadline=None)
@given(st.sampled_from([1.0, 5.0, 10.0, 50.0]), st.floats(0.5, 1.5), st.floats(0.0, 0.3), st.integers(0, 999))
def test_a_motor_that_stalls_under_load_is_named_once(rate: float, torque: float, speed: float, seed: int) -> None:
    """It stands, or nearly, and the brake holds it: the torque need not fall."""
    held, stalled = round(8.0 * rate), max(3, round(4.0 * rate))
    torques = HELD * np.concatenate([np.ones(held), np.full(stalled, torque)]) * noise(held + stalled, seed, 0.01)
    speeds = SPEED * np.concatenate([np.ones(held), np.full(stalled, speed)])
    assert run(torques, rate, speeds=speeds) == ["recorder.upset.stalled"]
