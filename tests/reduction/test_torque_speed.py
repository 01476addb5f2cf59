"""Breakdown and pull-up torque read from sampled curves of worked examples.

The figures of the books are those of the textbook companions (FOSSEE), which recompute the examples.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig
from hypothesis import given
from hypothesis import strategies as st
from mesh_circuit import MeshCircuit

from certgen.job.model import Conditions
from certgen.physics.curves import ShapePreserving
from certgen.reduction.load_curve import summit_index, torque_speed_of
from certgen.reduction.reduce import reduce_test

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
ROOT_THREE = math.sqrt(3.0)
LB_FT_7_04 = 1.0 / (7.04 * RPM)  # the pound-foot of a book that takes T = 7.04 P / n


def reduced(speed, torque, kind="three-phase induction"):
    """A reduced test of torque over speed [rpm, N*m] on a 60 Hz supply."""
    job = make_job(kind, Conditions(supply_frequency=60.0))
    readings = make_readings(speed=np.asarray(speed) * RPM, torque=np.asarray(torque, dtype=float))
    return reduce_test(job, make_rig(), readings)


def sampled(circuit, phase_voltage, step):
    """Torque developed at every ``step`` rpm from standstill to just below synchronous speed."""
    synchronous = circuit.field_speed / RPM
    speed = np.arange(0.0, synchronous - step / 2, step)
    return reduced(speed, circuit.at(phase_voltage, 1.0 - speed / synchronous).torque).extremes


def circuit(r1, x1, r2, x2, xm=1e7, *, poles, frequency):
    return MeshCircuit(r1, x1, r2, x2, xm, poles, frequency)


def test_fitzgerald_example_6_3():
    """Fitzgerald, Kingsley, Umans, Electric Machinery, ex. 6.3, p. 325: 175 N*m at 970 rpm, 77.6 N*m at start."""
    found = sampled(circuit(0.294, 0.503, 0.144, 0.209, 13.25, poles=6, frequency=60.0), 220 / ROOT_THREE, 1.0)
    assert found.breakdown.torque == pytest.approx(175, abs=0.5)
    assert found.breakdown.speed / RPM == pytest.approx(970, abs=0.5)
    assert found.pull_up.torque == pytest.approx(77.6, abs=0.05)  # a single cage has no saddle: least at standstill
    assert found.pull_up.speed == 0.0


def test_bird_example_22_10():
    """J. Bird, Electrical Circuit Theory and Technology, ex. 22.10, p. 398: 113.17 N*m at 1350 rpm, start 22.41."""
    found = sampled(circuit(0, 0, 0.35 / 0.85**2, 3.5 / 0.85**2, poles=4, frequency=50.0), 415 / ROOT_THREE, 10.0)
    assert found.breakdown.torque == pytest.approx(113.17, abs=0.005)
    assert found.breakdown.speed / RPM == pytest.approx(1350.0, abs=0.05)
    assert found.pull_up.torque == pytest.approx(22.41, abs=0.005)


def test_guru_example_9_6():
    """Guru, Hiziroglu, Electric Machinery and Transformers, ex. 9.6, p. 531: 2864.789 N*m at slip 0.25, start 0.47."""
    found = sampled(circuit(0, 0, 0.02, 0.08, poles=8, frequency=60.0), 120.0, 5.0)
    assert found.breakdown.torque == pytest.approx(2864.789, abs=0.0005)
    assert 1.0 - found.breakdown.speed / RPM / 900.0 == pytest.approx(0.25, abs=0.005)
    assert found.pull_up.torque / found.breakdown.torque == pytest.approx(0.47, abs=0.005)


def test_kosow_examples_9_13_and_9_14():
    """I. L. Kosow, Electric Machinery and Transformers, ex. 9-13, 9-14: 17.75 lb-ft at slip 0.3, start 9.77."""
    slip = np.arange(1.0, 0.0, -0.01)
    torque = 17.75 * 2.0 / (slip / 0.3 + 0.3 / slip) * LB_FT_7_04
    found = reduced(1800.0 * (1.0 - slip), torque).extremes
    assert found.breakdown.torque / LB_FT_7_04 == pytest.approx(17.75, abs=0.005)
    assert 1.0 - found.breakdown.speed / RPM / 1800.0 == pytest.approx(0.3, abs=0.005)
    assert found.pull_up.torque / LB_FT_7_04 == pytest.approx(9.77, abs=0.005)


def test_gupta_example_1_16():
    """Gupta, Manglik, Elements of Electric Drives, ex. 1.16, p. 77: 1.44 at start, 3.129 at slip 0.244."""
    summit = math.sqrt((1.44 - 0.04) / (1.0 / 0.04 - 1.44))  # of (s_f/s_m + s_m/s_f)/(1/s_m + s_m) = 1.44
    slip = np.arange(1.0, 0.0, -0.002)
    torque = (0.04 / summit + summit / 0.04) / (slip / summit + summit / slip)
    found = reduced(1800.0 * (1.0 - slip), torque).extremes
    assert found.breakdown.torque == pytest.approx(3.129, abs=0.003)  # the book rounds s_m to 0.244: 0.001
    assert 1.0 - found.breakdown.speed / RPM / 1800.0 == pytest.approx(0.244, abs=0.0015)  # the step of the samples
    assert found.pull_up.torque == pytest.approx(1.44, abs=0.005)


SPEED = np.array([1790.0, 1760.0, 1720.0, 1650.0, 1500.0, 1200.0, 800.0, 400.0, 0.0])
#: A cage motor with a saddle at 400 rpm.
SADDLE = np.array([0.2, 5.0, 10.0, 16.0, 20.0, 17.0, 14.0, 13.0, 15.0])


def test_a_saddle_is_pull_up_torque():
    found = reduced(SPEED, SADDLE).extremes
    assert (found.breakdown.torque, found.breakdown.speed / RPM) == pytest.approx((20.0, 1500.0))
    assert (found.pull_up.torque, found.pull_up.speed / RPM) == pytest.approx((13.0, 400.0))
    assert found.points_below == 4
    assert found.widest_gap / RPM == pytest.approx(400.0)


def test_the_shape_preserving_curve_has_its_extremes_at_tested_points():
    """F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238: no overshoot."""
    curve = ShapePreserving(SPEED[::-1], SADDLE[::-1])
    dense = np.asarray(curve(np.linspace(0.0, 1500.0, 4001)))
    found = reduced(SPEED, SADDLE).extremes
    assert dense.max() == pytest.approx(found.breakdown.torque)
    assert dense.min() == pytest.approx(found.pull_up.torque)


def test_a_test_that_stops_before_breakdown_proves_only_a_least():
    found = reduced(SPEED[:5], SADDLE[:5]).extremes
    assert found.breakdown is None
    assert found.pull_up is None
    assert (found.greatest.torque, found.greatest.speed / RPM) == pytest.approx((20.0, 1500.0))


def test_a_test_that_stops_past_breakdown_has_no_pull_up():
    found = reduced(SPEED[:7], SADDLE[:7]).extremes
    assert found.breakdown.torque == pytest.approx(20.0)
    assert found.pull_up is None
    assert found.slowest / RPM == pytest.approx(800.0)


def test_a_wide_gap_hides_a_dip():
    keep = [0, 1, 2, 3, 4, 5, 8]
    found = reduced(SPEED[keep], SADDLE[keep]).extremes
    assert found.breakdown is not None
    assert found.pull_up is None


def test_a_standstill_row_alone_is_not_the_other_side_of_breakdown():
    keep = [0, 1, 2, 3, 8]
    reduction = reduced(SPEED[keep], SADDLE[keep])
    assert reduction.extremes.breakdown is None
    assert reduction.extremes.greatest.torque == pytest.approx(16.0)
    assert reduction.curve.torque.max() == pytest.approx(16.0)  # the load curve ends where the running points end
    assert reduction.peak is None


def test_a_capacitor_start_motor_breaks_down_below_its_locked_rotor_torque():
    """Kosow, ex. 10-4, p. 345: 1/3 hp, breakdown 2.5 and locked rotor 4.5 times rated torque."""
    speed = [1790, 1770, 1750, 1700, 1600, 1450, 1350, 1300, 900, 450, 0]
    torque = [0.1, 0.55, 1.0, 1.9, 2.5, 2.2, 1.9, 4.2, 4.4, 4.4, 4.5]  # with the start winding from 1300 rpm down
    reduction = reduced(speed, torque, "single-phase induction")
    assert reduction.extremes.breakdown.torque == pytest.approx(2.5)
    assert reduction.extremes.breakdown.speed / RPM == pytest.approx(1600.0)
    assert reduction.curve.torque.max() == pytest.approx(2.5)


def test_scatter_at_the_summit_is_no_second_summit():
    speed = [1790, 1750, 1700, 1650, 1600, 1550, 1500, 1400, 1200, 900]
    torque = [0.1, 4.0, 8.0, 9.9, 9.6, 10.0, 9.8, 9.5, 8.0, 6.0]
    assert reduced(speed, torque).extremes.breakdown.torque == pytest.approx(10.0)


def test_two_sweeps_of_different_warmth_have_no_summit_between():
    """A warm motor slips more: sorted by speed its points stand between those of the cold sweep."""
    speed = [1790, 1775, 1760, 1745, 1788, 1770, 1751, 1732]
    torque = [0.1, 3.0, 6.0, 9.0, 0.1, 3.0, 6.0, 9.0]
    assert reduced(speed, torque).extremes.breakdown is None


def test_a_commutator_motor_has_no_breakdown():
    speed = np.array([3000.0, 2500.0, 2000.0, 1000.0, 0.0])
    reduction = reduced(speed, [0.5, 1.0, 1.5, 2.5, 3.5], "dc")
    assert reduction.extremes is None
    assert reduction.curve.torque.max() == pytest.approx(3.5)


def test_impossible_points_tell_nothing():
    points = reduced(np.append(SPEED, 1450.0), np.append(SADDLE, 40.0)).points
    assert torque_speed_of(points).breakdown.torque == pytest.approx(40.0)
    wrong = replace(points, input_power=np.where(points.torque == 40.0, 1000.0, np.nan))
    assert torque_speed_of(wrong).breakdown.torque == pytest.approx(20.0)


@given(st.permutations(range(9)))
def test_the_order_of_the_rows_does_not_matter(order):
    found = summit_index(SPEED[order], SADDLE[order])
    assert SADDLE[order][found] == 20.0
    assert torque_speed_of(reduced(SPEED, SADDLE).points.chosen(np.array(order))) == reduced(SPEED, SADDLE).extremes


@given(st.floats(0.01, 100.0), st.floats(0.2, 5.0))
def test_a_larger_motor_of_the_same_shape(torque_scale, speed_scale):
    one = reduced(SPEED, SADDLE).points
    other = replace(one, torque=one.torque * torque_scale, speed=one.speed * speed_scale)
    found, scaled = torque_speed_of(one), torque_speed_of(other)
    assert scaled.breakdown.torque == pytest.approx(found.breakdown.torque * torque_scale)
    assert scaled.pull_up.speed == pytest.approx(found.pull_up.speed * speed_scale)
