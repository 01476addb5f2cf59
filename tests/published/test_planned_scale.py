"""From plate and arm the plan says what the scale must read: the readings of published brake tests come back.

The plate of each test is its own printed output and speed. A tolerance wider than half the last printed digit is the
error of the constants the book rounds, given as ``rel``. Sources as in test_worked_brake_tests.py and lab_tables.yaml.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from certgen.issuing.run_sheet import plan_job
from certgen.planning.plan import Plan
from certgen.units import from_si

PlanTest = Callable[..., Plan]


@pytest.fixture
def plan_test(tmp_path: Path) -> PlanTest:
    """A job without certificate and readings, planned from its files."""

    def plan(motor: str, rig: dict[str, Any], nameplate: dict[str, Any], **conditions: str) -> Plan:
        folder = tmp_path / "job"
        folder.mkdir(exist_ok=True)
        job = {"motor": {"type": motor}, "nameplate": nameplate, "rig": "../rig.yaml", "conditions": conditions}
        (tmp_path / "rig.yaml").write_text(yaml.safe_dump({"name": "of the book", **rig}), encoding="utf-8")
        (folder / "job.yaml").write_text(yaml.safe_dump(job), encoding="utf-8")
        return plan_job(folder / "job.yaml").plan

    return plan


def reading(plan: Plan, unit: str) -> float:
    point = next(point for point in plan.points if str(point.name) == "100 %")
    assert point.scale is not None
    return from_si(point.scale.value, unit)


def rope(radius: str) -> dict[str, Any]:
    return {"absorber": {"kind": "rope"}, "scale": {"reads": "mass"}, "drum_radius": radius}


def test_bakshi_example_3_4(plan_test):
    """Output 76.74 % of 110 V x 10 A at 1320 rpm; the balances showed 9.1 and 0.8 kg."""
    plate = {"power": f"{0.7674 * 110 * 10} W", "speed": "1320 rpm"}
    plan = plan_test("dc", rope("0.075 m"), plate, local_gravity="9.81 m/s^2")
    assert reading(plan, "kg") == pytest.approx(9.1 - 0.8, rel=0.00035)  # 76.74 printed; the constants of the book


def test_tarlok_singh_example_2_42(plan_test):
    """Output 26 953 W at 1500 rpm; 40 kg on one side, 5 kg on the other; pi taken as 3.14."""
    plan = plan_test("dc", rope("0.5 m"), {"power": "26953 W", "speed": "1500 rpm"}, local_gravity="9.81 m/s^2")
    assert reading(plan, "kg") == pytest.approx(40 - 5, rel=0.0006)


def test_kosow_example_10_4(plan_test):
    """1/3 hp at 1750 rpm: 1.0 lbf*ft, so 1.0 lb on a one-foot arm."""
    arm = {"absorber": {"kind": "arm"}, "arm_length": "1 ft", "scale": {"reads": "mass", "resolution": "0.01 lb"}}
    plan = plan_test("single-phase induction", arm, {"power": "1/3 hp", "speed": "1750 rpm", "frequency": "60 Hz"})
    assert plan.scale_unit == "lb"
    assert reading(plan, "lb") == pytest.approx(1.0, abs=0.05)
    assert from_si(plan.rated_torque.value, "lbf*ft") == pytest.approx(1.0, abs=0.05)


def test_hubert_example_4_6(plan_test):
    """100 hp at 1176 rpm, 6 poles: 446.6 lbf*ft on a torque sensor."""
    sensor = {"absorber": {"kind": "torque sensor"}}
    plate = {"power": "100 hp", "speed": "1176 rpm", "frequency": "60 Hz", "poles": 6}
    plan = plan_test("three-phase induction", sensor, plate)
    assert reading(plan, "lbf*ft") == pytest.approx(446.6, abs=0.05 + 0.00041 * 446.6)  # 746 W a horsepower


def test_facts_of_the_trade(plan_test):
    """Common practice, no source: 2 hp at 1725 rpm is 6.09 lb on a one-foot arm, and 4.06 lb on an eighteen-inch one."""
    scale = {"reads": "mass", "resolution": "0.01 lb"}
    for length, pounds in (("1 ft", 6.09), ("18 in", 4.06)):
        arm = {"absorber": {"kind": "arm"}, "arm_length": length, "scale": scale}
        plan = plan_test("single-phase induction", arm, {"power": "2 hp", "speed": "1725 rpm", "frequency": "60 Hz"})
        assert reading(plan, "lb") == pytest.approx(pounds, abs=0.005)


def test_every_row_of_a_shunt_motors_brake_test(plan_test, lab_tables):
    """Ten rows of a laboratory: arm 0.1504 m, 224 V; the difference of the two balances in kilograms."""
    for tight, slack, current, speed, efficiency in lab_tables["dcshunt-brake"]["rows"]:
        plate = {"power": f"{efficiency * 224 * current} W", "speed": f"{speed} rpm"}
        plan = plan_test("dc", rope("0.1504 m"), plate, local_gravity="9.81 m/s^2")
        half_a_digit = 5e-5 / efficiency
        assert reading(plan, "kg") == pytest.approx(tight - slack, rel=half_a_digit * 1.02)


def test_the_load_curve_of_a_cage_motor(plan_test, lab_tables):
    """18.5 kW, 1462.5 rpm: speed and current expected at half and full load lie on the published curve as estimates do."""
    arm = {"absorber": {"kind": "torque sensor"}, "limits": {"torque": "200 N*m"}}
    plate = {
        "power": "18.5 kW", "voltage": "400 V", "current": "32.85 A", "frequency": "50 Hz", "speed": "1462.5 rpm",
        "power_factor": 0.896,
    }  # fmt: skip
    plan = plan_test("three-phase induction", arm, plate)
    rows = lab_tables["msl-imc-18k5"]["rows"]
    by_name = {str(point.name): point for point in plan.points}
    for name, row in (("100 %", rows[10]), ("50 %", rows[5])):  # 18 500 W, and 9372 W where half is 9250 W
        assert from_si(by_name[name].speed.value, "rpm") == pytest.approx(row[2], abs=2.0)
        assert by_name[name].current.value == pytest.approx(row[1], rel=0.11)
