"""Worked brake tests of textbooks, run whole from job files: the book's readings in its units in, its results out.

Values are as the textbook companions print them (github.com/FOSSEE/Python-Textbook-Companions); a tolerance wider than
half the last printed digit is the error of the constants the book rounds (pi, the horsepower, lbf*ft), given as ``rel``.
"""

from __future__ import annotations

import math

import pytest

from certgen.errors import RefusedTest
from certgen.quantity import Quantity
from certgen.units import from_si

ROPE = {"absorber": {"kind": "rope"}, "scale": {"reads": "mass"}}
SENSOR = {"absorber": {"kind": "torque sensor"}}


def value(quantity: Quantity | None, unit: str = "1") -> float:
    assert quantity is not None
    return from_si(quantity.value, unit)


def test_bakshi_example_3_4_two_spring_balances(run_test):
    """U. A. Bakshi, M. V. Bakshi, DC Machines and Synchronous Machines, example 3.4, page 14."""
    results = run_test(
        motor="dc",
        rig={**ROPE, "drum_radius": "0.075 m"},
        conditions={"local_gravity": "9.81 m/s^2"},
        columns={"speed": "rpm", "scale": "kg", "scale_2": "kg", "voltage": "V", "current": "A"},
        rows=[[1320, 9.1, 0.8, 110, 10]],
    )
    point = results.points[0]
    assert value(point.efficiency, "%") == pytest.approx(76.74, abs=0.005)
    assert value(point.torque, "N*m") == pytest.approx(6.10672, abs=5e-6)  # recomputed, not printed
    assert value(point.input_power, "W") == pytest.approx(1100, abs=0.5)
    assert results.at_rated_current is None
    assert results.curves.load is None
    assert any("one load point" in sentence for sentence in map(str, results.conditions.missing))


def test_tarlok_singh_example_2_42_loads_on_both_sides(run_test):
    """Tarlok Singh, Electrical Machines 1, example 2.42, page 129; pi taken as 3.14, output rounded up."""
    results = run_test(
        motor="dc",
        rig={**ROPE, "drum_radius": "0.5 m"},
        conditions={"local_gravity": "9.81 m/s^2"},
        columns={"speed": "rpm", "scale": "kg", "scale_2": "kg", "voltage": "V", "current": "A"},
        rows=[[1500, 40, 5, 400, 80]],
    )
    point = results.points[0]
    assert value(point.shaft_power, "W") == pytest.approx(26953, rel=0.0006)  # 3.14 for pi: 0.0005, rounded up: 1 W
    assert value(point.efficiency, "%") == pytest.approx(84.2, abs=0.05 + 0.0005 * 84.2)  # last digit, and 3.14 for pi


def test_tarlok_singh_example_2_41_gives_more_than_it_takes_and_is_refused(run_test):
    """The same book, example 2.41, page 129: 70 kgf at 1 m and 1200 rpm is 86 kW from 20 kW; units were confused."""
    with pytest.raises(RefusedTest, match=r"efficiency up to 431%.*likely causes"):
        run_test(
            motor="dc",
            rig={**ROPE, "drum_radius": "1 m"},
            conditions={"local_gravity": "9.81 m/s^2"},
            columns={"speed": "rpm", "scale": "kg", "scale_2": "kg", "voltage": "V", "current": "A"},
            rows=[[1200, 75, 5, 250, 80]],
        )


def test_kosow_example_10_4_third_horsepower_motor(run_test):
    """I. L. Kosow, Electric Machinery and Transformers, 2nd ed., example 10-4, page 345; 746 W per hp, 5252."""
    results = run_test(
        motor="single-phase induction",
        rig=SENSOR,
        nameplate={"power": "1/3 hp", "voltage": "115 V", "frequency": "60 Hz", "speed": "1750 rpm"},
        columns={"speed": "rpm", "torque": "lbf*ft", "voltage": "V", "current": "A", "input_power": "W"},
        rows=[[1750, 1.0, 115, 5.35, 400]],
    )
    point = results.points[0]
    assert value(point.shaft_power, "hp") == pytest.approx(0.3332, abs=5e-5)
    assert value(point.efficiency, "%") == pytest.approx(62.2, rel=0.0017)  # half a digit 0.0008, constants 0.00094
    assert value(point.power_factor) == pytest.approx(0.6501, abs=5e-5)
    assert results.characteristic.poles == 4
    assert value(results.characteristic.rated_torque, "lbf*ft") == pytest.approx(1.0, abs=0.05)


