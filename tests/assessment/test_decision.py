from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import findings_of, make_job, make_readings, make_rig, verdict_on
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from certgen.assessment.decision import (
    GUARDED_ACCEPTANCE,
    NOT_STATED,
    SIMPLE_ACCEPTANCE,
    conformance_probability,
    decide,
    guarded_outcome,
    outcome_of,
    rule_in_words,
)
from certgen.job.model import GUARDED, SIMPLE, Conditions
from certgen.reduction.reduce import reduce_test
from certgen.reduction.uncertainty.model import Uncertainties, Uncertainty
from certgen.results.model import OUTCOMES, Finding, Limits
from certgen.standards.criteria import shipped_criteria

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
ACCEPTED = ("pass", "conditional pass")
LOW, HIGH = Limits(low=10.0), Limits(high=10.0)

ordinary = st.floats(-1e3, 1e3)
sizes = st.floats(0.0, 1e3)


def expanded_by(expanded: float, factor: float = 2.0) -> Uncertainty:
    return Uncertainty(expanded / factor, math.inf, factor, expanded)


@st.composite
def limits(draw: st.DrawFn) -> Limits:
    """One limit or two, the lower never above the higher."""
    low, width = draw(ordinary), draw(sizes)
    return draw(st.sampled_from([Limits(low=low), Limits(high=low), Limits(low, low + width)]))


@pytest.mark.parametrize(
    ("measured", "outcome"),
    [(8.9, "pass"), (9.0, "pass"), (9.1, "conditional pass"), (10.0, "conditional pass"),
     (10.1, "conditional fail"), (11.0, "conditional fail"), (11.1, "fail")],
)  # fmt: skip
def test_four_outcomes_at_one_limit(measured, outcome):
    """ILAC-G8:09/2019, 4.2.3: pass up to TL - w, conditional pass up to TL, conditional fail up to TL + w, fail above.

    Upper limit 10, w = 1; the lower limit is its mirror.
    """
    assert guarded_outcome(measured, HIGH, 1.0) == outcome
    assert guarded_outcome(20.0 - measured, LOW, 1.0) == outcome


@pytest.mark.parametrize(
    ("measured", "outcome"),
    [(7.9, "fail"), (8.0, "conditional fail"), (9.5, "conditional pass"), (10.0, "pass"), (11.0, "pass"),
     (11.5, "conditional pass"), (13.0, "conditional fail"), (13.1, "fail")],
)  # fmt: skip
def test_two_limits_have_a_guard_band_each(measured, outcome):
    """JCGM 106:2012, 8.3.2.3: a two-sided tolerance is shortened at both ends. Limits 9 and 12, w = 1."""
    assert guarded_outcome(measured, Limits(9.0, 12.0), 1.0) == outcome


def test_a_tolerance_narrower_than_two_guard_bands_leaves_nothing_to_pass():
    found = {guarded_outcome(value, Limits(9.0, 10.0), 0.6) for value in np.linspace(8.0, 11.0, 301)}
    assert found == set(OUTCOMES[1:4])


@pytest.mark.parametrize(("multiple", "greatest"), [(0.83, 0.05), (1.0, 0.025), (1.5, 0.0016), (3.0, 1e-6)])
def test_false_accept_at_the_acceptance_limit(multiple, greatest):
    """ILAC-G8:09/2019, Table 1: specific risk below 5 % at w = 0.83 U, 2.5 % at U, 0.16 % at 1.5 U, 1 ppm at 3 U."""
    expanded = 0.4
    risk = 1.0 - conformance_probability(10.0 - multiple * expanded, HIGH, expanded / 2.0)
    assert 0.0 < risk < greatest


def test_conformance_to_two_limits():
    """JCGM 106:2012, 7.4, example: viscosity 13.6 mm2/s, u = 1.8, limits 12.5 and 16.3; the answer 0.66 from memory."""
    assert conformance_probability(13.6, Limits(12.5, 16.3), 1.8) == pytest.approx(0.66, abs=0.005)


@pytest.mark.parametrize(
    ("measured", "standard", "limit", "conforms"),
    [(-5.47, 0.05, Limits(high=-5.40), 0.92), (509.7, 8.6, Limits(low=490.0), 0.99)],
)
def test_conformance_to_one_limit(measured, standard, limit, conforms):
    """JCGM 106:2012, 7.3.3, examples 1 (breakdown voltage, V) and 2 (bursting pressure, kPa); figures from memory."""
    assert conformance_probability(measured, limit, standard) == pytest.approx(conforms, abs=0.005)


