"""A log in results, cautions and words, from files on disk to the verdict."""

from __future__ import annotations

import json

import numpy as np
import pytest
from bench import ARM_RIG, JOB, Bench, replaced
from simulated_logs import run

from certgen.cli import main
from certgen.pipeline import assess_job
from certgen.results.serialization import as_json

pytestmark = pytest.mark.slow

TYPED = JOB[JOB.index("    columns:") : JOB.index("criteria:")]
DECLARED = """\
    file: load_test.csv
    columns: {time: s, speed: rpm, scale: kg, voltage: V, current: A, input_power: W}
    steady: {hold: 5 s}
"""
RPM = np.pi / 30.0


def cells(log):
    """The lines of a logger's file: torque of the simulated motor as kilograms under an arm of half a metre."""
    load = log.torque / (0.5 * 9.81)
    current = np.hypot(1.9, 0.28 * np.nan_to_num(log.torque))
    power = np.nan_to_num(log.torque * log.speed) + 130.0 + 6.0 * current**2
    columns = (log.time, log.speed / RPM, load, np.full(log.time.size, 400.0), current, power)
    for row in zip(*columns, strict=True):
        yield ",".join("" if np.isnan(value) else f"{value:.4f}" for value in row)


def shop(folder, log, declared=DECLARED, rig=ARM_RIG):
    text = "\n".join(["time,speed,scale,voltage,current,input_power", *cells(log), ""])
    bench = Bench(folder)
    bench.texts = {"job": replaced(JOB, {TYPED: declared}), "rig": rig, "csv": text}
    return bench.write()


def broken_log():
    log = run(1)
    log.speed[log.at(10.0)] /= 2
    log.torque[log.at(30.0) : log.at(30.6)] = np.nan
    return log


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    return assess_job(shop(tmp_path_factory.mktemp("log"), broken_log())).results


def test_the_tree_says_what_became_of_every_sample(results):
    log = json.loads(as_json(results))["log"]
    assert log["samples"] == 900
    assert log["used"] + sum(one["count"] for one in log["left_out"]) == 900
    assert len(log["plateaus"]) == len(results.points) == 5
    faults = [(one["reason"]["text"], one["count"], one["from"], one["to"]) for one in log["left_out"] if one["fault"]]
    assert faults == [
        ("speed halved, pulse missed", 1, pytest.approx(10.0), pytest.approx(10.0)),
        ("signal dropped out", 6, pytest.approx(30.0), pytest.approx(30.5)),
    ]
    mean = log["plateaus"][1]["means"]["scale"]
    assert mean["unit"] == "kg"
    assert mean["mean"] == pytest.approx(4.0 / 4.905, rel=0.01)
    assert mean["standard_deviation"] == pytest.approx(0.02 / 4.905, rel=0.3)
    assert 2.0 <= mean["effective_number"] <= mean["samples"] == log["plateaus"][1]["used"]
    assert mean["standard_uncertainty"] == pytest.approx(mean["standard_deviation"] / mean["effective_number"] ** 0.5)


def test_the_trace_stands_with_the_curves(results):
    trace = results.curves.trace
    assert set(trace.columns) == {"time", "speed", "torque"}
    assert len(trace.columns["time"]) <= 400
    assert len(results.curves.faults.columns["speed"]) == 1


def test_a_caution_names_what_went_wrong_and_when(results):
    (caution,) = [one for one in results.cautions if one.id == "faulty_samples"]
    assert "speed halved, pulse missed: 1 reading, at 10 s" in str(caution.because)
    assert "signal dropped out: 6 readings, from 30 to 30.5 s" in str(caution.because)


def test_the_terminal_tells_it(tmp_path, capsys):
    assert main(["check", str(shop(tmp_path, broken_log()))]) == 0
    told = capsys.readouterr().out
    assert "900 samples in 89.9 s gave 5 load points" in told
    assert "not steady" in told
    assert "speed halved, pulse missed: 1 reading, at 10 s" in told
    assert "steady" not in told.partition("recorded, not evaluated")[2]


