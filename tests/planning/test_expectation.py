"""What a plate lets one expect, and what it does not."""

from __future__ import annotations

import math

import pytest
from builders import make_job

from certgen.document.build import Toleranced
from certgen.job.model import Conditions, Gear
from certgen.planning.expectation import expectation_of

RPM = 2.0 * math.pi / 60.0
PLATE = {
    "power": 1500.0,
    "voltage": 400.0,
    "current": 3.4,
    "frequency": 50.0,
    "speed": 1420.0 * RPM,
    "power_factor": 0.79,
}


def test_facts_of_the_trade():
    """Common practice, no source: 2 hp at 1725 rpm is about 6 lbf*ft (6.09)."""
    found = expectation_of(make_job("single-phase induction", power=2 * 745.699872, speed=1725 * RPM))
    assert found.rated_torque / 1.3558179483 == pytest.approx(6.09, abs=0.005)


def test_the_line_of_slip_passes_through_the_plate():
    found = expectation_of(make_job(**PLATE))
    assert found.synchronous_speed == pytest.approx(1500.0 * RPM)
    assert found.rated_slip == pytest.approx(80.0 / 1500.0)
    assert found.speed_at_torque(found.rated_torque) == pytest.approx(1420.0 * RPM)
    assert found.speed_at_torque(found.rated_torque / 2.0) == pytest.approx(1460.0 * RPM)
    assert found.speed_at_torque(1.6 * found.rated_torque) is None
    assert "in proportion to torque" in str(found.speed_basis)


def test_a_load_is_a_part_of_rated_power():
    found = expectation_of(make_job(**PLATE))
    for load in (0.25, 1.0, 1.15, 1.25):
        torque = found.torque_at_load(load)
        assert torque * found.speed_at_torque(torque) == pytest.approx(load * 1500.0)


def test_current_without_load_is_on_no_plate():
    found = expectation_of(make_job(**PLATE))
    assert found.current_at_load(0.0, 0.0) is None
    assert found.current_at_load(1.0, found.rated_torque) == 3.4
    assert 2.0 < found.current_at_load(0.5, found.torque_at_load(0.5)) < 3.4


def test_service_factor_current_of_the_plate_comes_first():
    found = expectation_of(make_job(**PLATE, service_factor=1.15, service_factor_current=3.8))
    assert found.current_at_load(1.15, found.torque_at_load(1.15)) == 3.8


def test_power_factor_from_power_efficiency_volts_and_amperes():
    plate = {**PLATE, "power_factor": None, "efficiency": 0.8}
    found = expectation_of(make_job(**plate))
    assert found.power_factor == pytest.approx(1500.0 / 0.8 / (math.sqrt(3.0) * 400.0 * 3.4))
    assert "power, efficiency, volts and amperes" in str(found.current_basis)


@pytest.mark.parametrize(
    ("kind", "change", "lacking", "basis"),
    [
        ("three-phase induction", {"speed": None}, "rated_torque", "not known: the plate gives no speed"),
        (
            "three-phase induction",
            {"power_factor": None},
            "power_factor",
            "needs current and power factor on the plate",
        ),
        ("three-phase induction", {"frequency": None}, "rated_slip", "needs speed and frequency on the plate"),
        ("three-phase induction", {"speed": 1500.0 * RPM, "poles": 4}, "rated_slip", "not below synchronous speed"),
        ("three-phase induction", {"power_factor": None, "efficiency": 0.5}, "power_factor", "contradict each other"),
        ("single-phase induction", {}, "power_factor", "not estimated for this kind of motor"),
        ("universal", {}, "rated_slip", "no slip for this kind of motor"),
        ("dc", {}, "rated_slip", "no slip for this kind of motor"),
    ],
)
def test_what_is_not_known_is_none_and_says_why(kind, change, lacking, basis):
    found = expectation_of(make_job(kind, **{**PLATE, **change}))
    assert getattr(found, lacking) is None
    assert basis in " ".join(map(str, (found.rated_torque_basis, found.speed_basis, found.current_basis)))


def test_a_motor_without_slip_is_known_at_rated_load_alone():
    found = expectation_of(make_job("dc", power=370.0, speed=1780 * RPM, current=2.6))
    assert found.torque_at_load(0.5) == pytest.approx(found.rated_torque / 2.0)
    assert found.speed_at_torque(found.rated_torque) == pytest.approx(1780 * RPM)
    assert found.speed_at_torque(found.rated_torque / 2.0) is None
    assert found.current_at_load(0.5, found.rated_torque / 2.0) is None


def test_another_supply_than_the_plates_tells_neither_speed_nor_current():
    other = Conditions(supply_frequency=Toleranced(60.0))
    found = expectation_of(make_job(conditions=other, **PLATE))
    assert (found.rated_slip, found.rated_speed, found.rated_current, found.power_factor) == (None,) * 4
    assert str(found.speed_basis) == "not estimated: the supply has 60 Hz, the plate is for 50 Hz"
    assert found.synchronous_speed == pytest.approx(1800.0 * RPM)


def test_behind_a_gear_all_is_that_of_the_output_shaft():
    found = expectation_of(make_job(power=200.0, speed=95.0 * RPM, frequency=50.0, poles=4, gear=Gear(15.0, 0.9)))
    assert found.synchronous_speed == pytest.approx(100.0 * RPM)
    assert found.rated_slip == pytest.approx(0.05)
    assert found.rated_torque == pytest.approx(200.0 / (95.0 * RPM))
