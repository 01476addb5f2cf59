"""Readings that cannot be true carry no verdict."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import figures_of, findings_of, fine_rig, known_supply, make_job, make_readings, verdict_on

from certgen.assessment.cautions import cautions_of
from certgen.assessment.verdict import fault_of
from certgen.reduction.reduce import reduce_test
from certgen.standards.criteria import shipped_criteria

IEC = shipped_criteria("iec-60034-1")
RPM = math.pi / 30.0
PLATE = {"power": 500.0, "current": 4.0, "speed": 1420 * RPM, "poles": 4, "power_factor": 0.8}


def bench_test(*, current=(3.0, 3.2, 3.6, 4.0), sign=1.0):
    job = make_job("single-phase induction", known_supply(), **PLATE)
    columns = {
        "speed": np.array([1495, 1460, 1440, 1420]) * RPM,
        "torque": sign * np.array([0.05, 2.0, 2.8, 3.37]),
        "voltage": np.full(4, 230.0),
        "current": np.array(current),
        "input_power": np.array([150.0, 460.0, 600.0, 740.0]),
        "winding_temperature": np.full(4, 273.15 + 75.0),
    }
    rig = fine_rig()
    reduction = reduce_test(job, rig, make_readings(**columns))
    findings = findings_of(job, reduction, IEC, rig)
    cautions = {one.id for one in cautions_of(job, rig, reduction, figures_of(job, rig, reduction), findings)}
    return reduction.points, verdict_on(job, reduction, findings, rig), cautions


def test_readings_that_can_be_true_are_judged():
    points, verdict, cautions = bench_test()
    assert fault_of(points) is None
    assert verdict.outcome == "pass"
    assert "watts_above_volt_amperes" not in cautions


@pytest.mark.parametrize(
    ("current", "count"), [((3.0, 3.2, 3.6, 3.1), 1), ((3.0, 3.2, 0.0, 4.0), 1), ((1.5, 1.6, 1.8, 2.0), 3)]
)
def test_watts_above_volt_amperes_take_the_statement_away(current, count):
    """740 W at 230 V take 3.22 A at least; no current takes no watts."""
    points, verdict, cautions = bench_test(current=current)
    assert int(points.above_volt_amperes.sum()) == count
    assert (verdict.outcome, verdict.kind) == ("no verdict", "readings")
    assert str(verdict.reasons[0]).startswith(f"More watts than volts times amperes at {count} of 4")
    assert "watts_above_volt_amperes" in cautions


def test_an_arm_on_the_wrong_side_fails_no_motor():
    points, verdict, cautions = bench_test(sign=-1.0)
    assert "negative" in str(fault_of(points))
    assert (verdict.outcome, verdict.kind, verdict.reasons) == ("no verdict", "readings", (fault_of(points),))
    assert "negative_torque" in cautions
