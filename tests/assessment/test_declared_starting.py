"""What the plate declares of starting and overload, held against the test."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from bench import FILES, Bench
from builders import make_job, make_readings, make_rig, make_table
from hypothesis import given
from hypothesis import strategies as st

from certgen.assessment.decision import Decision
from certgen.assessment.declared_starting import declared_starting_findings, proved_by_least
from certgen.document.source import Problems
from certgen.job.load import load_job
from certgen.job.model import Conditions
from certgen.pipeline import assess_job
from certgen.reduction.reduce import reduce_test
from certgen.results.characteristic import characteristic_of
from certgen.results.model import Limits
from certgen.standards.criteria import ABOVE, shipped_criteria

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
IEC = shipped_criteria("iec-60034-1")
PLATE = {"power": 1500.0, "voltage": 400.0, "current": 3.4, "frequency": 50.0, "speed": 1420 * RPM, "poles": 4}
SPEED = np.array([1495, 1470, 1420, 1350, 1200, 1000, 700, 350, 0]) * RPM
#: Torque at each speed: breakdown of 26 N*m, pull-up of 19 N*m, 22 N*m at standstill.
TORQUE = np.array([0.3, 5.0, 10.0, 18.0, 26.0, 24.0, 21.0, 19.0, 22.0])


def found(volts=400.0, *, count=9, kind="three-phase induction", locked=None, hertz=50.0, criteria=IEC, **plate):
    """Findings by id of a run from no load towards standstill."""
    readings = make_readings(
        speed=SPEED[:count],
        torque=TORQUE[:count] * (volts / 400.0) ** 2,
        voltage=np.full(count, volts),
        current=np.linspace(1.9, 18.0, 9)[:count] * volts / 400.0,
    )
    if locked is not None:
        readings = replace(readings, others={"locked_rotor": make_table(**locked)})
    job = make_job(kind, Conditions(supply_frequency=hertz), **{**PLATE, **plate})
    reduction = reduce_test(job, make_rig(), readings)
    listed = declared_starting_findings(job, reduction, criteria, characteristic_of(job, reduction))
    return {one.id: one for one in listed}


@pytest.mark.parametrize(
    ("quantity", "declared", "outcome"),
    [
        # IEC 60034-1:1996, 12.1: current at most 20 % above; locked-rotor torque 15 % below to 25 % above; pull-up torque
        # 15 % and breakdown torque 10 % below.
        ("locked_rotor_current", 18.0 / 1.19, "pass"),
        ("locked_rotor_current", 18.0 / 1.21, "fail"),
        ("locked_rotor_torque", 22.0 / 0.86, "pass"),
        ("locked_rotor_torque", 22.0 / 0.84, "fail"),
        ("locked_rotor_torque", 22.0 / 1.26, "better"),
        ("pull_up_torque", 19.0 / 0.86, "pass"),
        ("pull_up_torque", 19.0 / 0.84, "fail"),
        ("breakdown_torque", 26.0 / 0.91, "pass"),
        ("breakdown_torque", 26.0 / 0.89, "fail"),
    ],
)
def test_each_value_by_its_tolerance(quantity: str, declared: float, outcome: str) -> None:
    one = found(**{quantity: declared})[f"{quantity}_declared"]
    assert one.outcome == outcome
    assert one.declared == declared
    assert one.decides
    assert one.basis == "published"
    assert str(one.source).startswith("IEC 60034-1 1996, 12.1, ")


def test_a_plate_that_declares_nothing_of_it_has_no_finding() -> None:
    assert found() == {}
    assert found(kind="dc", locked_rotor_current=20.0) == {}


def test_torques_are_compared_at_rated_voltage() -> None:
    """Torque goes with the square of the voltage: 26 N*m at 400 V is 21.06 N*m at 360 V."""
    one = found(360.0, breakdown_torque=26.0)["breakdown_torque_declared"]
    assert one.measured == pytest.approx(26.0, rel=0.005)
    assert one.outcome == "pass"
    assert str(one.note) == "measured at 90.0 % of rated voltage, scaled with the square of the voltage"


def test_another_frequency_compares_no_torque_of_the_running_motor() -> None:
    one = found(hertz=52.0, frequency=50.0, breakdown_torque=26.0)["breakdown_torque_declared"]
    assert (one.outcome, one.measured) == ("not tested", None)
    assert str(one.note) == "tested at 52 Hz, another frequency than the plate's"


def test_a_locked_rotor_current_from_a_third_of_the_voltage_fails_above_its_limit_and_proves_nothing_below() -> None:
    locked = {"voltage": [133.0], "current": [6.65]}  # 20 A at 400 V
    above = found(count=4, locked=locked, locked_rotor_current=15.0)["locked_rotor_current_declared"]
    assert (above.outcome, above.measured) == ("fail", pytest.approx(20.0))
    below = found(count=4, locked=locked, locked_rotor_current=20.0)["locked_rotor_current_declared"]
    assert (below.outcome, below.measured) == ("not tested", pytest.approx(20.0))
    expected = "measured at 33 % of rated voltage: saturation makes the figure at rated voltage greater"
    assert str(below.note) == expected


def test_a_locked_rotor_torque_from_a_third_of_the_voltage_passes_above_its_least_and_proves_nothing_below() -> None:
    locked = {"voltage": [133.0], "current": [6.65], "torque": [2.5]}  # 22.6 N*m at 400 V
    enough = found(count=4, locked=locked, locked_rotor_torque=22.0)["locked_rotor_torque_declared"]
    assert (enough.outcome, enough.measured) == ("pass", pytest.approx(2.5 * (400 / 133) ** 2))
    short = found(count=4, locked=locked, locked_rotor_torque=30.0)["locked_rotor_torque_declared"]
    assert short.outcome == "not tested"


def test_what_was_not_reached_is_not_tested_and_says_so() -> None:
    findings = found(count=4, pull_up_torque=19.0, breakdown_torque=26.0, locked_rotor_torque=22.0)
    assert {one.outcome for one in findings.values()} == {"not tested"}
    assert str(findings["pull_up_torque_declared"].note) == "pull-up torque was not measured"


def test_the_greatest_torque_tested_is_enough_or_nothing() -> None:
    one = found(count=4, breakdown_torque=19.0)["breakdown_torque_declared"]
    assert (one.outcome, one.measured) == ("pass", pytest.approx(18.0))
    assert str(one.note) == "greatest torque tested; breakdown torque is not below it"


@given(
    value=st.floats(0.1, 100.0), more=st.floats(1.0, 3.0), low=st.floats(1.0, 40.0), high=st.floats(41.0, 90.0),
    harmless=st.sampled_from(["none", ABOVE]),
)  # fmt: skip
def test_what_a_least_value_proves_holds_for_every_greater_one(
    value: float, more: float, low: float, high: float, harmless: str
) -> None:
    for limits in (Limits(low=low), Limits(high=high), Limits(low, high)):
        above = limits.high is not None and value > limits.high and not (harmless == ABOVE and limits.low is not None)
        below = limits.low is not None and value < limits.low
        outcome = "fail" if above or below else "pass"
        left = proved_by_least(Decision(outcome, "simple acceptance"), value, limits, harmless=harmless).outcome
        true = value * more
        if left == "pass":
            assert limits.low is None or true >= limits.low
            assert limits.high is None or harmless == ABOVE
        elif left == "fail":
            assert limits.high is not None
            assert true > limits.high


# On the page.

DECLARED = {
    "  service_factor: 1.15\n": "  service_factor: 1.15\n  locked_rotor_current: 9 A\n  pull_up_torque: 18 N*m\n"
}


def test_a_whole_job_is_failed_by_it_and_says_what_was_not_tested(bench: Bench) -> None:
    bench.start("full").edit("job", DECLARED).write()
    problems = Problems()
    loaded = load_job(FILES["job"], problems)
    assert loaded is not None
    assert loaded.not_evaluated == ()
    results = assess_job(FILES["job"]).results
    one = next(one for one in results.findings if one.id == "locked_rotor_current_declared")
    assert (one.outcome, one.measured) == ("fail", pytest.approx(13.6))  # 3.4 A at 100 V of 400 V
    assert results.verdict.outcome == "fail"
    starting = next(one for one in results.verdict.scope if one.subject == "starting")
    assert starting.state == "failed"
    assert "Pull-up torque: pull-up torque was not measured." in [str(one) for one in results.conditions.missing]


def test_what_was_tested_of_starting_does_not_meet_what_was_not(bench: Bench) -> None:
    edits = {key: value.replace("9 A", "20 A") for key, value in DECLARED.items()}
    bench.start("full").edit("job", {**edits, "[[100, 3.4, 280, 0.4]]": "[[400, 16, 4000, 4.2]]"}).write()
    results = assess_job(FILES["job"]).results
    outcomes = {one.id: one.outcome for one in results.findings if one.id.endswith("_declared")}
    assert outcomes == {"locked_rotor_current_declared": "pass", "pull_up_torque_declared": "not tested"}
    assert next(one for one in results.verdict.scope if one.subject == "starting").state == "not tested"
