from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Dimensioned
from certgen.job.model import Conditions
from certgen.job.rig import Meter, Meters, Scale, Tachometer
from certgen.reduction.load_directions import widest_gap
from certgen.reduction.reduce import reduce_test

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
UP = np.array([0.1, 3.0, 6.0, 9.0, 12.0])
DOWN = np.array([11.0, 8.0, 5.0, 2.0])


def reduced(torque, rpm, **more):
    readings = make_readings(torque=torque, speed=np.asarray(rpm) * RPM, **more)
    return reduce_test(make_job(conditions=Conditions(supply_frequency=50.0)), make_rig(), readings)


def speeds(torque, hot):
    """A motor that slips 5 rpm a newton metre cold, 20 % more hot. [rpm]"""
    return 1500 - 5.0 * np.asarray(torque) * (1.2 if hot else 1.0)


def both_ways():
    torque = np.concatenate([UP, DOWN])
    rpm = np.concatenate([speeds(UP[:-1], False), [1500 - 6.0 * 12], speeds(DOWN, True)])
    return reduced(torque, rpm)


def test_rows_up_and_down_are_told_apart():
    sweeps = both_ways().sweeps
    assert sweeps.upward.tolist() == [0, 1, 2, 3, 4]
    assert sweeps.downward.tolist() == [4, 5, 6, 7, 8]


def test_loads_taken_down_first_are_told_apart_too():
    torque = np.concatenate([UP[::-1], DOWN[::-1]])
    rpm = np.concatenate([speeds(UP[::-1], True), speeds(DOWN[::-1], False)])
    sweeps = reduced(torque, rpm).sweeps
    assert sweeps.downward.tolist() == [0, 1, 2, 3, 4]
    assert sweeps.upward.tolist() == [4, 5, 6, 7, 8]


@pytest.mark.parametrize(
    ("torque", "rpm"),
    [
        (UP, speeds(UP, False)),  # one way only
        (UP[::-1], speeds(UP[::-1], True)),
        ([0.1, 6, 12, 11], [1499, 1470, 1440, 1444]),  # one row back is no branch
        ([0.1, 6, 12, 16, 15, 12, 9], [1499, 1470, 1430, 1300, 1200, 1000, 700]),  # past breakdown
        ([0.1, 6, 3, 9, 5, 12], [1499, 1470, 1485, 1455, 1475, 1440]),  # to and fro
    ],
)
def test_other_tests_have_no_branches(torque, rpm):
    assert reduced(torque, rpm).sweeps is None


def test_a_small_step_back_breaks_no_branch():
    """A sensor read in 0.05 N*m: loads read again on the way, one step lighter and one heavier."""
    up, down = np.array([0.1, 3.0, 6.0, 5.95, 9.0, 12.0]), np.array([11.0, 8.0, 8.05, 5.0, 2.0])
    rpm = np.concatenate([speeds(up[:-1], False), [1500 - 6.0 * 12], speeds(down, True)])
    readings = make_readings(torque=np.concatenate([up, down]), speed=rpm * RPM)
    rig = make_rig(meters=Meters(torque=Meter(reading=0.001, resolution=0.05)))
    found = reduce_test(make_job(conditions=Conditions(supply_frequency=50.0)), rig, readings)
    assert found.sweeps.upward.tolist() == [0, 1, 2, 3, 4, 5]
    assert found.sweeps.downward.tolist() == [5, 6, 7, 8, 9, 10]
    assert found.uncertainties.errors.along.curve.torque == pytest.approx([2.0, 5.0, 8.025, 11.0, 12.0])


def test_the_curve_rests_on_the_loads_taken_downwards():
    """With both branches in it, the curve would go up and down between them."""
    reduction = both_ways()
    curve = reduction.curve
    assert curve.speed == pytest.approx(speeds(curve.torque, True) * RPM, rel=1e-6)
    assert np.all(np.diff(curve.speed) < 0.0)
    assert curve.torque[-1] == 12.0
    assert reduction.points.count == 9


def test_the_widest_gap_is_at_a_torque_of_both():
    reduction = both_ways()
    gap = widest_gap(reduction.branches, "speed")
    assert gap.torque == 9.0  # up 1455 rpm; at 11 the upward branch bends to its hot end
    assert gap.upward == pytest.approx(1455 * RPM)
    assert gap.downward == pytest.approx(1446 * RPM, rel=1e-5)


def test_a_gap_has_an_uncertainty_without_what_both_branches_share():
    """A tachometer 5 rpm off is off on both branches; one pulse more or less, 1 rpm, is each reading's own."""
    torque, rpm = np.concatenate([UP, UP[-2::-1]]), speeds(np.concatenate([UP, UP[-2::-1]]), False)
    readings = make_readings(torque=torque, speed=rpm * RPM, time=60.0 * np.arange(torque.size))
    rig = make_rig(
        tachometer=Tachometer(pulses_per_revolution=60, gate=1.0, tolerance=5.0 * RPM),
        meters=Meters(torque=Meter(reading=0.001)),
    )
    found = reduce_test(make_job(conditions=Conditions(supply_frequency=50.0)), rig, readings)
    errors = found.uncertainties.errors
    gap = widest_gap(found.branches, "speed", errors)
    assert gap.upward == pytest.approx(gap.downward)
    # JCGM 100:2008, 5.1.2: two readings of 1 rpm / sqrt(3) each, at a torque where both have one
    assert errors.uncertainty(gap.difference).standard == pytest.approx(math.sqrt(2.0 / 3.0) * RPM, rel=1e-3)
    row = found.uncertainties.points[0]["speed"].standard
    assert row == pytest.approx(math.sqrt((5.0**2 + 1.0) / 3.0) * RPM, rel=1e-3)


def test_a_scales_hysteresis_parts_the_branches():
    """What the scale drags behind shows one way up and the other way down: it does not cancel, it doubles."""
    torque = np.concatenate([UP, UP[-2::-1]])
    speed = speeds(torque, False) * RPM
    readings = make_readings(scale=torque / (0.5 * 9.80665), speed=speed, time=60.0 * np.arange(9))
    stated = {"tolerance": Dimensioned(1e-6, "mass"), "resolution": Dimensioned(1e-6, "mass")}
    scale = Scale("mass", hysteresis=Dimensioned(0.02, "mass"), **stated)
    rig = make_rig("arm", scale=scale, tachometer=Tachometer(tolerance=5.0 * RPM))
    found = reduce_test(make_job(conditions=Conditions(supply_frequency=50.0)), rig, readings)
    errors = found.uncertainties.errors
    gap = widest_gap(found.branches, "speed", errors)
    half = 0.01 * 9.80665 * 0.5 / math.sqrt(3.0)  # N*m, of torque, standard
    assert errors.uncertainty(gap.difference).standard >= 2.0 * half * 5.0 * RPM * 0.9


def test_a_quantity_not_read_has_no_gap():
    reduction = both_ways()
    assert widest_gap(reduction.branches, "current") is None


@given(st.floats(-0.4, 0.4))
def test_branches_that_agree_have_no_gap(shift):
    torque = np.concatenate([UP, DOWN + shift])
    reduction = reduced(torque, speeds(torque, False))
    assert widest_gap(reduction.branches, "speed").upward == pytest.approx(
        widest_gap(reduction.branches, "speed").downward, rel=1e-9
    )
