"""Displays, the brake's lever and the placing of rows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, shown
from simulated_bench.job_file import csv, with_rows, with_value
from simulated_bench.simulated_job import RIGS
from simulated_bench.solving import largest_within, root_between

JOB = """readings:
  zero_before: 0 kg     # empty scale
  load_test:            # falling
    columns: {speed: rpm}
    rows:
      - [1]
      - [2]
  no_load:
    rows:
      - [3]
criteria: iec-60034-1
"""


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [
        (1.2346, 0.001, "1.235"),
        (7.4, 5, "5"),
        (0.0149, 0.005, "0.015"),
        (-0.0001, 0.001, "0.000"),
        (-3.26, 0.5, "-3.5"),
    ],
)
def test_a_display_shows_whole_steps(value, step, text):
    assert shown(value, step) == text


@given(st.integers(0, 10**6))
def test_scatter_repeats_with_its_seed_and_stays_within_three_and_a_tenth(seed):
    first, second = Scatter(str(seed)), Scatter(str(seed))
    drawn = [first.normal(1.0) for _ in range(20)]
    assert drawn == [second.normal(1.0) for _ in range(20)]
    assert max(map(abs, drawn)) < 3.1


def test_zero_drifts_evenly():
    zero = Zero(0.002, 0.006, 0.001, "kg")
    assert [zero.at(row, 5) for row in range(5)] == pytest.approx([0.002, 0.003, 0.004, 0.005, 0.006])
    assert zero.values("_2") == {"zero_before_2": "0.002 kg", "zero_after_2": "0.006 kg"}


@pytest.mark.parametrize("rig", ["arm_brake", "pound_arm_brake", "slow_arm_brake", "rope_brake", "belt_drive_brake"])
def test_a_load_on_the_scale_is_the_torque_over_the_lever(rig):
    brake = brake_of(RIGS / f"{rig}.yaml", gravity=9.81)
    force = brake.load(3.0) * brake.unit * (9.81 if brake.reads == "mass" else 1.0)
    assert force * brake.lever + brake.tare == pytest.approx(3.0 * brake.ratio * brake.efficiency)


def test_slope_of_the_calibration_is_that_of_least_squares():
    applied, indicated = [0, 0.5, 1, 2, 3, 5], [0.002, 0.503, 1.004, 2.006, 3.008, 5.012]
    assert brake_of(RIGS / "arm_brake.yaml").slope == pytest.approx(np.polyfit(applied, indicated, 1)[0])


def test_rows_are_placed_in_their_table_and_comments_stay():
    text = with_rows(JOB, "load_test", [("10", "a"), ("9", "bc")])
    assert "      - [10,  a]\n      - [ 9, bc]\n  no_load:" in text
    assert "# falling" in text
    assert "      - [3]" in text
    assert "- [1]" not in text


def test_a_value_is_placed_and_its_comment_stays():
    assert "  zero_before: 0.004 kg     # empty scale" in with_value(JOB, "zero_before", "0.004 kg")
    with pytest.raises(ValueError, match="'zero_after' stands 0 times"):
        with_value(JOB, "zero_after", "0 kg")


def test_a_file_has_a_header_and_a_line_a_row():
    assert csv(("a", "b"), [("1", "2")]) == "a,b\n1,2\n"


@given(st.floats(0, 1e4), st.floats(0, 1e4), st.floats(0, 500))
def test_two_stretches_of_heating_are_one(first, second, loss):
    body = Body(resistance=0.2, time_constant=1200, ambient=20)
    at_once = body.after(first + second, loss)
    assert body.after(first, loss).after(second, loss).rise == pytest.approx(at_once.rise)


def test_after_one_time_constant_63_per_cent_of_the_rise_is_there():
    warm = Body(resistance=0.2, time_constant=1200, ambient=20).after(1200, 300)
    assert warm.winding == pytest.approx(20 + 60 * (1 - 1 / math.e))


def test_the_two_searches_find_what_is_known():
    assert root_between(lambda x: x * x - 2, 0, 2) == pytest.approx(math.sqrt(2), rel=1e-15)
    assert largest_within(lambda x: -((x - 0.3) ** 2), 0, 1) == pytest.approx(0.3, abs=1e-6)
    with pytest.raises(ValueError, match="no change of sign"):
        root_between(lambda x: x * x + 1, 0, 2)
