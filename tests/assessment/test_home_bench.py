"""A bench of speed, scale and amperes: nothing stated of instruments, a plate of volts and amperes only."""

from __future__ import annotations

from dataclasses import replace

import pytest
from typed_job import TypedJob, evidence

HOME = TypedJob(
    plate={"voltage": "115 V", "current": "2.3 A"},
    kind="single-phase induction",
    columns={"speed": "rpm", "scale": "lb", "current": "A"},
    rows=((1790, 0.05, 1.60), (1778, 0.25, 1.75), (1765, 0.45, 2.00), (1752, 0.62, 2.30), (1740, 0.78, 2.60)),
    rig={"name": "Bench", "absorber": {"kind": "arm"}, "arm_length": "1 ft", "scale": {"reads": "mass"}},
    fine=False,
    conditions={},
    warm=None,
    criteria="nema-mg-1",
)
#: 0.62 lb on a one-foot arm at 1752 rpm: 0.207 hp (5252 lbf*ft*rpm to the horsepower) without the tare, 154 W.
WATTS = 0.62 * 1752 / 5252.1 * 745.7


def test_what_the_shaft_gave_at_the_plates_current_is_printed_large(tmp_path):
    results = HOME.judged(tmp_path)
    verdict = results.verdict
    assert (verdict.outcome, verdict.kind) == ("no verdict", "no plate")
    assert verdict.headline.key == "headline.rated_at_current"
    power = verdict.headline.values["power"]
    assert power.value == pytest.approx(WATTS, rel=0.03)
    assert power.assumed
    assert 0.01 < power.expanded_uncertainty / power.value < 0.15
    assert verdict.headline.values["current"].value == 2.3
    assert verdict.headline.values["current"].expanded_uncertainty is None  # the point was set to it
    assert str(verdict.headline).startswith("Bench-rated ")
    assert results.assessed_rating.power_label == "1/6 hp"
    assert results.plausibility == ()


def test_one_load_at_the_plates_current_is_enough(tmp_path):
    headline = replace(HOME, rows=HOME.rows[3:4]).judged(tmp_path).verdict.headline
    assert headline.values["power"].value == pytest.approx(WATTS, rel=0.001)


def test_without_a_plate_the_heaviest_load_is_told(tmp_path):
    verdict = HOME.having(current=None).judged(tmp_path).verdict
    assert verdict.headline.key == "headline.measured_at_current"
    assert verdict.headline.values["current"].value == 2.6
    assert str(verdict.headline).startswith("Measured ")
    bare = HOME.without("current").having(current=None).judged(tmp_path).verdict
    assert bare.headline.key == "headline.measured"
    assert bare.headline.values["power"].value == pytest.approx(0.78 * 1740 / 5252.1 * 745.7, rel=0.001)


def test_what_was_assumed_is_named_with_what_to_state(tmp_path):
    missing = " ".join(map(str, HOME.judged(tmp_path).conditions.missing))
    for said in ("Accuracy not stated; assumed", "arm_length.tolerance", "meters.current", "tachometer.tolerance"):
        assert said in missing


def test_nothing_is_assumed_silently_to_be_exact(tmp_path):
    for point in HOME.judged(tmp_path).points:
        assert point.torque.assumed and point.torque.expanded_uncertainty > 0.0
        assert point.speed.assumed and point.speed.expanded_uncertainty > 0.0
        assert point.current.assumed and point.current.expanded_uncertainty > 0.0


def test_a_sound_motor_passes_at_most_conditionally_near_a_limit_and_fully_far_from_it(tmp_path):
    bench = TypedJob(fine=False, conditions={}, warm=None)
    near = bench.having(current="3.05 A").without("input_power").judged(tmp_path).verdict
    assert near.outcome == "conditional pass"
    wide = bench.having(current="3.9 A", speed=None).without("input_power").judged(tmp_path).verdict
    assert wide.outcome == "pass"


def test_a_row_copied_wrong_on_a_home_bench_is_named(tmp_path):
    results = HOME.spoilt("scale", 3, lambda value: 10.0 * value).judged(tmp_path)
    assert [entry.row for entry in evidence(results, "row_off_its_neighbours")] == [3]
    assert str(results.verdict.headline) == "No verdict"  # 1.13 kW that row 3 alone gives stand nowhere large
    assert str(results.verdict.reasons[0]).startswith("Row 3 lies off its neighbours and decides what the motor gave.")
