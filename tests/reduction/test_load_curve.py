from __future__ import annotations

import math
from dataclasses import fields

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig
from hypothesis import given, settings
from hypothesis import strategies as st
from mesh_circuit import MeshCircuit

from certgen.job.model import Conditions
from certgen.job.rig import Drive, Tachometer
from certgen.reduction.load_curve import REACH
from certgen.reduction.reduce import reduce_test

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
#: A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric Machinery, example 6.2, page 320: 220 V, 6 poles, 60 Hz.
FITZGERALD = MeshCircuit(R1=0.294, X1=0.503, R2=0.144, X2=0.209, Xm=13.25, poles=6, frequency=60.0)
ROTATIONAL = 403.0  # the book's loss at every speed but standstill [W]
PHASE = 220.0 / math.sqrt(3.0)


def under_test(slips, **plate):
    """The circuit of the book tested at some slips by a torque sensor and a wattmeter."""
    truth = FITZGERALD.at(PHASE, slips)
    speed = truth.speed
    turning = speed > 0.0
    dragged = np.divide(ROTATIONAL, speed, out=np.zeros_like(speed), where=turning)
    readings = make_readings(
        speed=speed,
        torque=truth.torque - dragged,
        voltage=np.full(speed.shape, 220.0),
        current=truth.current,
        input_power=truth.input_power,
    )
    job = make_job(conditions=Conditions(supply_frequency=60.0), poles=6, **plate)
    return reduce_test(job, make_rig(), readings)


def test_the_books_point_is_read_off_between_tested_points():
    """Fitzgerald example 6.2 at 2 % slip: 18.8 A, 42.4 N*m developed, 5221.6 W less nothing, power factor 0.846.

    The book's shaft power already has the rotational loss of 403 W taken off; efficiency 86 %.
    """
    slips = np.array([0.0022, 0.006, 0.010, 0.014, 0.018, 0.023, 0.028, 0.034])
    reduction = under_test(slips, current=18.8, power=5221.6, speed=1176 * RPM)
    at_power = reduction.operating["at_rated_power"]
    assert not at_power.extrapolated
    point = at_power.point
    # The book divides the same rounded current into each figure: 0.35 % as recomputed from its constants.
    assert point.current[0] == pytest.approx(18.8, rel=0.0035)
    assert point.power_factor[0] == pytest.approx(0.846, abs=0.0015)
    assert 100 * point.efficiency[0] == pytest.approx(86.0, abs=0.5)
    assert 100 * point.slip[0] == pytest.approx(2.0, abs=0.01)
    at_speed = reduction.operating["at_rated_speed"].point
    assert at_speed.shaft_power[0] == pytest.approx(5221.6, rel=0.0035)


@given(
    st.lists(st.floats(0.004, 0.05), min_size=6, max_size=12, unique=True).filter(
        lambda s: min(np.diff(sorted(s))) > 1e-3  # nearer loads are one knot, read as their mean
    )
)
@settings(max_examples=25, deadline=None)
def test_a_tested_point_is_a_point_of_the_curve(slips):
    """Interpolation passes through the readings: the power of a tested point is read off as that point."""
    first = under_test(sorted(slips))
    row = len(slips) // 2
    again = under_test(sorted(slips), power=float(first.points.shaft_power[row]))
    found = again.operating["at_rated_power"].point
    for name in ("torque", "speed", "current", "input_power", "efficiency", "slip"):
        assert getattr(found, name)[0] == pytest.approx(getattr(first.points, name)[row], rel=1e-6)


def test_curve_keeps_the_order_of_the_points():
    """Shape preserving: between rising currents and falling speeds nothing turns back."""
    reduction = under_test([0.002, 0.004, 0.013, 0.014, 0.03, 0.05])
    assert np.all(np.diff(reduction.curve.torque) > 0)
    assert np.all(np.diff(reduction.curve.current) > 0)
    assert np.all(np.diff(reduction.curve.speed) < 0)


def test_energy_holds_on_the_curve():
    curve = under_test([0.002, 0.01, 0.02, 0.03]).curve
    assert curve.shaft_power + curve.losses == pytest.approx(curve.input_power)
    assert curve.efficiency * curve.input_power == pytest.approx(curve.shaft_power)
    assert curve.torque * curve.speed == pytest.approx(curve.shaft_power)


