"""The logger's clock beside the computer's."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.messages.catalogue import Message
from certgen.readings.recording.clocks import LEAST_COMPARED, ClockComparison


def compared(pairs: list[tuple[float, float]], **more: bool) -> Message | None:
    clocks = ClockComparison(**more)
    for arrival, clock in pairs:
        clocks.take(arrival, clock)
    return clocks.disagreement


@given(st.floats(0.995, 1.005), st.lists(st.floats(0.0, 0.05), min_size=20, max_size=60), st.floats(0.0, 1e6))
def test_clocks_that_agree_but_for_jitter(rate: float, jitter: list[float], began: float) -> None:
    assert compared([(second + late, began + rate * second) for second, late in enumerate(jitter)]) is None


@pytest.mark.parametrize("ratio", [3.0, 1000.0, 0.001, 1.04, 0.96])
def test_a_clock_that_runs_otherwise_is_told_with_its_ratio(ratio: float) -> None:
    told = compared([(float(second), ratio * second) for second in range(31)])
    assert told is not None and told.key == "recorder.clock.rate"
    assert told.values["ratio"] == pytest.approx(ratio)


def test_lines_that_come_all_at_once_are_not_compared() -> None:
    """A recording piped from a file: its own clock is the only one there is."""
    assert compared([(0.001 * row, float(row)) for row in range(1000)]) is None
    assert LEAST_COMPARED > 0.001 * 999


def test_a_clock_that_goes_back_began_anew() -> None:
    told = compared([(float(second), second % 7.0) for second in range(20)])
    assert told is not None and told.key == "recorder.clock.restarted"


def test_a_gap_is_not_compared() -> None:
    clocks = ClockComparison()
    for second in range(10):
        clocks.take(float(second), float(second))
    clocks.pause()
    for second in range(10):
        clocks.take(100.0 + second, 20.0 + second)  # it slept meanwhile
    assert clocks.disagreement is None


def test_rows_added_to_an_earlier_recording_are_the_computer_s() -> None:
    told = compared([(float(second), float(second)) for second in range(9)], continued=True)
    assert told is not None and told.key == "recorder.clock.continued"


def test_without_a_clock_there_is_nothing_to_say() -> None:
    assert compared([(float(second), float("nan")) for second in range(20)]) is None
