from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import findings_of, fine_rig, known_supply, make_job, make_readings
from hypothesis import given
from hypothesis import strategies as st

from certgen.assessment.decision import outcome_of
from certgen.assessment.findings import applies
from certgen.reduction.reduce import reduce_test
from certgen.results.model import Limits
from certgen.standards.criteria import Criterion, shipped_criteria

RPM = math.pi / 30.0
IEC = shipped_criteria("iec-60034-1")
NEMA = shipped_criteria("nema-mg-1")
FIFTY = known_supply()
#: A 1.5 kW plate in SI.
PLATE = {
    "power": 1500.0, "voltage": 400.0, "current": 3.4, "frequency": 50.0, "speed": 1420 * RPM, "poles": 4,
    "power_factor": 0.79, "efficiency": 0.80,
}  # fmt: skip


def a_test(
    plate=None, *, currents=(1.9, 2.1, 2.5, 2.95, 3.4, 4.05), more_power=1.0, kind="three-phase induction", **extra
):
    """Six points of a sound 1.5 kW motor; ``more_power`` scales what it takes in."""
    speed = np.array([1493, 1476, 1459, 1441, 1421, 1396]) * RPM
    torque = np.array([0.03, 2.6, 5.1, 7.6, 10.1, 12.6])
    losses = np.array([150, 175, 205, 260, 340, 450])
    readings = make_readings(
        speed=speed,
        torque=torque,
        voltage=np.full(6, 400.0),
        current=np.array(currents),
        input_power=(torque * speed + losses) * more_power,
        winding_temperature=np.full(6, 273.15 + 75.0),
        **extra,
    )
    job = make_job(kind, FIFTY, **(PLATE if plate is None else plate))
    return job, reduce_test(job, fine_rig(), readings)


def one_point(*, speed=1421.0, torque=10.1, current=3.46, input_power=1843.0):
    """The same motor at one load only, its winding at 75 degC."""
    readings = make_readings(
        speed=[speed * RPM],
        torque=[torque],
        voltage=[400.0],
        current=[current],
        input_power=[input_power],
        winding_temperature=[273.15 + 75.0],
    )
    job = make_job(conditions=FIFTY, **PLATE)
    return job, reduce_test(job, fine_rig(), readings)


def by_id(findings):
    return {one.id: one for one in findings}


def test_a_sound_motor_meets_every_row():
    findings = findings_of(*a_test(), IEC)
    assert {one.outcome for one in findings} == {"pass"}
    assert set(by_id(findings)) == {
        "energy_balance", "power_at_rated_current", "torque_at_rated_current", "current_at_rated_power",
        "slip_at_rated_power", "efficiency_at_rated_power", "power_factor_at_rated_power",
    }  # fmt: skip


def test_figures_of_a_finding():
    slip = by_id(findings_of(*a_test(), IEC))["slip_at_rated_power"]
    assert slip.declared == pytest.approx(80 / 1500)
    assert slip.required.low == pytest.approx(64 / 1500)
    assert slip.required.high == pytest.approx(96 / 1500)
    assert slip.measured == pytest.approx(79.1 / 1500, rel=0.01)
    assert slip.unit == "1"
    published = "IEC 60034-1 1996, 12.1, slip at full load and working temperature, rated power 1 kW and above"
    assert str(slip.source) == published
    assert str(slip.note) == "at working temperature, from a winding at 75 °C"


def test_too_much_input_power_fails_efficiency_alone_of_the_ratios():
    found = by_id(findings_of(*a_test(more_power=1.12), IEC))
    assert found["efficiency_at_rated_power"].outcome == "fail"
    assert found["slip_at_rated_power"].outcome == "pass"


def test_too_much_current_fails_and_power_and_torque_at_rated_current_are_told():
    found = by_id(findings_of(*a_test(currents=(2.3, 2.6, 3.1, 3.6, 4.1, 4.9)), IEC))
    assert found["current_at_rated_power"].outcome == "fail"
    assert found["current_at_rated_power"].decides
    for name in ("power_at_rated_current", "torque_at_rated_current"):
        assert found[name].outcome == "fail", name
        assert not found[name].decides, name


def test_rows_the_plate_says_nothing_of_are_left_out():
    job, reduction = a_test({"power": 1500.0, "frequency": 50.0})
    found = by_id(findings_of(job, reduction, IEC))
    assert set(found) == {"energy_balance", "power_at_rated_current"}
    assert str(found["power_at_rated_current"].note) == "the nameplate gives no current"


def test_a_load_not_reached_is_not_tested_and_says_so():
    job, reduction = a_test({**PLATE, "power": 2200.0, "current": 4.9})
    found = by_id(findings_of(job, reduction, IEC))
    assert found["current_at_rated_power"].outcome == "not tested"
    assert found["current_at_rated_power"].measured is None
    assert str(found["power_at_rated_current"].note) == "rated current is outside the tested range"


def test_without_input_power_efficiency_is_not_tested():
    speed, torque = np.array([1493, 1459, 1421, 1396]) * RPM, np.array([0.03, 5.1, 10.1, 12.6])
    readings = make_readings(
        speed=speed,
        torque=torque,
        voltage=np.full(4, 400.0),
        current=[1.9, 2.5, 3.4, 4.05],
        winding_temperature=np.full(4, 273.15 + 75.0),
    )
    job = make_job(conditions=FIFTY, **PLATE)
    found = by_id(findings_of(job, reduce_test(job, fine_rig(), readings), IEC))
    assert str(found["efficiency_at_rated_power"].note) == "efficiency was not measured"
    assert found["energy_balance"].outcome == "not tested"
    assert found["slip_at_rated_power"].outcome == "pass"


