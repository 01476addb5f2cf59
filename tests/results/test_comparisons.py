from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.assessment.assess import assess
from certgen.document.build import Dimensioned, Toleranced
from certgen.job.model import Conditions
from certgen.job.rig import Scale, Tachometer
from certgen.reduction.reduce import reduce_test
from certgen.results.comparisons import before_and_after, sweeps_compared
from certgen.results.compute import compute_figures
from certgen.standards.criteria import shipped_criteria

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
PLATE = {"power": 1500.0, "current": 3.4, "frequency": 50.0, "speed": 1420 * RPM, "poles": 4}


def a_test(*, slip=1.0, kind="three-phase induction", number="T-1", serial=None, plate=PLATE, last=None):
    torque = np.array([0.03, 2.6, 5.1, 7.6, 10.1, 12.6])[:last]
    speed = (1500 - slip * np.array([7, 24, 41, 59, 79, 104])[:last]) * RPM
    current = np.array([1.9, 2.1, 2.5, 2.95, 3.4, 4.05])[:last]
    taken = torque * speed + np.array([150, 175, 205, 260, 340, 450])[:last]
    job = make_job(kind, Conditions(supply_frequency=50.0), **plate)
    certificate = replace(job.certificate, number=number, tested_on=date(2026, 3, 1))
    job = replace(job, certificate=certificate, motor=replace(job.motor, serial=serial))
    readings = make_readings(
        torque=torque, speed=speed, current=current, input_power=taken, voltage=np.full(torque.size, 400.0)
    )
    reduction = reduce_test(job, make_rig(), readings)
    criteria = shipped_criteria("iec-60034-1")
    figures = compute_figures(job, make_rig(), readings, reduction, criteria)
    return assess(job, make_rig(), reduction, figures, criteria=criteria, not_evaluated=(), inputs={})


def pairs(comparison):
    return {str(one.title): (one.first, one.second) for one in comparison.differences}


def test_a_motor_against_itself_differs_in_nothing():
    comparison = before_and_after(a_test(), a_test())
    assert len(comparison.differences) == 11
    assert all(first == second for first, second in pairs(comparison).values())
    assert comparison.note is None


def test_what_a_repair_changed_stands_side_by_side():
    comparison = before_and_after(a_test(slip=2.0, number="T-1"), a_test(slip=1.0, number="T-2"))
    found = pairs(comparison)
    assert (str(comparison.title), str(comparison.first), str(comparison.second)) == (
        "Before and after", "T-1, 2026-03-01", "T-2, 2026-03-01",
    )  # fmt: skip
    assert found["Slip at rated current"] == (pytest.approx(2 * 79 / 1500), pytest.approx(79 / 1500))
    assert found["Speed at rated current"] == (pytest.approx(1342 * RPM), pytest.approx(1421 * RPM))
    assert found["Shaft power at rated current"][0] < found["Shaft power at rated current"][1]
    assert found["No-load current"] == (1.9, 1.9)
    assert "Current at rated power" in found


def test_kinds_that_differ_are_not_compared():
    comparison = before_and_after(a_test(kind="universal"), a_test())
    assert comparison.differences == ()
    assert "universal before, three-phase induction after" in str(comparison.note)


def test_no_point_in_common_is_said():
    without = a_test(last=2, plate={**PLATE, "power": 5000.0, "current": 12.0})
    without = replace(without, characteristic=replace(without.characteristic, no_load_current=None))
    comparison = before_and_after(without, a_test())
    assert comparison.differences == ()
    assert str(comparison.note).startswith("Nothing is compared: the tests share no point.")
    assert "Not compared at rated current: no such point before." in str(comparison.note)


def test_doubts_whether_it_is_one_motor_are_said():
    comparison = before_and_after(a_test(serial="7"), a_test(serial="8", plate={**PLATE, "power": 1450.0}))
    assert "The serials differ: 7 before, 8 after." in str(comparison.note)
    assert "The plates differ in power" in str(comparison.note)
    assert comparison.differences  # and still compared


def test_a_motor_without_slip_is_compared_without_it():
    comparison = before_and_after(a_test(kind="dc"), a_test(kind="dc"))
    assert not [title for title in pairs(comparison) if "Slip" in title or "factor" in title]
    assert "poles" not in str(comparison.note)