@pytest.mark.parametrize(("conforms", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)])
def test_distance_to_the_limit_for_a_wanted_probability(conforms, z):
    """JCGM 106:2012, Table 1 (from memory; the quantiles of any normal table), z printed to 0.01."""
    below, above = (conformance_probability(10.0 - (z + half) * 0.1, HIGH, 0.1) for half in (-0.005, 0.005))
    assert below <= conforms <= above


def test_a_value_on_its_limit_is_wrong_half_the_time():
    """ILAC-G8:09/2019, 4.2.1 with Table 1: at simple acceptance the specific risk reaches 50 %."""
    found = decide(10.0, HIGH, expanded_by(0.2), SIMPLE)
    assert (found.outcome, found.rule) == ("pass", SIMPLE_ACCEPTANCE)
    assert found.false_decision_probability == pytest.approx(0.5, abs=1e-12)


@given(ordinary, limits(), st.floats(1e-3, 1e3))
def test_conformance_is_the_normal_probability_between_the_limits(value, limit, standard):
    spread = stats.norm(value, standard)
    low, high = (-math.inf if limit.low is None else limit.low), (math.inf if limit.high is None else limit.high)
    expected = spread.cdf(high) - spread.cdf(low)
    assert conformance_probability(value, limit, standard) == pytest.approx(expected, abs=1e-9)


@given(ordinary, limits(), sizes)
def test_guarded_and_simple_acceptance_never_contradict_each_other(value, limit, guard_band):
    """What passes with a guard band passes without, and what fails with one fails without."""
    guarded, simple = guarded_outcome(value, limit, guard_band), outcome_of(value, limit)
    assert (guarded in ACCEPTED) == (simple == "pass")


@given(ordinary, limits(), sizes, sizes)
def test_more_uncertainty_never_makes_an_outcome_surer(value, limit, one, other):
    small, large = sorted((one, other))
    surer, less = guarded_outcome(value, limit, small), guarded_outcome(value, limit, large)
    assert less == surer or less.removeprefix("conditional ") == surer


@given(ordinary, limits())
def test_without_uncertainty_both_rules_are_one(value, limit):
    found = decide(value, limit, expanded_by(0.0), GUARDED)
    assert found.outcome == outcome_of(value, limit)
    assert found.false_decision_probability == 0.0


@given(ordinary, limits(), st.floats(1e-6, 1e3))
def test_a_vanishing_uncertainty_leaves_simple_acceptance(value, limit, expanded):
    gaps = [abs(value - bound) for bound in (limit.low, limit.high) if bound is not None]
    assume(min(gaps) > expanded * 1.001)
    assert guarded_outcome(value, limit, expanded) == outcome_of(value, limit)


@given(ordinary, st.sampled_from([Limits(low=0.0), Limits(high=0.0)]), st.floats(1e-6, 1e3), st.floats(2.0, 14.0))
def test_a_guarded_decision_is_wrong_at_most_once_in_forty(value, limit, expanded, factor):
    """ILAC-G8:09/2019, 4.2.2 and Table 1: at most 2.5 % for one limit and w = U; k = 2 or, with few readings, more."""
    found = decide(value, limit, expanded_by(expanded, factor), GUARDED)
    assert found.rule == GUARDED_ACCEPTANCE
    assert found.expanded_uncertainty == expanded
    if found.outcome in ("pass", "fail"):
        assert found.false_decision_probability <= 0.025
    else:
        assert 0.0 <= found.false_decision_probability <= 0.5


@given(ordinary, limits())
def test_what_is_not_known_is_judged_simply_and_says_so(value, limit):
    for nothing in (None, Uncertainty(None, None, None, None, ("the scale",))):
        found = decide(value, limit, nothing, GUARDED)
        assert (found.outcome, found.rule) == (outcome_of(value, limit), NOT_STATED)
        assert found.expanded_uncertainty is None
        assert found.false_decision_probability is None
        assert decide(value, limit, nothing, SIMPLE).rule == SIMPLE_ACCEPTANCE


def test_words_name_the_rule_that_was_applied():
    guarded, simple = (Finding("x", "T", "pass", "1", decision_rule=rule) for rule in (GUARDED_ACCEPTANCE, NOT_STATED))
    assert str(rule_in_words(GUARDED, [simple, guarded])).startswith("guarded acceptance with guard band w = U")
    assert str(rule_in_words(GUARDED, [simple])).startswith("simple acceptance: uncertainty not stated")
    assert str(rule_in_words(SIMPLE, [simple])).startswith("simple acceptance: a measured value on or within its limit")


