from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table
from hypothesis import given
from hypothesis import strategies as st

from certgen.job.model import Conditions
from certgen.reduction.heat import heat_run_load, load_where, power_within
from certgen.reduction.reduce import reduce_test

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
SPEED = np.array([1493, 1476, 1459, 1441, 1421, 1396]) * RPM
TORQUE = np.array([0.03, 2.6, 5.1, 7.6, 10.1, 12.6])
CURRENT = np.array([1.9, 2.1, 2.5, 2.95, 3.4, 4.05])
LOSSES = np.array([150, 175, 205, 260, 340, 450])


def a_test(**heat_run):
    readings = make_readings(
        speed=SPEED, torque=TORQUE, voltage=np.full(6, 400.0), current=CURRENT, input_power=TORQUE * SPEED + LOSSES
    )
    if heat_run:
        readings = replace(readings, others={"heat_run": make_table(**heat_run)})
    job = make_job(conditions=Conditions(supply_frequency=50.0))
    return readings, reduce_test(job, make_rig(), readings).curve


def held(**heat_run):
    readings, curve = a_test(time=[0.0, 600.0, 1200.0], **heat_run)
    return heat_run_load(readings, make_rig(), curve, motor_type="three-phase induction", gravity=None)


def test_the_power_at_a_limit_is_that_of_the_tested_point_on_it():
    _, curve = a_test()
    assert power_within(curve, curve.losses, 340.0) == pytest.approx(10.1 * 1421 * RPM)


def test_a_limit_never_reached_allows_all_that_was_tested():
    _, curve = a_test()
    assert power_within(curve, curve.losses, 1e9) == pytest.approx(12.6 * 1396 * RPM)


def test_a_limit_passed_at_the_lightest_load_allows_nothing():
    _, curve = a_test()
    assert power_within(curve, curve.losses, 10.0) is None


def test_a_quantity_not_known_along_the_curve_allows_nothing():
    _, curve = a_test()
    assert power_within(curve, np.full(curve.count, np.nan), 1e9) is None


@given(st.floats(151, 600), st.floats(0.5, 1.0))
def test_a_tighter_limit_never_allows_more(limit, part):
    _, curve = a_test()
    wide, tight = power_within(curve, curve.losses, limit), power_within(curve, curve.losses, limit * part)
    assert tight is None or tight <= wide


@given(st.floats(100.0, 1841.0))
def test_the_load_of_a_power_has_that_power(power):
    """Linear between neighbours of the dense curve: the product of torque and speed bends by less than 0.01 %."""
    _, curve = a_test()
    point = load_where(curve, "shaft_power", power)
    assert point.shaft_power[0] == pytest.approx(power)
    assert point.torque[0] * point.speed[0] == pytest.approx(power, rel=1e-4)


def test_a_load_beyond_the_curve_is_not_made_up():
    _, curve = a_test()
    assert load_where(curve, "shaft_power", 2000.0) is None
    assert load_where(curve, "current", 1.0) is None


@pytest.mark.parametrize(
    ("column", "values"),
    [
        ("current", [3.4, 3.4, 3.4]),
        ("input_power", [np.nan, 10.1 * 1421 * RPM + 340, 10.1 * 1421 * RPM + 340]),
        ("torque", [10.1, 10.1, 10.1]),
    ],
)
def test_whatever_was_read_beside_the_temperatures_gives_the_load(column, values):
    assert held(**{column: values}).torque[0] == pytest.approx(10.1, rel=1e-3)


def test_the_lines_of_a_three_phase_motor_give_it_too():
    assert held(current_a=[3.5] * 3, current_b=[3.4] * 3, current_c=[3.3] * 3).torque[0] == pytest.approx(
        10.1, rel=1e-3
    )


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"frame_temperature": [293.0, 300.0, 305.0]}, "its current, its input power, or its speed and torque"),
        ({"current": [3.4, 2.9, 3.4]}, "wandered by more than 5 %"),
        ({"current": [5.0, 5.0, 5.0]}, "on both sides of the load of the heat run"),
    ],
)
def test_a_load_that_is_not_known_says_what_to_read(columns, words):
    assert words in str(held(**columns))


def test_without_a_heat_run_one_is_asked_for():
    readings, curve = a_test()
    found = heat_run_load(readings, make_rig(), curve, motor_type="three-phase induction", gravity=None)
    assert str(found).startswith("a heat run")
