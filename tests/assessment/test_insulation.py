"""Insulation readings judged, and what they forbid."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench import Bench
from builders import figures_of, make_job, make_readings, make_rig
from hypothesis import given
from hypothesis import strategies as st

from certgen.assessment.cautions import cautions_of
from certgen.assessment.insulation import insulation_findings, insulation_result
from certgen.job.model import Insulation
from certgen.pipeline import assess_job
from certgen.reduction.reduce import reduce_test
from certgen.results.insulation import insulation_figures

pytestmark = pytest.mark.slow

ICE = 273.15
M = 1e6


def judged(at_1_min, at_10_min=None, *, celsius=40.0, volts=500.0, **plate):
    job = make_job(**{"voltage": 400.0, "insulation_class": "F", **plate})
    read = Insulation(volts, at_1_min, at_10_min, None if celsius is None else ICE + celsius)
    # At the limit itself: the tester's own uncertainty is the matter of the decision rule, not of the limit.
    job = replace(job, decision_rule="simple", readings=replace(job.readings, insulation=read))
    reduction = reduce_test(job, make_rig(), make_readings(speed=[150.0, 149.0], torque=[0.1, 5.0]))
    figures = insulation_figures(job, reduction)
    findings = insulation_findings(job, figures)
    result = insulation_result(figures, findings)
    cautions = cautions_of(job, make_rig(), reduction, figures_of(job, make_rig(), reduction), findings)
    return result, {one.id: one for one in findings}, cautions


def test_nothing_read_nothing_judged():
    job = make_job()
    reduction = reduce_test(job, make_rig(), make_readings(speed=[150.0], torque=[1.0]))
    assert insulation_figures(job, reduction) is None
    assert (insulation_findings(job, None), insulation_result(None, ())) == ((), None)


@pytest.mark.parametrize(("megohms", "outcome"), [(5.0, "pass"), (4.99, "fail")])
def test_least_resistance_of_a_random_winding(megohms, outcome):
    """IEEE Std 43-2013, 12.3: 5 Mohm at 40 degC (T. Bishop, EASA, April 2016)."""
    result, findings, _ = judged(megohms * M)
    assert result.outcome == findings["insulation"].outcome == outcome
    assert result.at_40_degC.value == pytest.approx(megohms * M)
    assert result.minimum.value == 5 * M
    assert str(findings["insulation"].source) == "IEEE Std 43-2013, 12.3"


def test_the_reading_is_corrected_before_it_is_judged():
    """6 Mohm at 20 degC: thermosetting 0.76 of it, 4.6 Mohm; thermoplastic (class A) a quarter, 1.5 Mohm."""
    result, findings, _ = judged(6 * M, celsius=20.0)
    assert (result.outcome, result.at_40_degC.value) == ("fail", pytest.approx(4.6 * M, rel=0.01))
    assert str(findings["insulation"].note) == "at 40 °C, corrected from 20 °C"
    assert "as thermosetting (IEEE Std 43-2013, 6.3, from memory)" in str(result.notes[0])
    result, _, _ = judged(21 * M, celsius=20.0, insulation_class="A")
    assert (result.outcome, result.at_40_degC.value) == ("pass", pytest.approx(5.25 * M))


@given(st.floats(10.0, 85.0))
def test_an_unknown_class_gets_the_lower_of_both_corrections(celsius):
    lower = judged(100 * M, celsius=celsius, insulation_class=None)[0].at_40_degC.value
    both = [judged(100 * M, celsius=celsius, insulation_class=letter)[0].at_40_degC.value for letter in "AF"]
    assert lower == pytest.approx(min(both))


@given(st.floats(10.0, 85.0), st.floats(0.01, 1e4), st.floats(1.001, 100.0), st.sampled_from("ABEFHN"))
def test_a_greater_resistance_is_never_judged_worse(celsius, megohms, times, letter):
    order = ("pass", "fail")
    lesser, greater = (
        judged(one * M, celsius=celsius, insulation_class=letter)[0].outcome for one in (megohms, megohms * times)
    )
    assert order.index(greater) <= order.index(lesser)


@pytest.mark.parametrize("celsius", [None, 9.0, 90.0])
def test_a_reading_that_cannot_be_corrected_does_not_pass(celsius):
    result, findings, cautions = judged(340 * M, celsius=celsius)
    assert (result.outcome, result.at_40_degC) == ("not tested", None)
    assert "not corrected to 40 °C" in str(findings["insulation"].note)
    assert str(cautions[0].text).startswith("The insulation reading could not be judged")


@pytest.mark.parametrize(("celsius", "megohms"), [(None, 0.2), (9.0, 4.9), (90.0, 0.9)])
def test_what_even_the_warmest_winding_would_not_lift_fails(celsius, megohms):
    """At 85 degC a thermosetting winding is lifted 5.5-fold; below 10 degC nothing is."""
    assert judged(megohms * M, celsius=celsius)[0].outcome == "fail"


def test_a_hot_winding_may_be_better_than_it_reads():
    assert judged(4 * M, celsius=None)[0].outcome == "not tested"
    assert judged(4 * M, celsius=60.0)[0].outcome == "pass"


def test_too_low_a_test_voltage_passes_nothing():
    result, findings, _ = judged(340 * M, volts=100.0)
    assert result.outcome == "not tested"
    assert "measured at 100 V, at least 500 V needed" in str(findings["insulation"].note)
    assert judged(340 * M, volts=1000.0)[0].outcome == "pass"


def test_without_any_voltage_nothing_is_asked():
    assert judged(340 * M, voltage=None)[0].outcome == "not tested"


@pytest.mark.parametrize(
    ("letter", "tenth", "outcome"),
    [("F", 199.0, "fail"), ("F", 200.0, "pass"), ("A", 149.0, "fail"), ("A", 150.0, "pass")],
)
def test_polarization_index_by_class(letter, tenth, outcome):
    """IEEE Std 43: 1.5 for class A, 2.0 for B, F, H."""
    result, findings, _ = judged(100 * M, tenth * M, insulation_class=letter)
    assert findings["polarization_index"].outcome == outcome
    assert result.polarization_index.value == pytest.approx(tenth / 100.0)


def test_a_low_index_of_a_random_winding_warns_and_condemns_not():
    """IEEE Std 43-2013, 5.4: the index may not apply to small random-wound machines."""
    result, findings, cautions = judged(100 * M, 120 * M)
    assert result.outcome == "pass"
    assert not findings["polarization_index"].decides
    assert str(cautions[0].text).startswith("The insulation may be damp or dirty")


def test_a_low_index_of_a_form_winding_condemns():
    result, findings, cautions = judged(500 * M, 600 * M, voltage=6600.0, volts=2500.0)
    assert findings["insulation"].outcome == "pass"
    assert result.outcome == "fail"
    assert str(cautions[0].text).startswith("Do not energise this motor")


@pytest.mark.parametrize(("letter", "at_1", "index"), [("E", 100 * M, 1.6), (None, 100 * M, 1.6), ("F", 5100 * M, 1.1)])
def test_no_index_is_asked_of_unlisted_classes_or_great_resistances(letter, at_1, index):
    result, findings, _ = judged(at_1, index * at_1, insulation_class=letter)
    assert "polarization_index" not in findings
    assert result.polarization_index.value == pytest.approx(index)
    assert result.minimum_polarization_index is None


def test_sound_insulation_leaves_no_caution():
    _, _, cautions = judged(340 * M, 910 * M, celsius=21.0)
    assert "insulation" not in {one.id for one in cautions}


def test_failed_insulation_stands_first_among_the_cautions():
    _, _, cautions = judged(1 * M)
    assert cautions[0].id == "insulation"
    assert str(cautions[0].text).startswith("Do not energise this motor")


@pytest.mark.parametrize("plate", [None, "nameplate: {}\n"])
def test_failed_insulation_fails_the_motor_whatever_else_was_measured(bench: Bench, plate):
    reading = "  insulation: {voltage: 500 V, at_1_min: 0.4 Mohm, temperature: 21 degC}\ncriteria"
    job = bench.texts["job"]
    edits = {"criteria": reading}
    if plate is not None:
        edits[job[job.index("nameplate:") : job.index("rig:")]] = plate
    results = assess_job(bench.edit("job", edits).write()).results
    assert results.verdict.outcome == "fail"
    assert str(results.verdict.reasons[0]).startswith("Insulation resistance is 9")
    assert str(results.cautions[0].text).startswith("Do not energise this motor")


def test_a_reading_that_passes_does_not_count_as_a_comparison_with_the_plate(bench: Bench):
    before = assess_job(bench.write()).results.verdict
    reading = "  insulation: {voltage: 500 V, at_1_min: 340 Mohm, temperature: 21 degC}\ncriteria"
    after = assess_job(bench.edit("job", {"criteria": reading}).write()).results.verdict
    assert replace(after, scope=before.scope) == before
    assert [(item.subject, item.state) for item in after.scope if item not in before.scope] == [("insulation", "met")]
