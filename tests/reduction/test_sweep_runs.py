"""Runs through the speeds of a log."""

from __future__ import annotations

import numpy as np
import pytest

from certgen.reduction.sweep import find_runs

TIME = np.arange(0.0, 61.0)


def zigzag(*corners):
    return np.interp(TIME, np.linspace(0.0, 60.0, len(corners)), corners)


@pytest.mark.parametrize(
    ("corners", "falls"),
    [
        ((150, 20), [True]),
        ((20, 150), [False]),
        ((150, 150, 20, 20), [True]),
        ((150, 20, 150), [True, False]),
        ((150, 20, 150, 20, 150), [True, False, True, False]),
        ((150, 100, 110, 20), [True]),  # hunting on the way
        ((150, 150), []),
        ((150, 149), []),  # a load point, no sweep
    ],
)
def test_runs_are_found_with_their_direction(corners, falls):
    runs = find_runs(TIME, zigzag(*corners).astype(float))
    assert [run.falls for run in runs] == falls


def test_a_run_is_passed_once_at_each_speed_and_not_beyond_its_ends():
    (run,) = find_runs(TIME, zigzag(150.0, 100.0, 110.0, 20.0))
    assert (np.diff(run.speed) < 0.0).all()
    times = run.time_at(np.array([160.0, 125.0, 60.0, 10.0]))
    np.testing.assert_array_equal(np.isfinite(times), [False, True, True, False])
    assert times[1] == pytest.approx(10.0)
    assert times[2] == pytest.approx(40.0 + 20.0 * 50.0 / 90.0)


def test_unknown_speeds_at_the_ends_do_not_matter():
    speed = zigzag(150.0, 20.0, 150.0)
    speed[:3] = speed[-3:] = np.nan
    assert [run.falls for run in find_runs(TIME, speed)] == [True, False]
    assert find_runs(TIME, np.full(TIME.size, np.nan)) == ()
