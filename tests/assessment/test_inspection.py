"""The inspection judged: the inspector's word, published limits of what was measured, and what they do to the verdict."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import make_job
from hypothesis import given
from hypothesis import strategies as st
from typed_job import TypedJob

from certgen.assessment.inspection import inspected_items, inspection_findings, inspection_reservations
from certgen.errors import InputError
from certgen.job.as_found import ITEMS, OF_SAFETY, Inspected, Shaft
from certgen.messages.catalogue import text_of
from certgen.results.model import Results

pytestmark = pytest.mark.slow


def items_of(*items: Inspected, kind: str = "three-phase induction", diameter: float | None = None, **plate):
    job = make_job(kind, **plate)
    shaft = None if diameter is None else Shaft(diameter=diameter)
    return inspected_items(replace(job, inspection=items, motor=replace(job.motor, shaft=shaft)))


def issued(tmp_path, *items: dict, kind: str = "three-phase induction", **motor) -> Results:
    return replace(TypedJob(), inspection=list(items), motor=motor).judged(tmp_path)


GOOD = {"item": "bearings", "finding": "quiet, no play", "ok": "yes"}


def test_nothing_inspected_nothing_said(tmp_path):
    results = issued(tmp_path)
    assert results.as_found.inspection == ()
    assert results.verdict.outcome == "pass"


def test_good_items_leave_the_verdict_as_it_is(tmp_path):
    results = issued(tmp_path, GOOD, {"item": "frame earth", "ok": "true"})
    assert [one.good for one in results.as_found.inspection] == [True, True]
    assert results.verdict.outcome == "pass"


def test_an_item_that_is_not_good_caps_the_verdict(tmp_path):
    poor = {"item": "fan and cowl", "finding": "cowl cracked", "ok": "no"}
    results = issued(tmp_path, GOOD, poor)
    assert results.verdict.outcome == "conditional pass"
    assert str(results.verdict.reasons[0]) == "Not good at inspection: Fan and cowl: cowl cracked."
    assert not any(one.do_not_energise for one in results.cautions)


@pytest.mark.parametrize("item", OF_SAFETY)
def test_an_item_of_safety_that_is_not_good_is_a_fail(tmp_path, item):
    results = issued(tmp_path, GOOD, {"item": item, "finding": "as it should not be", "ok": "false"})
    assert results.verdict.outcome == "fail"
    assert "as it should not be" in str(results.verdict.reasons[0])
    caution = next(one for one in results.cautions if one.id == "inspection")
    assert caution.do_not_energise
    finding = next(one for one in results.findings if one.id.startswith("inspection_"))
    assert (finding.outcome, finding.basis) == ("fail", "workshop")


def test_an_unsafe_motor_fails_on_any_readings_and_without_a_plate(tmp_path):
    """Ten times the load on a row withholds a verdict; an earth that is off is a fail whatever the load."""
    job = replace(TypedJob(), inspection=[{"item": "frame earth", "ok": "no"}])
    assert job.spoilt("scale", 3, lambda kg: 10 * kg).judged(tmp_path).verdict.outcome == "fail"
    bare = replace(job, plate={}).judged(tmp_path)
    assert bare.verdict.outcome == "fail"
    assert bare.assessed_rating is not None
    assert bare.assessed_rating.power is None
    assert "once the faults found at inspection" in str(bare.assessed_rating.to_measure[0])


def test_an_unmarked_motor_with_a_poor_item_says_so(tmp_path):
    bare = replace(TypedJob(), plate={}, inspection=[{"item": "smell", "finding": "burnt", "ok": "no"}])
    verdict = bare.judged(tmp_path).verdict
    assert verdict.outcome == "no verdict"
    assert str(verdict.reasons[-1]) == "Not good at inspection: Smell: burnt."


@given(st.sampled_from(ITEMS), st.booleans(), st.text("abc ", max_size=9))
def test_what_is_not_good_is_a_finding_or_a_reservation_never_both(item, ok, finding):
    items = items_of(Inspected(item, finding, ok), kind="dc")
    found, reserved = inspection_findings(items), inspection_reservations(items)
    assert len(found) + len(reserved) == (0 if ok else 1)
    assert bool(found) == (item in OF_SAFETY and not ok)


# What was measured.


@pytest.mark.parametrize(
    ("millimetres", "letter", "good"),
    [(0.71, "A", True), (0.72, "B", True), (1.8, "B", True), (1.81, "C", False), (4.5, "C", False), (4.6, "D", False)],
)
def test_zones_of_a_small_motor(millimetres, letter, good):
    """ISO 10816-1, annex B (now ISO 20816-1), class I, motors to 15 kW: 0.71, 1.8, 4.5 mm/s (vibromera.eu)."""
    (one,) = items_of(Inspected("vibration", velocity=millimetres * 1e-3), power=1500.0)
    assert one.good is good
    assert f"zone {letter}" in str(one.judgement)
    assert str(one.source) == "ISO 10816-1, class I, motors to 15 kW"


@pytest.mark.parametrize(("support", "good"), [("rigid", False), ("flexible", True), (None, None)])
def test_zones_above_15_kw_depend_on_the_support(support, good):
    """ISO 10816-3, group 2, 15 to 300 kW: zone B ends at 2.8 mm/s on a rigid support, at 4.5 on a flexible one (memory)."""
    (one,) = items_of(Inspected("vibration", velocity=3e-3, support=support), power=22e3)
    assert one.good is good


@pytest.mark.parametrize("power", [None, 400e3])
def test_no_zone_without_a_size_that_has_one(power):
    (one,) = items_of(Inspected("vibration", velocity=1e-3), power=power)
    assert (one.good, one.source) == (None, "")
    assert one.measured is not None


@given(st.floats(1e-5, 0.02), st.floats(1.0, 3.0), st.floats(10.0, 290e3), st.sampled_from(["rigid", "flexible"]))
def test_a_greater_vibration_is_never_judged_better(velocity, times, power, support):
    lesser, greater = (
        items_of(Inspected("vibration", velocity=one, support=support), power=power)[0].good
        for one in (velocity, velocity * times)
    )
    assert lesser or not greater


@pytest.mark.parametrize(
    ("diameter", "limit"), [(9, 0.030), (14, 0.035), (18, 0.035), (24, 0.040), (38, 0.050), (55, 0.060), (110, 0.070)]
)
def test_run_out_of_the_shaft(diameter, limit):
    """IEC 60072-1 as in ANSI/EASA AR100-2015, Table 2-4, by diameter over and up to: 10, 18, 30, 50, 80, 120 mm."""
    within, beyond = (
        items_of(Inspected("shaft", run_out=run_out * 1e-3), diameter=diameter * 1e-3)[0]
        for run_out in (limit, limit + 0.002)
    )
    assert (within.good, beyond.good) == (True, False)


@pytest.mark.parametrize("diameter", [None, 5e-3, 0.3])
def test_run_out_without_a_limit_is_told_and_not_judged(diameter):
    (one,) = items_of(Inspected("shaft", run_out=5e-4), diameter=diameter)
    assert one.good is None
    assert str(one.judgement).startswith("run-out 0.5 mm, no limit")


@pytest.mark.parametrize(
    ("degree", "good"), [("1", True), ("1 1/4", True), ("1 1/2", True), ("2", False), ("3", False)]
)
def test_degrees_of_sparking(degree, good):
    """The scale of GOST 183 and GB 755; at rated load 1 1/2 is allowed, from memory."""
    (one,) = items_of(Inspected("sparking", degree=degree), kind="dc")
    assert one.good is good


def test_a_worn_brush_is_not_good_whatever_the_inspector_says():
    (one,) = items_of(Inspected("brushes", ok=True, length=7e-3, least_length=8e-3), kind="universal")
    assert one.good is False
    assert str(one.judgement) == "shortest brush 7 mm, 8 mm needed"
    assert text_of(one.judgement, units="us") == "shortest brush 0.276 in, 0.315 in needed"
    (alone,) = items_of(Inspected("brushes", length=7e-3), kind="universal")
    assert alone.good is None


def test_what_the_inspector_calls_not_good_is_not_good_within_its_limit():
    (one,) = items_of(Inspected("vibration", "rumbles", ok=False, velocity=1e-3), power=1500.0)
    assert one.good is False


def test_sparking_seen_is_named_in_the_caution(tmp_path):
    results = issued_dc(tmp_path, {"item": "sparking", "degree": "1 1/4"})
    caution = next(one for one in results.cautions if one.id == "commutation")
    assert str(caution.because) == "degree 1 1/4 seen"


def issued_dc(tmp_path, *items):
    plate = {"power": "1.5 kW", "voltage": "400 V", "current": "4.5 A", "speed": "1427 rpm"}
    job = replace(TypedJob(), kind="dc", plate=plate, inspection=list(items), warm=None)
    conditions = {name: value for name, value in job.conditions.items() if name != "supply_frequency"}
    return replace(job, conditions=conditions).judged(tmp_path)


# What is written wrong.


@pytest.mark.parametrize(
    ("item", "says"),
    [
        ({"item": "bearing", "ok": "yes"}, "'bearing' is not one of the words known here"),
        ({"item": "bearings"}, "inspection[1]: whether 'bearings' is good is missing; write 'ok: true' or 'ok: false'"),
        ({"item": "bearings", "ok": "fair"}, "inspection[1].ok: 'fair' is neither yes nor no; write true or false"),
        (
            {"item": "bearings", "ok": "yes", "run_out": "0.02 mm"},
            "inspection[1].run_out: 'bearings' has no such figure",
        ),
        ({"item": "brushes", "ok": "yes"}, "an induction motor has neither brushes nor commutator"),
        ({"item": "vibration", "velocity": "1.8 mm"}, "a number with a unit of velocity"),
        ({"item": "vibration", "velocity": "1.8"}, "a number with a unit of velocity"),
    ],
)
def test_mistakes_name_the_item(tmp_path, item, says):
    with pytest.raises(InputError) as caught:
        issued(tmp_path, item)
    assert says in str(caught.value)


def test_inches_a_second_are_read(tmp_path):
    results = issued(tmp_path, {"item": "vibration", "velocity": "0.05 in/s"}, {"item": "sound", "level": "62 dB(A)"})
    vibration, sound = results.as_found.inspection
    assert vibration.measured is not None
    assert vibration.measured.value == pytest.approx(1.27e-3)
    assert (str(sound.judgement), sound.good) == ("62 dB", None)