def test_an_empty_steady_asks_for_the_usual_bands(tmp_path):
    log = assess_job(shop(tmp_path, run(1), DECLARED.replace("{hold: 5 s}", ""))).results.log
    assert (log.hold, log.speed_band, log.torque_band) == (5.0, 0.005, 0.02)


def test_stretches_can_be_named(tmp_path):
    declared = DECLARED.replace("{hold: 5 s}", "{at: [[5 s, 15 s], [20 s, 25 s]]}")
    results = assess_job(shop(tmp_path, run(1), declared)).results
    assert len(results.points) == 2
    assert str(results.log.left_out[0].reason) == "outside the chosen stretches"
    assert any(
        "Chosen, but not steady: the stretches that begin at 20 s" in one for one in map(str, results.log.summary)
    )


def test_a_log_without_a_steady_stretch_says_so_and_gives_nothing(tmp_path):
    log = run(1, held=2.0)
    results = assess_job(shop(tmp_path, log)).results
    assert results.points == ()
    assert (results.verdict.outcome, results.verdict.kind) == ("no verdict", "not at rating")
    assert (results.at_rated_power, results.curves.torque_speed) == (None, None)
    assert str(results.conditions.missing[0]).startswith("Load points: speed and load were never steady for 5 s")
    assert main(["issue", str(tmp_path / "motor" / "job.yaml"), "--out", str(tmp_path / "sheet.pdf")]) == 0


def test_a_lost_load_and_a_stall_are_about_people(tmp_path):
    log = run(1)
    log.torque[480:500] *= 0.05
    log.speed[480:500] += 5.0
    log.speed[640:648] *= np.linspace(1.0, 0.0, 8)
    log.speed[648:680] = 0.0
    cautions = {one.id: one for one in assess_job(shop(tmp_path, log)).results.cautions}
    assert "coupling, belt and brake current" in str(cautions["load_lost"].text)
    assert "from 48 to 49.9 s" in str(cautions["load_lost"].because)
    assert "starting current" in str(cautions["stalled"].text)


def test_a_scale_at_its_full_span_in_a_log(tmp_path):
    log = run(1)
    log.torque = np.minimum(log.torque, 1.9 * 4.905)
    results = assess_job(shop(tmp_path, log, rig=ARM_RIG.replace("scale: 5 kg", "scale: 1.9 kg"))).results
    assert len(results.points) == 4
    assert "those samples are left out" in next(
        str(one.text) for one in results.cautions if one.id == "scale_full_span"
    )


def test_a_row_typed_at_full_span_is_kept_marked_and_cautioned(tmp_path):
    bench = Bench(tmp_path)
    bench.edit("rig", {"scale: 5 kg": "scale: 2.06 kg"})
    results = assess_job(bench.write()).results
    assert [one.flags for one in results.points] == [(), (), ("full span",)]
    (caution,) = [one for one in results.cautions if one.id == "scale_full_span"]
    assert str(caution.because) == "row 3: 2.06 kg, span 2.06 kg"
    assert results.curves.torque_speed is not None  # the row still counts


def test_how_long_the_service_factor_load_was_held_is_that_of_its_plateau(tmp_path):
    log = run(1, loads=(*(2.0, 5.0, 8.0, 10.0), 12.5), held=150.0, interval=0.5)
    finding = next(one for one in assess_job(shop(tmp_path, log)).results.findings if one.id == "service_factor_held")
    assert "2.5 min between its first and last reading" in str(finding.note)
    assert finding.outcome == "not tested"


def test_the_sheets_have_room_for_it(tmp_path, capsys):
    job = shop(tmp_path, broken_log())
    for paper in ("a4", "letter"):
        assert main(["issue", str(job), "--out", str(tmp_path / f"{paper}.pdf"), "--paper", paper]) == 0