def test_an_extrapolated_point_is_judged_and_said():
    job, reduction = a_test({**PLATE, "power": 1890.0})
    found = by_id(findings_of(job, reduction, IEC))["current_at_rated_power"]
    assert str(found.note) == "extrapolated, at most 5 % beyond the tested range"
    assert found.outcome == "fail"


def test_one_point_near_rated_current_is_judged():
    found = by_id(findings_of(*one_point(), IEC))
    assert found["power_at_rated_current"].outcome == "pass"
    assert str(found["power_at_rated_current"].note) == "judged at a tested point, +1.8 % off rated current"
    assert found["efficiency_at_rated_power"].outcome == "pass"


def test_one_point_far_from_the_rating_is_not_judged():
    found = by_id(findings_of(*one_point(speed=1459, torque=5.1, current=2.5, input_power=984.0), IEC))
    assert found["power_at_rated_current"].outcome == "not tested"
    assert "within 5 %" in str(found["power_at_rated_current"].note)
    assert "within 15 %" in str(found["current_at_rated_power"].note)


def test_energy_balance_names_row_and_causes():
    speed, torque = np.array([1493, 1459, 1421, 1396]) * RPM, np.array([0.03, 5.1, 10.1, 12.6])
    readings = make_readings(speed=speed, torque=torque, input_power=[150.0, 984.0, 1400.0, 2300.0])
    job = make_job(conditions=FIFTY, **PLATE)
    found = by_id(findings_of(job, reduce_test(job, fine_rig(), readings), IEC))["energy_balance"]
    assert found.outcome == "fail"
    assert str(found.note).startswith("impossible in row 3; likely causes: ")
    assert not found.decides
    assert found.measured > 1.0


@pytest.mark.parametrize(("power", "expected"), [(999.0, 0.3), (1000.0, 0.2)])
def test_slip_row_by_rating(power, expected):
    """IEC 60034-1:1996, 12.1: the split at 1 kW."""
    job = make_job(conditions=FIFTY, power=power, speed=1420 * RPM)
    fitting = [row for row in IEC.criteria if row.id == "slip_at_rated_power" and applies(row, job)]
    assert [row.high.part for row in fitting] == [expected]


@pytest.mark.parametrize(("speed", "expected"), [(3000, 0.20), (1000, 0.15)])
def test_speed_row_of_series_machines_by_power_per_thousand_rpm(speed, expected):
    """As IEC 60034-1, 12.1, from memory: 0.67 kW per 1000 rpm; 1 kW at 3000 rpm is 0.33, at 1000 rpm 1."""
    job = make_job("universal", power=1000.0, speed=speed * RPM)
    fitting = [row for row in IEC.criteria if row.id == "speed_at_rated_power" and applies(row, job)]
    assert [row.high.part for row in fitting] == [expected]


@pytest.mark.parametrize(
    ("excitation", "expected"), [("shunt", 0.10), ("permanent magnet", 0.10), ("series", 0.15), (None, 0.15)]
)
def test_speed_row_of_dc_motors_by_excitation(excitation, expected):
    """IEC 60034-1, 12.1, from memory: 1 kW at 1000 rpm; an unknown excitation has the widest row, that of series motors."""
    job = make_job("dc", power=1000.0, speed=1000 * RPM)
    job = replace(job, motor=replace(job.motor, excitation=excitation))
    fitting = [row for row in IEC.criteria if row.id == "speed_at_rated_power" and applies(row, job)]
    assert [row.high.part for row in fitting] == [pytest.approx(expected)]


def test_universal_motor_is_judged_by_speed_and_never_by_slip():
    job, reduction = a_test(kind="universal")
    assert "slip_at_rated_power" not in by_id(findings_of(job, reduction, NEMA))
    assert "speed_at_rated_power" in by_id(findings_of(job, reduction, NEMA))


def test_rows_without_a_source_say_so():
    found = by_id(findings_of(*a_test(), NEMA))
    for name in ("power_at_rated_current", "efficiency_at_rated_power"):
        assert found[name].basis == "workshop"
        assert str(found[name].source).startswith("workshop limit (")
    published = "NEMA MG 1 2021, 12.47, input current within 10 % of the nameplate"
    assert str(found["current_at_rated_power"].source) == published
    assert found["current_at_rated_power"].basis == "published"


def test_upper_bound_above_power_is_open():
    row = Criterion("x", "x", "slip", "rated power", "slip", clause="c", above_power=150e3)
    assert not applies(row, make_job(power=150e3))
    assert applies(row, make_job(power=150001.0))


@given(st.floats(-10, 10), st.floats(-10, 10), st.floats(0, 5))
def test_simple_acceptance_takes_the_limit_itself(value, low, width):
    """JCGM 106:2012, 8.2: without guard bands the acceptance interval is the tolerance interval."""
    limits = Limits(low, low + width)
    assert outcome_of(low, limits) == outcome_of(low + width, limits) == "pass"
    assert (outcome_of(value, limits) == "pass") == (low <= value <= low + width)
