from __future__ import annotations

import re
from pathlib import Path

import pytest
from bench import FINE_INSTRUMENTS, Bench

from certgen.pipeline import assess_job
from certgen.terminal.results import results_text

PLATE = {"service_factor: 1.15": "service_factor: 1.15\n  insulation_class: F\n  duty: S1"}
RUN = """\
  heat_run:
    load: 100 %
    columns: {time: min, frame_temperature: degC}
    rows: [[0, 21.0], [15, 34.9], [30, 43.7], [45, 49.2], [60, 52.5], [75, 54.9], [90, 56.6], [105, 57.5], [120, 58.3]]
"""
COLD = "  winding:\n    cold: {resistance: 7.027 ohm, temperature: 21 degC}\n"
HOT = "    hot: {resistance: 8.674 ohm, after: 25 s, ambient: 22 degC}\n"
SERIES = """\
    hot:
      columns: {time: s, winding_resistance: ohm}
      rows: [[30, 8.640], [60, 8.590], [90, 8.541], [120, 8.494]]
      ambient: 22 degC
"""


@pytest.fixture
def judged(bench: Bench):
    """Results of the bench's job with more readings."""

    def judge(readings: str, edits=None):
        bench.texts["rig"] += FINE_INSTRUMENTS
        bench.edit("job", {**PLATE, "criteria: iec-60034-1\n": readings + "criteria: iec-60034-1\n", **(edits or {})})
        return assess_job(bench.write()).results

    return judge


def finding(results, name):
    return {one.id: one for one in results.findings}.get(name)


def test_a_heat_run_with_hot_winding(judged):
    results = judged(RUN + COLD + HOT)
    thermal = results.thermal
    # (8.674 - 7.027) / 7.027 (235 + 21) + 21 - 22
    assert thermal.winding_rise.value == pytest.approx(1.647 / 7.027 * 256.0 - 1.0)
    assert thermal.hot_resistance.value == 8.674
    assert (thermal.rise_limit.value, thermal.rise_limit.unit) == (105.0, "K")
    assert thermal.heat_run_part == "frame"
    assert thermal.steady is False
    assert thermal.remaining_rise.value == pytest.approx(thermal.final_rise.value - 37.3)
    assert 25.0 < thermal.time_constant.value / 60.0 < 40.0
    assert "+1.7 K in the last 30 min" in " ".join(map(str, thermal.notes))
    found = finding(results, "winding_rise")
    assert found.outcome == "not tested"
    assert str(found.note).startswith("not held long enough: +1.7 K")
    assert any(
        sentence.startswith("Winding temperature rise: not held long enough")
        for sentence in map(str, results.conditions.missing)
    )


def test_a_series_is_carried_back(judged):
    results = judged(RUN + COLD + SERIES)
    assert results.thermal.hot_resistance.value == pytest.approx(8.69, abs=0.003)
    assert results.thermal.hot_resistance.value > 8.674
    assert "extrapolated back from 4 readings" in " ".join(map(str, results.thermal.notes))
    # at most the heat run speaks against it, not the delay of the first reading
    assert "after switching off, 30 s allowed" not in str(finding(results, "winding_rise").note)


def test_a_rise_above_the_limit_fails_the_motor_though_the_run_was_short(judged):
    results = judged(RUN + COLD + HOT.replace("8.674", "10.2"))
    assert finding(results, "winding_rise").outcome == "fail"
    assert results.verdict.outcome == "fail"
    assert any("Winding temperature rise is" in str(reason) for reason in results.verdict.reasons)


def test_a_rise_above_the_limit_that_proves_nothing_is_a_caution(judged):
    results = judged(RUN.replace("    load: 100 %\n", "") + COLD + HOT.replace("8.674", "10.2"))
    assert finding(results, "winding_rise").outcome == "not tested"
    caution = {one.id: one for one in results.cautions}["winding_rise"]
    assert str(caution.because).startswith("rise of 115 K")


def test_a_short_run_has_no_final_rise(judged):
    rows = "[[0, 21.0], [5, 26.6], [10, 31.2], [15, 34.9], [20, 38.0]]"
    short = RUN[: RUN.index("rows:")] + f"rows: {rows}\n"
    thermal = judged(short).thermal
    assert (thermal.final_rise, thermal.time_constant, thermal.steady) == (None, None, None)
    assert any(
        note.startswith("No final rise: the run of 20 min is shorter than one time constant")
        for note in map(str, thermal.notes)
    )


def test_without_the_rooms_temperature_there_is_no_rise(judged):
    thermal = judged(RUN, {"ambient: 21 degC, ": ""}).thermal
    assert thermal.final_rise is None
    assert thermal.time_constant is not None
    assert "No final rise: the room's temperature was not recorded." in list(map(str, thermal.notes))


def test_nothing_read_nothing_told(judged):
    results = judged("")
    assert results.thermal is None
    assert finding(results, "winding_rise") is None
    said = "Winding temperature rise: no winding resistance was read after switching off."
    assert said in map(str, results.conditions.missing)


def test_constant_of_copper_goes_by_the_criteria(judged, bench):
    found = judged(COLD + HOT, {"criteria: iec-60034-1\n": COLD + HOT + "criteria: nema-mg-1\n"})
    assert found.thermal.winding_rise.value == pytest.approx(1.647 / 7.027 * 255.5 - 1.0)


def test_heat_and_insulation_are_told_in_the_terminal(judged):
    text = results_text(
        judged(RUN + COLD + HOT + "  insulation: {voltage: 500 V, at_1_min: 340 Mohm, temperature: 21 degC}\n"), "job"
    )
    assert re.search(r"winding rise 59\.0+ ± 0\.\d+ K, 105 K allowed", text)
    assert "not steady: at most 1 K in 30 min" in text
    said = "insulation: pass, 340 ± 96 MΩ (assumed) after one minute, 263 ± 75 MΩ (assumed) at 40 °C, 5 MΩ needed"
    assert said in text  # of a tester of which nothing is stated


def test_the_example_shows_them():
    job = Path(__file__).parents[2] / "example_jobs" / "three_phase_full_plate" / "job.yaml"
    results = assess_job(job).results
    assert results.thermal.winding_rise.value == pytest.approx(59.0, abs=0.05)
    assert results.thermal.steady is True
    assert results.thermal.final_rise.value == pytest.approx(38.3, abs=0.1)
    assert results.insulation.outcome == "pass"
    assert finding(results, "winding_rise").outcome == "pass"
    assert not [one for one in results.cautions if one.id == "insulation"]
    assert not [key for key in results.conditions.not_evaluated if key.startswith(("readings.", "nameplate."))]