def test_nothing_more_than_five_percent_beyond_the_test_is_reported():
    reduction = under_test([0.002, 0.01, 0.015, 0.02])
    greatest = float(reduction.points.shaft_power.max())
    for part, reported in (
        (0.999, True),
        (1.001, True),
        (1.0 + REACH - 0.001, True),
        (1.0 + REACH + 0.001, False),
    ):
        again = under_test([0.002, 0.01, 0.015, 0.02], power=part * greatest)
        found = again.operating["at_rated_power"]
        assert (found is not None) == reported
        if found is not None:
            assert found.extrapolated == (part > 1.0)


def test_five_percent_of_speed_is_more_than_a_slip_and_not_followed():
    """Tested to 1188 rpm; 1140 rpm is 4 % slower, yet five times the slip: not reported."""
    reduction = under_test([0.002, 0.005, 0.0075, 0.01], speed=1140 * RPM)
    assert reduction.operating["at_rated_speed"] is None


def test_beyond_breakdown_the_curve_is_not_followed():
    slip_at_breakdown = FITZGERALD.breakdown_slip(PHASE)
    slips = np.array([0.01, 0.05, 0.1, slip_at_breakdown, 0.3, 0.5, 1.0])
    reduction = under_test(slips)
    peak = float(np.nanmax(reduction.curve.shaft_power))
    again = under_test(slips, power=1.02 * peak)
    assert again.operating["at_rated_power"] is None
    assert again.peak is not None
    speed, torque = again.torque_speed
    assert speed.min() == 0.0
    assert torque.max() == pytest.approx(again.points.torque.max())


def test_a_power_met_twice_is_read_off_on_the_lighter_side():
    slips = np.array([0.005, 0.05, 0.1, 0.15, 0.18])
    reduction = under_test(slips, power=14000.0)
    assert reduction.operating["at_rated_power"].point.slip[0] < 0.1


@pytest.mark.parametrize("slips", [[0.02], [0.01, 0.02], [0.02, 0.02, 0.02]])
def test_too_few_different_torques_make_no_curve(slips):
    reduction = under_test(slips, current=18.8, power=5221.6)
    assert reduction.curve is None
    assert reduction.torque_speed is None
    assert set(reduction.operating.values()) == {None}
    assert "three" in str(reduction.curve_missing)
    assert reduction.points.count == len(slips)


def test_impossible_points_are_left_out_of_the_curve():
    good = under_test([0.002, 0.01, 0.02, 0.03])
    readings = make_readings(
        speed=np.append(good.points.speed, 120.0),
        torque=np.append(good.points.torque, 500.0),
        voltage=np.full(5, 220.0),
        current=np.append(good.points.current, 20.0),
        input_power=np.append(good.points.input_power, 6000.0),
    )
    job = make_job(conditions=Conditions(supply_frequency=60.0), poles=6)
    reduction = reduce_test(job, make_rig(), readings)
    assert reduction.points.impossible.tolist() == [False] * 4 + [True]
    assert reduction.curve.torque.max() == pytest.approx(good.points.torque.max())


def test_repeated_torques_are_averaged():
    readings = make_readings(speed=[150.0, 148.0, 146.0, 140.0], torque=[1.0, 5.0, 5.0, 9.0])
    reduction = reduce_test(make_job("other"), make_rig(), readings)
    assert reduction.curve.speed[reduction.curve.torque == 5.0] == pytest.approx([147.0])


def test_a_quantity_read_in_some_rows_only_is_known_between_them_only():
    readings = make_readings(
        speed=[150.0, 149.0, 148.0, 147.0, 146.0],
        torque=[1.0, 2.0, 3.0, 4.0, 5.0],
        current=[np.nan, 2.0, 3.0, 4.0, np.nan],
    )
    curve = reduce_test(make_job("dc"), make_rig(), readings).curve
    known = np.isfinite(curve.current)
    assert curve.torque[known].min() == 2.0
    assert curve.torque[known].max() == 4.0


def test_every_field_of_the_points_has_one_value_a_row():
    points = under_test([0.002, 0.01, 0.02]).points
    for field in fields(points):
        assert len(getattr(points, field.name)) == 3


def test_tachometer_on_the_absorber_of_a_belt():
    """The motor turns ratio times as fast as the absorber."""
    rig = make_rig(drive=Drive("belt", ratio=2.0, efficiency=0.95), tachometer=Tachometer(on="absorber"))
    reduction = reduce_test(make_job("dc"), rig, make_readings(speed=[75.0], torque=[9.5]))
    assert reduction.points.speed == pytest.approx([150.0])
    assert reduction.absorber_speed == pytest.approx([75.0])
    assert reduction.points.shaft_power * 0.95 == pytest.approx(reduction.absorber_torque * 75.0)