def test_kosow_example_10_4_locked_rotor_and_breakdown_ratios(run_test):
    """The same motor: 4.5 lb-ft at standstill, 2.5 lb-ft at breakdown; points about it keep the motor's shape."""
    rows = [[1790, 0.1], [1770, 0.5], [1750, 1.0], [1700, 1.9], [1600, 2.5], [1450, 2.1], [1350, 1.9], [0, 4.5]]
    results = run_test(
        motor="single-phase induction",
        rig=SENSOR,
        nameplate={"power": "1/3 hp", "voltage": "115 V", "frequency": "60 Hz", "speed": "1750 rpm"},
        columns={"speed": "rpm", "torque": "lbf*ft", "voltage": "V"},
        rows=[[*row, 115] for row in rows],
    )
    found = results.characteristic
    assert value(found.locked_rotor_torque_ratio) == pytest.approx(4.5, abs=0.05)
    assert value(found.breakdown_torque_ratio) == pytest.approx(2.5, abs=0.05)
    assert found.pull_up_torque is None
    assert "Speeds tested below breakdown are up to 1350 rpm apart: pull-up torque is not known." in map(
        str, found.proves
    )


def test_hubert_example_4_6_hundred_horsepower(run_test):
    """C. I. Hubert, Electric Machines, example 4.6, page 159: the book's shaft torque and speed as readings."""
    results = run_test(
        motor="three-phase induction",
        rig=SENSOR,
        nameplate={"power": "100 hp", "frequency": "60 Hz", "poles": 6},
        columns={"speed": "rpm", "torque": "lbf*ft", "voltage": "V", "current": "A", "input_power": "W"},
        rows=[[1176, 446.6, 230, 248, 81978]],
    )
    point = results.points[0]
    assert value(point.shaft_power, "W") == pytest.approx(
        74600, rel=0.00041 + 0.00011
    )  # constants, last digit of the torque
    assert value(point.efficiency) == pytest.approx(0.91, abs=0.005)
    assert value(point.power_factor) == pytest.approx(0.83, abs=0.005)
    assert value(point.losses, "W") == pytest.approx(7378, abs=0.00052 * 74600)  # the error of the output above
    assert value(point.slip) == pytest.approx(0.0199928, abs=0.0005)  # recomputed; speed printed to 1 rpm
    assert value(results.characteristic.synchronous_speed, "rpm") == pytest.approx(1200, abs=0.5)


def test_mcpherson_examples_4_1_and_4_2_power_flow(run_test):
    """G. McPherson, An Introduction to Electrical Machines and Transformers, examples 4-1 and 4-2, page 70."""
    results = run_test(
        motor="three-phase induction",
        rig=SENSOR,
        nameplate={"frequency": "60 Hz", "poles": 4},
        columns={"speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A", "power_factor": "1"},
        rows=[[1743.51, 77.6692, 460, 25, 0.85]],
    )
    point = results.points[0]
    assert value(point.input_power, "W") == pytest.approx(16930.8, abs=0.05)
    assert value(point.shaft_power, "W") == pytest.approx(14180.8, abs=0.1)  # the torque's own last digit: 0.01
    assert value(point.shaft_power, "hp") == pytest.approx(19.0091, rel=0.00041)  # 746 W per hp is 0.000402 high
    assert value(point.efficiency) == pytest.approx(0.837574, abs=5e-6)
    assert value(point.slip) == pytest.approx(0.0313857, abs=3e-6)  # the speed's own last digit: 2.8e-6


def test_kosow_example_12_14_full_load_with_its_no_load_and_locked_rotor_readings(run_test):
    """I. L. Kosow, 2nd ed., example 12-14, page 434: 5 hp motor; 746 W per hp, 1.356 N*m per lbf*ft."""
    results = run_test(
        motor="three-phase induction",
        rig=SENSOR,
        nameplate={"power": "5 hp", "voltage": "220 V", "current": "16 A", "frequency": "60 Hz", "poles": 4},
        columns={"speed": "rpm", "torque": "lbf*ft", "voltage": "V", "current": "A", "power_factor": "1"},
        rows=[[1750, 18.2, 220, 16, 0.9]],
        readings={
            "no_load": {
                "columns": {"voltage": "V", "current": "A", "input_power": "W"},
                "rows": [[220, 6.5, 300]],
            },
            "locked_rotor": {
                "columns": {"voltage": "V", "current": "A", "input_power": "W"},
                "rows": [[50, 16, 800]],
            },
        },
    )
    point = results.points[0]
    assert value(point.input_power, "W") == pytest.approx(5487.14, abs=0.005)
    assert value(point.shaft_power, "hp") == pytest.approx(6.06, abs=0.005)
    assert value(point.efficiency, "%") == pytest.approx(82.4, abs=0.05)
    assert value(point.torque, "N*m") == pytest.approx(
        24.65, rel=0.0027 + 0.00013
    )  # 18.2 has three digits, 1.356 is rounded
    held = results.characteristic
    assert value(held.locked_rotor_current, "A") == pytest.approx(16 * 220 / 50)  # scaled with voltage
    assert held.locked_rotor_torque is None
    assert held.code_letter == "F"  # sqrt(3) 220 V 70.4 A / 5 hp = 5.37 kVA/hp
    assert str(held.proves[0]) == (
        "Locked-rotor current scaled from 50 V to 220 V: with voltage. "
        "With saturation the figures at rated voltage are higher."
    )
    assert "readings.locked_rotor" not in results.conditions.not_evaluated


