"""Findings on starting and overload: code letter, design letter, breakdown torque, and what the verdict rests on."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table

from certgen.assessment.starting_findings import starting_findings
from certgen.job.model import Conditions
from certgen.physics.induction import HORSEPOWER
from certgen.reduction.reduce import reduce_test
from certgen.results.characteristic import characteristic_of
from certgen.standards.criteria import RESTS, shipped_criteria

RPM = math.pi / 30.0
IEC, NEMA = shipped_criteria("iec-60034-1"), shipped_criteria("nema-mg-1")
#: 10 hp, 1150 rpm, 6 poles: C. I. Hubert, Electric Machines, example 5.1 (design C: 102.8, 75.4 and 86.8 lb-ft).
PLATE = {
    "power": 10 * HORSEPOWER, "voltage": 460.0, "frequency": 60.0, "speed": 1150 * RPM, "poles": 6,
    "design_letter": "C",
}  # fmt: skip
RATED = PLATE["power"] / PLATE["speed"]
LB_FT = 0.3048 * 4.4482216152605
SPEED = np.array([1195, 1175, 1150, 1120, 1000, 800, 500, 250, 0]) * RPM
PARTS = np.array([0.01, 0.5, 1.0, 1.5, 2.0, 1.9, 1.75, 1.7, 2.3])


def found(criteria=NEMA, *, parts=PARTS, count=9, kind="three-phase induction", locked=None, **plate):
    """Findings by id of a run from no load towards standstill."""
    readings = make_readings(
        speed=SPEED[:count],
        torque=parts[:count] * RATED,
        voltage=np.full(count, 460.0),
        current=np.linspace(4.0, 80.0, 9)[:count],
    )
    if locked:
        readings = replace(readings, others={"locked_rotor": make_table(**locked)})
    job = make_job(kind, Conditions(supply_frequency=60.0), **{**PLATE, **plate})
    reduction = reduce_test(job, make_rig(), readings)
    findings = starting_findings(job, reduction, criteria, characteristic_of(job, reduction))
    return {one.id: one for one in findings}


def test_minimums_of_design_c_as_printed():
    """Hubert, example 5.1, page 173; the book's horsepower over 5252 is 2.2e-5 off, its last digit half of a tenth."""
    findings = found()
    for name, printed in (("locked_rotor_torque", 102.8), ("pull_up_torque", 75.4), ("breakdown_torque", 86.8)):
        one = findings[f"{name}_of_design"]
        assert one.required.low / LB_FT == pytest.approx(printed, abs=0.055)
        assert one.declared == one.required.low
        assert one.outcome == "pass"
        assert one.decides
    assert str(findings["locked_rotor_torque_of_design"].title) == "Locked-rotor torque of design C"
    assert str(findings["locked_rotor_torque_of_design"].source) == "NEMA MG 1 2016, 12.38.2, from memory"
    assert findings["locked_rotor_current_of_design"].required.high == pytest.approx(81.0)  # 162 A at 230 V
    assert findings["locked_rotor_current_of_design"].outcome == "pass"


@pytest.mark.parametrize(
    ("weak", "parts"),
    [
        ("locked_rotor_torque", [*PARTS[:8], 2.2]),
        ("pull_up_torque", [*PARTS[:7], 1.6, 2.3]),
        ("breakdown_torque", [0.01, 0.5, 1.0, 1.5, 1.88, 1.8, 1.75, 1.7, 1.7]),
    ],
)
def test_a_torque_short_of_the_letter_fails(weak, parts):
    findings = found(parts=np.array(parts))
    assert findings[f"{weak}_of_design"].outcome == "fail"


def test_too_much_current_fails_but_not_for_design_a():
    locked = {"voltage": [230.0], "current": [41.0]}  # 82 A at 460 V
    short = found(count=4, locked=locked)
    assert short["locked_rotor_current_of_design"].outcome == "fail"
    assert set(short) == {"locked_rotor_current_of_design"}
    assert "locked_rotor_current_of_design" not in found(count=4, locked=locked, design_letter="A")


def test_short_of_breakdown_the_greatest_tested_torque_is_enough_or_nothing():
    enough = found(parts=np.array([0.01, 0.5, 1.0, 1.95]), count=4)["breakdown_torque_of_design"]
    assert (enough.outcome, enough.measured) == ("pass", pytest.approx(1.95 * RATED))
    assert str(enough.note) == "greatest torque tested; breakdown torque is not below it"
    assert found(count=4) == {}


def test_no_design_letter_no_promise():
    assert set(found(design_letter=None)) == set()
    assert set(found(frequency=50.0)) == set()
    assert set(found(IEC)) == {"breakdown_torque"}


def test_breakdown_of_1_6_times_rated_is_told_and_not_weighed():
    """IEC 60034-1:1996, 12.1: -10 % of declared, at least 1.6 times rated torque left."""
    one = found(IEC)["breakdown_torque"]
    assert one.required.low == pytest.approx(1.6 * RATED)
    assert (one.outcome, one.decides, one.declared) == ("pass", False, None)
    assert str(one.source) == "IEC 60034-1 1996, 12.1, breakdown torque, at least 1.6 times rated torque"
    weak = np.array([0.01, 0.5, 1.0, 1.4, 1.55, 1.5, 1.4, 1.3, 1.5])
    assert found(IEC, parts=weak)["breakdown_torque"].outcome == "fail"
    assert found(IEC, kind="single-phase induction") == {}
    assert found(IEC, count=4) == {}


#: sqrt(3) 460 V 80 A / 10 hp is 6.37 kVA/hp: code letter H, 6.3 up to 7.1.
@pytest.mark.parametrize(("letter", "outcome"), [("H", "pass"), ("G", "fail"), ("J", "fail")])
@pytest.mark.parametrize("criteria", [IEC, NEMA])
def test_the_plates_code_letter_is_told_and_not_weighed(criteria, letter, outcome):
    one = found(criteria, code_letter=letter)["code_letter"]
    assert one.outcome == outcome
    assert one.measured == pytest.approx(math.sqrt(3) * 460 * 80 / 10000)
    assert str(one.note) == f"code letter H measured, {letter} on the plate"
    assert not one.decides
    assert str(one.source) == "NEMA MG 1 2016, 10.37.2"


@pytest.mark.parametrize(
    ("case", "note"),
    [
        ({"count": 4}, "the locked-rotor current was not measured"),
        ({"voltage": None}, "the nameplate gives no voltage"),
        ({"power": None}, "the nameplate gives no power"),
        ({"count": 4, "locked": {"current": [40.0]}}, "the locked-rotor voltage was not measured"),
    ],
)
def test_a_code_letter_that_cannot_be_compared_says_why(case, note):
    one = found(code_letter="H", **case)["code_letter"]
    assert (one.outcome, one.measured, str(one.note)) == ("not tested", None, note)


def test_a_shops_own_criteria_may_weigh_the_code_letter():
    rows = tuple(replace(row, verdict=RESTS) for row in NEMA.starting)
    one = found(replace(NEMA, starting=rows), code_letter="G")["code_letter"]
    assert one.decides
    assert one.declared == pytest.approx(5.6)  # so that the verdict counts it


def test_a_commutator_motor_has_no_code_letter():
    assert found(kind="universal", code_letter="H") == {}
