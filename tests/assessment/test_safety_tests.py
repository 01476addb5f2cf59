"""Safety tests: protective bond, insulation between windings, withstand voltage, surges, thermal protector."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typed_job import TypedJob

from certgen.errors import InputError
from certgen.standards.inspection_limits import withstand_levels
from certgen.terminal.results import results_text

pytestmark = pytest.mark.slow

#: Testers that add next to nothing to what is judged.
FINE = {"meters": {"bond_resistance": {"reading": "0.1 %"}, "insulation_resistance": {"reading": "0.1 %"}}}


def judged(tmp_path, *, plate=None, rig=None, **safety):
    job = TypedJob() if plate is None else replace(TypedJob(), plate=plate)
    rig = {**job.rig, **(FINE if rig is None else rig)}
    return replace(job, rig=rig, fine="meters" not in rig, readings={"safety": safety}).judged(tmp_path)


def row(results, name):
    (found,) = [one for one in results.findings if one.id == f"safety_{name}"]
    return found


def forbidden(results):
    return any(one.do_not_energise for one in results.cautions)


def test_nothing_tested_nothing_said(tmp_path):
    results = judged(tmp_path)
    assert results.as_found.safety is not None
    assert not any(one.id.startswith("safety_") for one in results.findings)


@pytest.mark.parametrize(
    ("ohms", "outcome"), [(0.05, "pass"), (0.09999, "conditional pass"), (0.10001, "conditional fail"), (0.3, "fail")]
)
def test_the_bond_may_have_a_tenth_of_an_ohm(tmp_path, ohms, outcome):
    """IEC 60335-1, 27.5: 0.1 ohm from the earth terminal to metal that can be touched (ka-testing.com, hioki.com)."""
    results = judged(tmp_path, protective_bond=f"{ohms} ohm")
    assert row(results, "bond").outcome == outcome
    assert forbidden(results) is (outcome in ("conditional fail", "fail"))
    if outcome == "fail":
        assert results.verdict.outcome == "fail"
        assert ["Protective bond is 200" in str(reason) for reason in results.verdict.reasons] == [True]


def test_far_beyond_its_limit_is_said_as_so_many_times(tmp_path):
    results = judged(tmp_path, protective_bond="3.2 ohm")
    assert "Protective bond is 32 times the highest allowed." in map(str, results.verdict.reasons)


def test_a_tester_that_states_nothing_is_taken_as_an_ordinary_one(tmp_path):
    results = judged(tmp_path, rig={"name": "Arm brake"}, protective_bond="0.098 ohm")
    assert row(results, "bond").outcome == "conditional pass"


@pytest.mark.parametrize(
    ("volts", "megohms", "outcome"), [(500, 220, "pass"), (500, 4, "fail"), (100, 220, "not tested"), (100, 4, "fail")]
)
def test_windings_are_held_apart_like_winding_and_frame(tmp_path, volts, megohms, outcome):
    """IEEE Std 43-2013, 12.3: 5 Mohm below 1 kV; tested with 500 V (table 1)."""
    between = {"voltage": f"{volts} V", "at_1_min": f"{megohms} Mohm"}
    results = judged(tmp_path, between_windings=between)
    assert row(results, "between_windings").outcome == outcome
    assert forbidden(results) is (outcome == "fail")


@pytest.mark.parametrize(
    ("voltage", "power", "overhauled", "new"),
    [
        (400, 1500, 1000, 1800),
        (230, 750, 1000, 1500),
        (48, 200, 500, 596),
        (48, 2000, 500, 1500),
        (690, 5000, 1035, 2380),
    ],
)
def test_levels_of_the_withstand_test(voltage, power, overhauled, new):
    """IEC 60034-1:2004, 9.2 b) and table 16, items 1 and 2 (scribd.com, extract): worked by hand from the rules."""
    levels = withstand_levels(voltage, power)
    assert (levels.overhauled, levels.new) == (pytest.approx(overhauled), pytest.approx(new))


@given(st.floats(100.0, 999.0), st.floats(10.0, 1e5))
def test_an_overhauled_motor_is_never_tested_above_a_new_one(voltage, power):
    levels = withstand_levels(voltage, power)
    assert levels.overhauled <= levels.new


@pytest.mark.parametrize(
    ("volts", "seconds", "held", "outcome", "note"),
    [
        (1000, 60, "yes", "pass", ""),
        (900, 60, "yes", "not tested", "below the 1000 V of an overhauled motor"),
        (1200, 1, "yes", "not tested", "held 1 s, a minute needed"),
        (2000, 60, "yes", "pass", "above the 1800 V of a new winding, which it strains"),
        (600, 60, "no", "fail", "broke down at 600 V"),
    ],
)
def test_what_held_counts_from_the_voltage_of_an_overhauled_motor(tmp_path, volts, seconds, held, outcome, note):
    test = {"voltage": f"{volts} V", "time": f"{seconds} s", "held": held, "leakage": "1.2 mA"}
    results = judged(tmp_path, withstand=test)
    found = row(results, "withstand")
    assert (found.outcome, str(found.note)) == (outcome, note)
    assert forbidden(results) is (outcome == "fail")
    assert f"{volts} V for {seconds} s" in results_text(results, "job.yaml")
    assert "leakage 1.2 mA" in results_text(results, "job.yaml")


def test_a_breakdown_fails_a_motor_without_a_plate(tmp_path):
    broken = {"voltage": "1000 V", "time": "2 s", "held": "no"}
    results = judged(tmp_path, plate={}, withstand=broken)
    assert results.verdict.outcome == "fail"
    assert str(results.verdict.reasons[0]) == "Withstand voltage: broke down at 1000 V."


@pytest.mark.parametrize(
    ("safety", "reason"),
    [
        ({"surge": {"ok": "no", "finding": "U to V rings faster"}}, "The windings differ by surge comparison."),
        ({"thermal_protector": {"present": "yes", "ok": "no"}}, "The thermal protector does not work."),
    ],
)
def test_a_remark_that_is_not_good_caps_the_verdict(tmp_path, safety, reason):
    results = judged(tmp_path, **safety)
    assert results.verdict.outcome == "conditional pass"
    assert str(results.verdict.reasons[0]) == reason
    assert not forbidden(results)


@pytest.mark.parametrize(
    ("safety", "says"),
    [
        ({"thermal_protector": {"present": "no"}}, "thermal protector: none built in"),
        ({"thermal_protector": {"present": "yes"}}, "thermal protector: built in, not tried"),
        (
            {"thermal_protector": {"present": "yes", "ok": "yes", "finding": "opens at 128 degC"}},
            "thermal protector: tried, works: opens at 128 degC",
        ),
        ({"surge": {"ok": "yes", "voltage": "1.5 kV"}}, "surge comparison: traces agree"),
    ],
)
def test_what_is_told_caps_nothing(tmp_path, safety, says):
    results = judged(tmp_path, **safety)
    assert results.verdict.outcome == "pass"
    assert says in results_text(results, "job.yaml")


@pytest.mark.parametrize(
    ("safety", "says"),
    [
        ({"thermal_protector": {"present": "no", "ok": "yes"}}, "a motor without a protector has none to try"),
        ({"withstand": {"voltage": "1500 V", "time": "60 s"}}, "readings.safety.withstand.held: this key is missing"),
        ({"withstand": {"voltage": "1500 V", "time": "60 s", "held": "maybe"}}, "neither yes nor no"),
        ({"protective_bond": "0 ohm"}, "more than zero"),
        ({"protective_bond": "0.05"}, "a number with a unit of resistance"),
    ],
)
def test_mistakes_name_the_test(tmp_path, safety, says):
    with pytest.raises(InputError) as caught:
        judged(tmp_path, **safety)
    assert says in str(caught.value)
