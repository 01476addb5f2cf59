"""Counts and pulses against arithmetic done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Dimensioned
from certgen.job.logger import LINE, TABLE, CountsCalibration
from certgen.readings.recording.rows import PulseCounter, calibrated

_TURN = 2.0 * math.pi


def calibration(between: str, *points: tuple[float, float]) -> CountsCalibration:
    counts = tuple(count for count, _ in points)
    return CountsCalibration(counts, tuple(Dimensioned(value, "mass") for _, value in points), between)


@pytest.mark.parametrize("between", [LINE, TABLE])
def test_two_points_make_a_straight_line(between: str) -> None:
    scale = calibrated(calibration(between, (8000.0, 0.0), (88000.0, 2.0)))
    assert [scale.value_at(count) for count in (8000.0, 48000.0, 88000.0, 4000.0)] == pytest.approx([0, 1, 2, -0.1])


def test_a_line_is_that_of_least_squares() -> None:
    """numpy.polyfit as the reference."""
    points = ((0.0, 0.01), (100.0, 0.98), (200.0, 2.03), (500.0, 4.99))
    slope, intercept = np.polyfit([count for count, _ in points], [value for _, value in points], 1)
    scale = calibrated(calibration(LINE, *points))
    assert scale.value_at(333.0) == pytest.approx(intercept + slope * 333.0)


@given(count=st.floats(-50.0, 550.0))
def test_a_table_goes_through_its_points_and_falls_where_the_counts_fall(count: float) -> None:
    """numpy.interp as the reference between the points; the end stretches carried on outside."""
    counts, values = [0.0, 100.0, 200.0, 500.0], [5.0, 3.0, 2.5, 0.0]
    scale = calibrated(calibration(TABLE, *zip(reversed(counts), reversed(values), strict=True)))
    if 0.0 <= count <= 500.0:
        expected = float(np.interp(count, counts, values))
    else:
        expected = 5.0 - 0.02 * count if count < 0.0 else -(count - 500.0) * 2.5 / 300.0
    assert scale.value_at(count) == pytest.approx(expected, abs=1e-12)


def test_counts_beyond_the_calibration_are_known_as_such() -> None:
    scale = calibrated(calibration(LINE, (0.0, 0.0), (1000.0, 2.0)))
    assert [scale.covers(count) for count in (-51.0, -49.0, 1049.0, 1051.0)] == [False, True, True, False]


@given(pulses=st.integers(0, 100_000), per_revolution=st.integers(1, 2048), gate=st.floats(0.01, 10.0))
def test_pulses_of_an_interval_are_revolutions_over_its_length(pulses: int, per_revolution: int, gate: float) -> None:
    speed = PulseCounter(per_revolution, gate).speed(pulses, 0.0)
    assert speed == pytest.approx(_TURN * pulses / per_revolution / gate)


@given(
    steps=st.lists(st.tuples(st.integers(0, 4000), st.floats(0.01, 2.0)), min_size=1, max_size=20),
    start=st.integers(0, 2**16 - 1),
)
def test_a_running_count_gives_the_speed_over_each_interval_and_across_its_end(
    steps: list[tuple[int, float]], start: int
) -> None:
    counter = PulseCounter(60, bits=16)
    count, at = start, 5.0
    assert counter.speed(count, at) is None
    for pulses, step in steps:
        count, at = (count + pulses) % 2**16, at + step
        assert counter.speed(count, at) == pytest.approx(_TURN * pulses / 60 / step, rel=1e-9)


def test_a_logger_that_begins_anew_gives_no_speed_at_first() -> None:
    counter = PulseCounter(60)
    assert counter.speed(6000, 1.0) is None
    assert counter.speed(7440, 2.0) == pytest.approx(_TURN * 24.0)
    assert counter.speed(3, 3.0) is None
    assert counter.speed(1443, 4.0) == pytest.approx(_TURN * 24.0)
    with_bits = PulseCounter(60, bits=16)
    assert with_bits.speed(6000, 1.0) is None
    assert with_bits.speed(3, 2.0) is None  # a step of more than half the range is a restart


def test_after_a_gap_the_count_before_it_is_forgotten() -> None:
    counter = PulseCounter(1)
    assert counter.speed(10, 1.0) is None
    counter.restart()
    assert counter.speed(20, 2.0) is None
