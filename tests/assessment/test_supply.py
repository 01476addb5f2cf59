"""The supply of a test against plate and standard."""

from __future__ import annotations

import math

import pytest
from builders import figures_of, findings_of, fine_rig, known_supply, make_job, make_readings, verdict_on

from certgen.assessment.cautions import cautions_of
from certgen.assessment.supply import supply_findings
from certgen.job.model import Conditions
from certgen.reduction.reduce import reduce_test
from certgen.standards.criteria import CriteriaSet, shipped_criteria

RPM = math.pi / 30.0
PLATE = {"voltage": 400.0, "frequency": 50.0, "power": 10.0 * 1420 * RPM, "poles": 4}


def findings(kind="three-phase induction", *, criteria="iec-60034-1", frequency=50.0, plate=None, **columns):
    columns = {"speed": [1490 * RPM, 1450 * RPM, 1420 * RPM], "torque": [0.1, 5.0, 10.0], **columns}
    conditions = Conditions() if frequency is None else known_supply(frequency)
    job = make_job(kind, conditions, **(PLATE if plate is None else plate))
    reduction = reduce_test(job, fine_rig(), make_readings(**columns))
    found = supply_findings(job, reduction, shipped_criteria(criteria))
    return {one.id: one for one in found}, job, reduction


@pytest.mark.parametrize(("criteria", "low", "high"), [("iec-60034-1", 380.0, 420.0), ("nema-mg-1", 360.0, 440.0)])
def test_voltage_by_the_limits_of_the_set(criteria, low, high):
    """IEC 60034-1, zone A: 5 %; NEMA MG 1, 12.44: 10 %."""
    found = findings(criteria=criteria, voltage=[400.0, 390.0, 379.0])[0]["supply_voltage"]
    assert (found.declared, found.measured, found.unit) == (400.0, 379.0, "V")
    assert (found.required.low, found.required.high) == pytest.approx((low, high))
    assert found.outcome == ("fail" if low > 379.0 else "pass")
    assert not found.decides


def test_the_worst_running_point_is_told_and_a_motor_at_rest_is_not_looked_at():
    found = findings(speed=[1490 * RPM, 1420 * RPM, 0.0], torque=[0.1, 10.0, 20.0], voltage=[404.0, 398.0, 200.0])[0][
        "supply_voltage"
    ]
    assert found.measured == pytest.approx(404.0)


def test_frequency_as_measured_or_stated():
    found = findings(frequency=51.1)[0]["supply_frequency"]
    assert (found.declared, found.outcome, found.unit) == (50.0, "fail", "Hz")
    assert found.measured == pytest.approx(51.1)
    assert "more than the 0.1 % allowed for a test (IEC 60034-2-1" in str(found.note)
    assert "from memory" in str(found.note)


def test_a_frequency_stated_as_on_the_plate_is_not_told_again():
    assert "supply_frequency" not in findings()[0]
    assert "supply_frequency" in findings(frequency=50.02)[0]


def test_the_plates_own_frequency_is_no_measurement():
    assert "supply_frequency" not in findings(frequency=None)[0]


def test_voltage_and_frequency_together():
    """NEMA MG 1, 12.44.1: the sum of both deviations within 10 %."""
    found = findings(criteria="nema-mg-1", frequency=48.0, voltage=[400.0, 376.0, 372.0])[0]
    assert found["supply_voltage"].outcome == found["supply_frequency"].outcome == "pass"
    assert found["supply_combined"].measured == pytest.approx(0.04 + 0.07)
    assert found["supply_combined"].outcome == "fail"
    assert "supply_combined" not in findings(frequency=48.0, voltage=[400.0, 376.0, 372.0])[0]


LINES = {"voltage_ab": [400.0] * 3, "voltage_bc": [400.0] * 3}


@pytest.mark.parametrize(
    ("third", "outcome", "said"),
    [
        (399.0, "pass", ""),
        (396.5, "pass", "more than the 0.5 % allowed for a test"),
        (388.0, "fail", "derated to 0.95 of rated power (NEMA MG 1, Figure 14-1)"),
    ],
)
def test_unbalance_of_the_voltages(third, outcome, said):
    """NEMA MG 1, 12.45: 1 %; 388 V in one line is 2.02 % by hand (8 / 396)."""
    found = findings(**LINES, voltage_ca=[400.0, 400.0, third])[0]["voltage_unbalance"]
    assert found.measured == pytest.approx(2.0 / 3.0 * (400.0 - third) / ((800.0 + third) / 3.0))
    assert found.outcome == outcome
    assert said in str(found.note)
    assert (found.note == "") == (said == "")