PLATE = {"power": 1500.0, "current": 3.4, "frequency": 50.0, "speed": 1420 * RPM, "poles": 4, "efficiency": 0.80}
IEC = shipped_criteria("iec-60034-1")


def judged(doubts, *, rule=GUARDED, last=None, **plate):
    """Findings by their id, and the verdict, of a sound motor whose points have some expanded uncertainties."""
    speed = np.array([1493, 1459, 1441, 1421, 1396]) * RPM
    torque = np.array([0.03, 5.1, 7.6, 10.1, 12.6])
    taken = torque * speed + np.array([150, 205, 260, 340, 450])
    columns = {"speed": speed, "torque": torque, "current": np.array([1.9, 2.5, 2.95, 3.4, 4.05]), "input_power": taken}
    columns = {name: values[last] for name, values in columns.items()} if last else columns
    job = replace(make_job(conditions=Conditions(supply_frequency=50.0), **PLATE | plate), decision_rule=rule)
    reduction = reduce_test(job, make_rig(), make_readings(**columns))
    each = {name: expanded_by(size) for name, size in doubts.items()}
    sure = Uncertainties(
        points=(each,) * reduction.points.count,
        operating={name: each for name, point in reduction.operating.items() if point is not None},
        budgets={},
        missing_inputs=(),
    )
    reduction = replace(reduction, uncertainties=sure)
    findings = findings_of(job, reduction, IEC)
    return {one.id: one for one in findings}, verdict_on(job, reduction, findings)


def test_a_finding_carries_its_uncertainty_and_what_it_may_cost():
    found, verdict = judged({"efficiency": 0.004, "shaft_power": 12.0})
    efficiency = found["efficiency_at_rated_power"]
    assert (efficiency.outcome, efficiency.decision_rule) == ("pass", GUARDED_ACCEPTANCE)
    assert efficiency.expanded_uncertainty == 0.004
    assert efficiency.false_decision_probability < 1e-6
    assert found["slip_at_rated_power"].decision_rule == NOT_STATED
    assert found["energy_balance"].decision_rule == SIMPLE_ACCEPTANCE
    assert verdict.outcome == "pass"


def test_within_its_limit_by_less_than_the_uncertainty_is_a_conditional_pass():
    found, verdict = judged({"efficiency": 0.06})
    assert found["efficiency_at_rated_power"].outcome == "conditional pass"
    assert verdict.outcome == "conditional pass"
    assert [str(reason) for reason in verdict.reasons] == [
        "Meets its nameplate: 3 of 3 checks.",
        "Within its limit, but by less than the uncertainty: Efficiency at rated power.",
    ]


def test_outside_its_limit_by_less_than_the_uncertainty_is_a_conditional_fail():
    found, verdict = judged({"efficiency": 0.06}, efficiency=0.88)
    assert found["efficiency_at_rated_power"].outcome == "conditional fail"
    assert 0.0 < found["efficiency_at_rated_power"].false_decision_probability < 0.5
    assert verdict.outcome == "conditional fail"
    assert [str(reason) for reason in verdict.reasons] == [
        "Efficiency at rated power is 5.4 % below the lowest allowed, outside its limit by less than the uncertainty.",
    ]


def test_a_fail_outweighs_a_conditional_fail():
    found, verdict = judged({"efficiency": 0.06, "current": 0.01}, efficiency=0.88, current=3.05)
    assert found["current_at_rated_power"].outcome == "fail"
    assert verdict.outcome == "fail"
    assert any("by less than the uncertainty" in str(reason) for reason in verdict.reasons)


def test_simple_acceptance_on_request_keeps_the_uncertainty():
    found, verdict = judged({"efficiency": 0.06}, rule=SIMPLE)
    efficiency = found["efficiency_at_rated_power"]
    assert (efficiency.outcome, efficiency.decision_rule) == ("pass", SIMPLE_ACCEPTANCE)
    assert efficiency.expanded_uncertainty == 0.06
    assert found["slip_at_rated_power"].decision_rule == SIMPLE_ACCEPTANCE
    assert verdict.outcome == "pass"


def test_a_single_tested_point_is_judged_with_its_own_uncertainty():
    found, _ = judged({"shaft_power": 200.0}, last=[3])
    power = found["power_at_rated_current"]
    assert power.expanded_uncertainty == 200.0
    assert power.outcome == "conditional pass"
