"""A sweep and a run-down from files to the results, the terminal and the page."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from bench import BENCHES, Bench
from pypdf import PdfReader
from sweep_bench import Swept

from certgen.cli import main
from certgen.pipeline import assess_job
from certgen.terminal.results import results_text

pytestmark = pytest.mark.slow

RPM = 60.0 / math.tau
SWEPT = Swept(rate=100.0)
_JOB = BENCHES["torque sensor"]["job"]
_TABLE = _JOB[_JOB.index("    columns: {speed") : _JOB.index("criteria:")]
_FROM_LOG = """\
    file: load_test.csv
    columns: {time: s, speed: rpm, torque: N*m, voltage: V, current: A, input_power: W}
    sweep: {bandwidth: 2 Hz}
"""
_RIG = "inertia: {value: 0.02 kg*m^2, tolerance: 0.0005 kg*m^2}\n"
_ROTOR = "  rotor_inertia: {value: 0.005 kg*m^2, tolerance: 0.0002 kg*m^2}\n"


def log():
    """The simulated sweep as a logger's file, with 70 W of loss besides the rotor's."""
    time, speed = SWEPT.run()
    readings = SWEPT.readings().load_test
    shaft = SWEPT.shaft_torque(speed)
    rows = np.column_stack(
        [time, readings.column("speed") * RPM, readings.column("torque"), np.full(time.size, 400.0), 2.0 + 0.25 * shaft,
         70.0 + shaft * 2.0 * np.pi * 25.0]
    )  # fmt: skip
    lines = [",".join(f"{value:.4f}" for value in row) for row in rows]
    return "\n".join(["time,speed,torque,voltage,current,input_power", *lines, ""])


def swept(bench: Bench, rig: str = _RIG, more: str = "", rotor: str = _ROTOR) -> Path:
    bench.start("torque sensor")
    bench.edit("job", {_TABLE: _FROM_LOG + more, "  serial: 0048117\n": "  serial: 0048117\n" + rotor})
    bench.texts["rig"] += rig
    bench.texts["csv"] = log()
    return bench.write()


def coasting(rows: list[list[float]], beside: str = "coasting: motor", name: str = "run_down") -> str:
    listed = "".join(f"      - {row}\n" for row in rows)
    return f"  {name}:\n    {beside}\n    columns: {{time: s, speed: rpm}}\n    rows:\n{listed}"


def test_the_sweep_is_told_with_what_it_rests_on(bench: Bench) -> None:
    results = assess_job(swept(bench)).results
    sweep = results.sweep
    assert sweep is not None and sweep.inertia is not None and sweep.closing_inertia is not None
    assert (sweep.falling_runs, sweep.rising_runs) == (1, 1)
    assert sweep.inertia.value == pytest.approx(0.025)
    assert abs(sweep.closing_inertia.value - 0.025) < 1.5 * sweep.closing_inertia.expanded_uncertainty
    assert results.characteristic.breakdown_torque.value == pytest.approx(30.0, abs=0.3)
    (comparison,) = results.comparisons
    assert str(comparison.first) == "falling"
    assert [one.unit for one in comparison.differences] == ["N*m", "A"]
    assert "sweep_gap" not in {one.id for one in results.cautions}
    assert not [path for path in results.conditions.not_evaluated if "sweep" in path or "inertia" in path]
    assert any("low-pass of 2 Hz" in str(sentence) for sentence in results.conditions.method)
    lines = results_text(results, "job").splitlines()
    assert any(line.startswith("sweep: 1 with falling and 1 with rising speed, low-pass 2.00 Hz") for line in lines)


def test_losses_are_not_told_apart_by_the_points_of_a_sweep(bench: Bench) -> None:
    more = "  no_load: {columns: {voltage: V, current: A, input_power: W}, rows: [[400, 2.1, 140], [200, 0.8, 42]]}\n"
    losses = assess_job(swept(bench, more=more)).results.losses
    assert losses is not None
    assert str(losses.method) == "direct"
    assert "the load points come from a sweep, not from loads held one after the other" in str(losses.reason)


def test_a_sweep_left_empty_has_the_usual_bandwidth_and_points(bench: Bench) -> None:
    swept(bench)
    job = bench.edit("job", {"sweep: {bandwidth: 2 Hz}": "sweep:"}).write()
    results = assess_job(job).results
    assert results.sweep is not None
    assert results.sweep.bandwidth.value == 2.0
    assert 18 <= len(results.points) <= 22


def test_a_wrong_inertia_is_cautioned_with_the_one_that_would_close_the_gap(bench: Bench) -> None:
    results = assess_job(swept(bench, _RIG.replace("0.02 ", "0.06 "))).results
    (caution,) = [one for one in results.cautions if one.id == "sweep_gap"]
    assert "0.02" in str(caution.because) and "would close the gap, 0.065 kg·m² is stated" in str(caution.because)


def test_without_an_inertia_the_page_says_what_is_missing_and_how_fast_it_was(bench: Bench) -> None:
    results = assess_job(swept(bench, "", rotor="")).results
    assert all(point.torque is None for point in results.points)
    assert results.characteristic.breakdown_torque is None
    (sentence,) = [one for one in map(str, results.conditions.missing) if one.startswith("Torque of the sweep")]
    assert "inertia is missing in the rig file; speed changed by up to" in sentence
    assert "rad/s², so each 0.01 kg·m² makes" in sentence
    assert (results.verdict.outcome, results.verdict.kind) == ("no verdict", "not at rating")


def falling(inertia: float, added: float = 0.0) -> list[list[float]]:
    """0.3 N*m of friction and what is added, from 155 rad/s: a straight line."""
    return [[0.5 * t, round((155.0 - (0.3 + added) / inertia * 0.5 * t) * RPM, 3)] for t in range(5)]


def test_a_run_down_stands_on_the_page_and_in_the_terminal(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    job = swept(bench, more=coasting(falling(0.05), "coasting: motor and rig\n    inertia: 0.05 kg*m^2"))
    job.write_text(job.read_text(encoding="utf-8") + "sheet: {record: true}\n", encoding="utf-8")
    assert main(["issue", str(job), "--out", "page.pdf", "--results", "results.json"]) == 0
    capsys.readouterr()
    text = " ".join(" ".join(page.extract_text() for page in PdfReader("page.pdf").pages).split())
    assert "Friction over speed by run-down: 0.3 N·m." in text
    assert "let it stop by itself" in text
    assert "Friction of the motor and rig by run-down with the supply off (retardation method" in text
    tree = json.loads(Path("results.json").read_text(encoding="utf-8"))["run_down"]
    assert tree["friction_torque"]["value"] == pytest.approx(0.3, rel=1e-4)
    assert tree["inertia"]["unit"] == "kg*m^2"
    assert main(["check", str(job)]) == 0
    assert "friction 0.3000 N·m, 44.61 W at rated speed, 1420 rpm" in capsys.readouterr().out


def test_a_printed_retardation_test_runs_as_a_job(bench: Bench) -> None:
    """B. L. and A. K. Theraja, A Textbook of Electrical Technology, vol. II, example 31.17, page 1107.

    1525 to 1475 rpm in 25 s, in 20 s with 1 kW more: J = 121.709 with pi = 3.14, which is 121.586; see the physics' test.
    """
    more = coasting([[0, 1525], [25, 1475]]) + coasting([[0, 1525], [20, 1475]], "added_power: 1 kW", "run_down_braked")
    found = assess_job(swept(bench, more=more, rotor="")).results.run_down
    assert found is not None and found.inertia is not None and found.friction_loss is not None
    assert found.inertia_found
    assert found.inertia.value == pytest.approx(121.709 * (3.14 / math.pi) ** 2, rel=1e-4)
    # The loss is told at the highest speed passed, as 1420 rpm lies below; the torque is the same all over the fall.
    assert not found.at_rated_speed
    assert found.friction_loss.value == pytest.approx(4000.0 * 1525.0 / 1500.0, rel=2e-4)


def test_an_inertia_that_is_not_the_stated_one_is_cautioned(bench: Bench) -> None:
    more = coasting(falling(0.008)) + coasting(falling(0.008, 0.1), "added_torque: 0.1 N*m", "run_down_braked")
    results = assess_job(swept(bench, more=more)).results
    (caution,) = [one for one in results.cautions if one.id == "inertia"]
    assert str(caution.because) == "0.008 kg·m² by run-down, 0.005 kg·m² stated"


@pytest.mark.parametrize(("tare", "told_of"), [("0.31 N*m", False), ("0.9 N*m", True), ("0.05 N*m", True)])
def test_a_tare_torque_is_held_against_the_friction_of_the_rig(bench: Bench, tare: str, told_of: bool) -> None:
    more = coasting(falling(0.05), "coasting: rig\n    inertia: 0.05 kg*m^2")
    results = assess_job(swept(bench, _RIG + f"tare_torque: {tare}\n", more)).results
    assert ("tare_against_run_down" in {one.id for one in results.cautions}) is told_of


def test_a_run_down_without_inertia_says_what_would_tell_it(bench: Bench) -> None:
    results = assess_job(swept(bench, more=coasting(falling(0.05)), rotor="")).results
    assert results.run_down is not None
    assert results.run_down.friction_torque is None
    (sentence,) = [one for one in map(str, results.conditions.missing) if one.startswith("Friction by run-down")]
    assert "motor.rotor_inertia in the job file missing; the speed fell by 6 rad/s² at 1420 rpm" in sentence


def test_a_speed_that_does_not_fall_is_said_to_tell_nothing(bench: Bench) -> None:
    results = assess_job(swept(bench, more=coasting([[0, 100], [1, 200], [2, 300]]))).results
    assert results.run_down is None
    assert "Run-down: the speed of readings.run_down does not fall." in map(str, results.conditions.missing)