CURRENTS = {"current_a": [2.0, 2.5, 4.0], "current_b": [2.0, 2.5, 3.0], "current_c": [1.2, 2.5, 3.5]}


def test_unbalance_of_the_currents_near_the_rating():
    """The heaviest point is at rated power: 4, 3, 3.5 A, 14.3 % by hand; at light load it says little."""
    found = findings(**CURRENTS)[0]["current_unbalance"]
    assert found.measured == pytest.approx(0.5 / 3.5)
    assert found.outcome == "fail"
    assert "common practice" in str(found.source)


@pytest.mark.parametrize(
    ("third", "said"), [(388.0, "the supply's own unbalance explains it"), (397.0, "more than the supply")]
)
def test_currents_are_held_against_what_the_supply_explains(third, said):
    """NEMA MG 1, 14.36: currents 6 to 10 times as unbalanced as voltages."""
    assert said in str(findings(**CURRENTS, **LINES, voltage_ca=[third] * 3)[0]["current_unbalance"].note)


@pytest.mark.parametrize("third", [0.0, 0.9])
def test_a_dead_line_takes_the_statement_away_and_warns(third):
    """By hand: 4, 4, 0 A are off their mean by all of it, 4, 4, 0.9 A by 69.7 %."""
    currents = {"current_a": [2.0, 2.5, 4.0], "current_b": [2.0, 2.5, 4.0], "current_c": [third] * 3}
    found, job, reduction = findings(**currents, plate={**PLATE, "current": 4.0})
    unbalance = found["current_unbalance"]
    assert unbalance.measured == pytest.approx(1.0 - third / ((8.0 + third) / 3.0))
    assert unbalance.decides
    judged = (*findings_of(job, reduction, shipped_criteria("iec-60034-1")), *found.values())
    verdict = verdict_on(job, reduction, judged)
    assert (verdict.outcome, verdict.kind) == ("no verdict", "supply")
    assert "a line is open or its meter is dead" in str(verdict.reasons[0])
    warned = {one.id for one in cautions_of(job, fine_rig(), reduction, figures_of(job, fine_rig(), reduction), judged)}
    assert "current_unbalance" in warned


def test_currents_off_by_less_than_half_are_for_information():
    assert not findings(**CURRENTS)[0]["current_unbalance"].decides


def test_a_set_without_limits_of_the_supply_asks_nothing():
    _, job, reduction = findings(voltage=[300.0] * 3)
    criteria = shipped_criteria("iec-60034-1")
    bare = CriteriaSet("ours", "Ours", "1", None, criteria.criteria)
    assert supply_findings(job, reduction, bare) == ()


def test_a_direct_current_motor_has_no_frequency():
    assert set(findings("dc", frequency=60.0, voltage=[180.0] * 3, plate={"voltage": 180.0, "frequency": 50.0})[0]) == {
        "supply_voltage"
    }


def verdict(**columns):
    taken = {"current": [2.0, 3.0, 4.0], "input_power": [150.0, 950.0, 1900.0], **columns}
    found, job, reduction = findings(plate={**PLATE, "current": 4.2}, **taken)
    every = findings_of(job, reduction, shipped_criteria("iec-60034-1")) + tuple(found.values())
    return verdict_on(job, reduction, every), found


def test_a_supply_off_its_limits_is_not_the_motors_failure():
    judged, found = verdict(voltage=[400.0, 390.0, 378.0])
    assert found["supply_voltage"].outcome == "fail"
    assert judged.outcome == "pass"


@pytest.mark.parametrize(
    "columns",
    [
        {"voltage": [400.0, 380.0, 350.0]},  # zone B ends at 10 %
        {"voltage": [400.0] * 3, "frequency": 51.6},  # and at +3 %
        {**LINES, "voltage_ca": [400.0, 400.0, 360.0]},  # 6.9 % unbalanced, 5 % is the most
    ],
)
def test_beyond_what_a_motor_may_run_on_no_statement_is_made(columns):
    judged, _ = verdict(**columns)
    assert (judged.outcome, judged.kind) == ("no verdict", "supply")
    assert "outside what a motor may run on" in str(judged.reasons[0])


def test_a_voltage_that_sags_past_the_rating_takes_no_statement_away():
    judged, found = verdict(
        speed=[1490 * RPM, 1420 * RPM, 1200 * RPM],
        torque=[0.1, 10.0, 20.0],
        voltage=[400.0, 399.0, 350.0],
        current=[2.0, 4.0, 9.0],
        input_power=[150.0, 1900.0, 3600.0],
    )
    assert found["supply_voltage"].outcome == "fail"
    assert not found["supply_voltage"].decides
    assert judged.outcome == "pass"
