"""Losses of whole jobs, from files to the results tree and the terminal."""

from __future__ import annotations

import json
import re

import pytest
from bench import FINE_INSTRUMENTS
from loss_bench import ICE, LossBench, job_text

from certgen.pipeline import assess_job
from certgen.results.serialization import as_json
from certgen.terminal.results import results_text

pytestmark = pytest.mark.slow


@pytest.fixture
def run(tmp_path):
    def assessed(bench=None, **changes):
        folder = tmp_path / "job"
        folder.mkdir(exist_ok=True)
        (tmp_path / "rig.yaml").write_text(
            "name: a rig\nabsorber: {kind: torque sensor}\n" + FINE_INSTRUMENTS, encoding="utf-8"
        )
        (folder / "job.yaml").write_text(job_text(bench or LossBench(brake_off_row=True), **changes), encoding="utf-8")
        return assess_job(folder / "job.yaml")

    return assessed


def test_segregation_in_the_results_tree(run):
    tree = json.loads(as_json(run().results))
    losses = tree["losses"]
    assert losses["method"]["text"] == "loss segregation"
    slope = losses["stray_regression"]["slope"]
    assert (slope["value"], slope["unit"]) == (pytest.approx(0.06, rel=0.01), "W/(N*m)^2")
    assert losses["reference_temperature"]["value"] == pytest.approx(95.0 + ICE)
    assert [round(point["load"]["value"], 2) for point in losses["at_loads"]] == [0.25, 0.5, 0.75, 1.0, 1.15, 1.25]
    assert losses["at_loads"][3]["stray"] == losses["stray"]
    finding = next(one for one in tree["findings"] if one["id"] == "stray_regression")
    assert (finding["outcome"], finding["decides"]) == ("pass", False)


def test_nothing_used_is_listed_as_not_evaluated(run):
    assessed = run()
    assert assessed.results.conditions.not_evaluated == ()
    assert not any(sentence.startswith("Losses") for sentence in map(str, assessed.results.conditions.missing))


def test_the_terminal_tells_losses(run):
    text = results_text(run().results, "job")
    assert "losses: loss segregation (IEC 60034-2-1, method 2-1-1B (2014), in part from memory)" in text
    assert "  at 75 % load: stator 2" in text
    (slope,) = re.findall(r"residual loss over torque squared: slope ([0-9.]+)", text)
    assert float(slope) == pytest.approx(0.06, rel=0.01)
    assert "Dynamometer correction " in text


def test_a_test_without_enough_points_says_what_it_takes(run):
    bench = LossBench(loads=(1.15, 1.0, 0.5), temperatures=(368.15,) * 3)
    results = run(bench).results
    expected = (
        "Loss segregation: 3 usable load points from 25 % to 150 % of rated load, 1 of them above it; IEC 60034-2-1, "
        "method 2-1-1B takes 6, 2 of them above; losses are at the temperature of the test."
    )
    assert str(results.conditions.missing[0]) == expected
    assert not any(one.id == "stray_regression" for one in results.findings)
    assert results.losses.core is not None


def test_north_american_criteria_go_by_ieee(run):
    losses = run(criteria="nema-mg-1").results.losses
    assert str(losses.reason) == "IEEE Std 112, method B (2017), in part from memory"
    assert any("k = 234.5" in note for note in map(str, losses.notes))


def test_phase_resistance_needs_the_connection(run):
    phase = {"resistance": "0.95 ohm", "temperature": "20 degC"}
    found = run(readings__winding={"cold": phase, "between": "phases"}).results.losses
    assert "star or delta is not stated" in str(found.reason)
    star = run(readings__winding={"cold": phase, "between": "phases", "connection": "star"}).results.losses
    assert str(star.method) == "loss segregation"
    assert star.stator.value == pytest.approx(run().results.losses.stator.value)


def test_without_winding_readings_the_method_is_direct(run):
    found = run(readings__winding=None).results.losses
    assert str(found.method) == "direct"
    assert str(found.reason) == "the winding resistance under load is not known: no cold resistance was read"
    assert found.efficiency is not None