def test_kosow_example_12_15_the_same_motor_by_its_slip(run_test):
    """I. L. Kosow, 2nd ed., example 12-15, page 438; output 6.25 hp, so 18.7 lbf*ft at 1750 rpm."""
    results = run_test(
        motor="three-phase induction",
        rig=SENSOR,
        nameplate={"frequency": "60 Hz", "poles": 4},
        columns={"speed": "rpm", "torque": "lbf*ft", "current": "A", "input_power": "W"},
        rows=[[1750, 18.7, 16, 5500]],
    )
    point = results.points[0]
    assert value(point.slip) == pytest.approx(0.0277778, abs=5e-8)
    assert value(point.shaft_power, "hp") == pytest.approx(
        6.25, rel=0.0029 + 0.0027
    )  # constants, last digit of the torque
    assert value(point.efficiency, "%") == pytest.approx(84.7, rel=0.0029 + 0.0027)
    assert value(point.torque, "N*m") == pytest.approx(25.4, abs=0.05)
    assert point.power_factor is None


def test_guru_example_10_5_universal_motor(run_test):
    """B. S. Guru, H. R. Hiziroglu, Electric Machinery and Transformers, example 10.5, page 606."""
    results = run_test(
        motor="universal",
        rig=SENSOR,
        columns={"speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A", "power_factor": "1"},
        rows=[[8000, 1.46, 120, 17.58, 0.912]],
    )
    point = results.points[0]
    assert value(point.shaft_power, "W") == pytest.approx(1222.75, rel=0.0035)  # torque printed to three digits
    assert value(point.efficiency, "%") == pytest.approx(63.6, abs=0.05)
    assert point.slip is None
    assert results.characteristic.synchronous_speed is None


def test_facts_of_the_trade(run_test):
    """Common practice, no source: pounds on a one-foot arm read as lbf*ft; 2 hp at 1725 rpm is about 6 lbf*ft."""
    results = run_test(
        motor="single-phase induction",
        rig={"absorber": {"kind": "arm"}, "arm_length": "1 ft", "scale": {"reads": "mass"}},
        nameplate={"power": "2 hp", "frequency": "60 Hz", "speed": "1725 rpm", "service_factor": 1.15},
        columns={"speed": "rpm", "scale": "lb"},
        rows=[[1725, 6.09]],
    )
    point = results.points[0]
    assert value(point.torque, "lbf*ft") == pytest.approx(6.09, abs=1e-7)
    assert value(point.shaft_power, "hp") == pytest.approx(2.0, abs=0.005)
    assert value(results.characteristic.rated_torque, "lbf*ft") == pytest.approx(6.0, abs=0.1)
    raised = next(one for one in results.findings if one.id == "service_factor")
    assert raised.required.low == pytest.approx(1.15 * 2 * 550 * 0.3048 * 4.4482216152605)


def test_gravity_of_the_place_matters_to_a_mass_scale(run_test):
    """Standard gravity 9.80665 m/s^2 (NIST SP 811) is used, and said, where the job states none."""
    rig = {"absorber": {"kind": "arm"}, "arm_length": "0.5 m", "scale": {"reads": "mass"}}
    columns = {"speed": "rpm", "scale": "kg"}
    standard = run_test(motor="other", rig=rig, columns=columns, rows=[[1000, 2.0]])
    local = run_test(
        motor="other",
        rig=rig,
        columns=columns,
        rows=[[1000, 2.0]],
        conditions={"local_gravity": "9.832 m/s^2"},
    )
    assert value(standard.points[0].torque, "N*m") == pytest.approx(9.80665)
    assert value(local.points[0].torque, "N*m") == pytest.approx(9.832)
    assert "not stated" in str(standard.conditions.local_gravity_basis)
    assert math.isclose(standard.conditions.local_gravity.value, 9.80665)