def sweeps(hot):
    up, down = np.array([0.1, 4.0, 8.0, 12.0]), np.array([8.0, 5.0, 2.0])
    torque = np.concatenate([up, down])
    rpm = np.concatenate([1500 - 5.0 * up, 1500 - 5.0 * hot * down])
    readings = make_readings(torque=torque, speed=rpm * RPM, current=1.0 + 0.2 * torque)
    return reduce_test(make_job(conditions=Conditions(supply_frequency=50.0)), make_rig(), readings)


def test_branches_of_one_test_stand_side_by_side():
    (comparison,) = sweeps_compared(sweeps(1.2))
    assert (str(comparison.first), str(comparison.second)) == ("upwards", "downwards")
    assert [str(one.title).split(" at ")[0] for one in comparison.differences] == ["Speed", "Current"]
    speed = comparison.differences[0]
    assert str(speed.title) == "Speed at 8 N·m"
    assert (speed.first, speed.second) == (pytest.approx(1460 * RPM), pytest.approx(1452 * RPM))
    assert "downwards" in str(comparison.note)


def test_a_test_taken_one_way_has_nothing_to_compare():
    assert a_test().comparisons == ()


def reduced_and_judged(offset_rpm=0.0, arm=0.5):
    """A test on an arm and a scale, the motor some rpm slower under load; its results and what they were made of."""
    torque = np.array([0.03, 2.6, 5.1, 7.6, 10.1, 12.6])
    speed = (1500 - np.array([7, 24, 41, 59, 79, 104]) - offset_rpm * torque / 10.1) * RPM
    taken = torque * speed + np.array([150, 175, 205, 260, 340, 450])
    rig = make_rig(
        "arm",
        arm_length=Toleranced(arm, tolerance=0.005),
        scale=Scale("mass", resolution=Dimensioned(0.001, "mass"), tolerance=Dimensioned(0.001, "mass")),
        tachometer=Tachometer(pulses_per_revolution=60, gate=1.0, tolerance=3.0 * RPM),
    )
    job = make_job("three-phase induction", Conditions(supply_frequency=50.0), **PLATE)
    readings = make_readings(
        scale=torque / (0.5 * 9.80665), speed=speed, current=[1.9, 2.1, 2.5, 2.95, 3.4, 4.05], input_power=taken,
        voltage=np.full(6, 400.0), frequency=np.full(6, 50.0),
    )  # fmt: skip
    reduction = reduce_test(job, rig, readings)
    criteria = shipped_criteria("iec-60034-1")
    figures = compute_figures(job, rig, readings, reduction, criteria)
    return assess(job, rig, reduction, figures, criteria=criteria, not_evaluated=(), inputs={}), reduction


def speed_change(first, second, *, together=True):
    reductions = (first[1], second[1]) if together else None
    comparison = before_and_after(first[0], second[0], reductions)
    return next(one for one in comparison.differences if str(one.title) == "Speed at rated power")


def test_a_change_has_an_uncertainty_without_what_both_tests_share():
    """The tachometer is 3 rpm off in both tests; by itself it would hide a change of 4 rpm."""
    before, after = reduced_and_judged(), reduced_and_judged(offset_rpm=6.0)
    change, apart = speed_change(before, after), speed_change(before, after, together=False)
    assert change.expanded_uncertainty < 0.6 * apart.expanded_uncertainty
    assert abs(change.second - change.first) > change.expanded_uncertainty
    assert change.message is None
    each = [one[0].at_rated_power.speed.expanded_uncertainty for one in (before, after)]
    assert apart.expanded_uncertainty == pytest.approx(math.hypot(*each))


def test_a_change_within_its_uncertainty_is_none_shown():
    change = speed_change(reduced_and_judged(), reduced_and_judged(offset_rpm=0.5))
    assert change.first != change.second
    assert str(change.message) == "no change shown"


def test_rigs_that_differ_share_nothing():
    before, after = reduced_and_judged(), reduced_and_judged(arm=0.5001)
    change = speed_change(before, after)
    assert change.expanded_uncertainty == speed_change(before, after, together=False).expanded_uncertainty
