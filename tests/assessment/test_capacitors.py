"""Capacitors against what their case says, or what is usual of their kind; the start switch."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typed_job import TypedJob

from certgen.errors import InputError
from certgen.results.capacitors import dissipation_factor
from certgen.standards.inspection_limits import capacitor_limits
from certgen.terminal.results import results_text
from certgen.units import read_quantity

pytestmark = pytest.mark.slow

RUN = {"kind": "run", "rated": "20 uF", "tolerance": "5 %", "measured": "19.6 uF"}
#: A capacitance meter that adds next to nothing to what is judged.
FINE = {"meters": {"capacitance": {"reading": "0.1 %"}}}


def judged(tmp_path, *capacitors, rig=None, kind="single-phase induction", **readings):
    job = TypedJob()
    rig = {**job.rig, **(rig or {})}
    if kind == "single-phase induction":  # three lines' volt-amperes in one
        job = job.having(current="5.8 A").column("current", lambda amperes: round(1.732 * amperes, 3))
    fine = not (rig.keys() & {"meters"})
    job = replace(job, kind=kind, rig=rig, fine=fine, readings={"capacitors": list(capacitors), **readings})
    return job.judged(tmp_path)


def rows(results):
    return [one for one in results.findings if one.id.startswith("capacitor_")]


@pytest.mark.parametrize(
    ("measured", "outcome"),
    [
        ("19.6 uF", "pass"),
        ("19.005 uF", "conditional pass"),
        ("18.995 uF", "conditional fail"),
        ("18.2 uF", "fail"),
        ("21.5 uF", "fail"),
    ],
)
def test_a_run_capacitor_keeps_the_tolerance_on_its_case(tmp_path, measured, outcome):
    """20 uF with 5 %, a class of tolerance of IEC 60252-1 (from memory): from 19 to 21 uF."""
    results = judged(tmp_path, {**RUN, "measured": measured}, rig=FINE)
    (row,) = rows(results)
    assert (row.outcome, row.decides, row.basis) == (outcome, True, "published")
    assert (row.required.low, row.required.high) == (pytest.approx(19e-6), pytest.approx(21e-6))
    if outcome == "fail":
        assert results.verdict.outcome == "fail"
        assert "Run capacitor is" in str(results.verdict.reasons[0])


def test_without_a_tolerance_the_usual_one_is_told_and_caps(tmp_path):
    weak = {"kind": "start", "rated": "100 uF", "measured": "88 uF"}
    results = judged(tmp_path, weak, rig=FINE)
    (row,) = rows(results)
    assert (row.outcome, row.decides, row.basis) == ("fail", False, "workshop")
    assert "IEC 60252-2" in str(row.source)
    assert "from memory" in str(row.source)
    assert any("Outside the usual tolerance: Start capacitor" in str(reason) for reason in results.verdict.reasons)
    assert results.verdict.outcome != "pass"


@pytest.mark.parametrize(("measured", "inside"), [(42.9, False), (43.0, True), (53.0, True), (53.1, False)])
def test_two_values_on_a_start_capacitor_are_its_limits(measured, inside):
    """43 to 53 MFD, as start capacitors are marked (EIA-463, from memory)."""
    limits = capacitor_limits("start", None, None, (43.0, 53.0))
    assert (limits.least <= measured <= limits.most) is inside
    assert limits.marked


def test_usual_tolerances():
    """Run 10 % either side, start from the marked value to a fifth above it; both from memory."""
    run, start = (capacitor_limits(kind, 50e-6, None, (None, None)) for kind in ("run", "start"))
    assert (run.least, run.most) == (pytest.approx(45e-6), pytest.approx(55e-6))
    assert (start.least, start.most) == (pytest.approx(50e-6), pytest.approx(60e-6))


def test_a_meter_that_states_nothing_is_taken_as_an_ordinary_one(tmp_path):
    """3 % of a plain multimeter: 19.6 uF may be 19.0, so that 5 % is kept conditionally."""
    results = judged(tmp_path, RUN)
    (row,) = rows(results)
    assert row.outcome == "conditional pass"
    assert row.expanded_uncertainty == pytest.approx(2 * 0.03 * 19.6e-6 / math.sqrt(3), rel=1e-6)
    assert results.as_found.capacitors[0].measured.assumed


def test_dissipation_factor_of_a_film_capacitor():
    """20 uF have 159.15 ohm at 50 Hz (1 / (2 pi f C), any table of reactances); 0.4 ohm are 0.251 % of that."""
    assert dissipation_factor(20e-6, 0.4, 50.0) == pytest.approx(0.4 / 159.15, rel=1e-4)


@given(st.floats(1e-7, 1e-3), st.floats(1e-3, 0.5))
def test_the_case_is_symmetric_about_its_value(rated, tolerance):
    limits = capacitor_limits("run", rated, tolerance, (None, None))
    assert limits.least + limits.most == pytest.approx(2.0 * rated)


def test_a_charge_is_warned_of_on_any_motor_with_capacitors(tmp_path):
    results = judged(tmp_path, RUN, kind="three-phase induction")
    caution = next(one for one in results.cautions if one.id == "capacitor")
    assert (caution.danger, str(caution.because)) == (3, "the motor has capacitors")
    assert "discharge them through a resistor" in str(caution.text)


def test_the_start_switch_is_told_in_parts_of_synchronous_speed(tmp_path):
    results = judged(tmp_path, {**RUN, "loss_resistance": "0.4 ohm"}, start_switch_opens_at="1125 rpm")
    text = results_text(results, "job.yaml")
    assert "start switch: opens at 1125 rpm, 75 % of synchronous speed" in text
    assert "run capacitor: loss resistance 0.4000 Ω, dissipation factor 0.0025" in text
    assert "µF" in text


@pytest.mark.parametrize("written", ["18.2 uF", "18.2 µF", "18.2 mfd", "18.2 MFD", "0.0182 mF"])
def test_microfarads_as_people_write_them(written):
    assert read_quantity(written, "capacitance") == pytest.approx(18.2e-6)


@pytest.mark.parametrize(
    ("capacitor", "kind", "says"),
    [
        ({"kind": "run", "measured": "18 uF"}, "single-phase induction", "what is marked on it is missing"),
        ({"kind": "start", "least": "43 uF", "measured": "45 uF"}, "single-phase induction", "one is missing"),
        ({"kind": "start", "least": "53 uF", "most": "43 uF", "measured": "45 uF"}, "single-phase induction", "above"),
        ({**RUN, "measured": "19.6"}, "single-phase induction", "a number with a unit of capacitance"),
        (RUN, "dc", "only an induction motor runs or starts by a capacitor"),
    ],
)
def test_mistakes_name_the_capacitor(tmp_path, capacitor, kind, says):
    with pytest.raises(InputError) as caught:
        judged(tmp_path, capacitor, kind=kind)
    assert says in str(caught.value)
    assert "readings.capacitors[1]" in str(caught.value)


def test_a_motor_without_start_winding_has_no_start_switch(tmp_path):
    with pytest.raises(InputError, match="has no start switch"):
        judged(tmp_path, kind="three-phase induction", start_switch_opens_at="1125 rpm")
