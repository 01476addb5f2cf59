"""``certgen plan``: what it tells and writes, how it ends, and which mistakes it tells."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from bench import JOB, Bench

from certgen.cli import main

pytestmark = pytest.mark.slow

#: The job before its test: no certificate, no readings.
BEFORE = JOB[JOB.index("motor:") : JOB.index("readings:")]


@pytest.fixture
def job(bench: Bench) -> Path:
    bench.texts["job"] = BEFORE
    return bench.write()


def test_a_job_without_readings_is_planned(job, capsys):
    assert main(["plan", str(job)]) == 0
    told, talk = capsys.readouterr()
    assert talk == ""
    assert "rated torque: 10.09 N·m (plate power over plate speed)" in told
    assert "IEC 60034-2-1 (2014), load curve test, from memory" in told
    assert "115 %, service factor" in told
    for heading in (
        "steps:",
        "stop list:",
        "before power is on (local codes and a licensed electrician decide):",
        "not known:",
    ):
        assert heading in told


def test_a_job_with_readings_is_planned_the_same(bench, capsys):
    path = bench.write()
    assert main(["plan", str(path)]) == 0
    assert "rated torque: 10.09 N·m" in capsys.readouterr().out


def test_issue_and_check_still_ask_for_readings_and_certificate(job, capsys):
    assert main(["check", str(job)]) == 2
    told = capsys.readouterr().err
    assert f"{job}:1:1: certificate: this key is missing; write 'certificate:' with tested_on" in told
    assert f"{job}:1:1: readings: this key is missing; write 'readings:' with load_test" in told


def test_a_load_that_is_refused_is_told_with_both_numbers(bench, capsys):
    bench.texts["job"] = BEFORE
    path = bench.edit("rig", {"torque: 16 N*m": "torque: 11 N*m"}).write()
    assert main(["plan", str(path)]) == 0
    told = capsys.readouterr().out
    assert f"{path}: some loads are beyond the rig: do not run those" in told
    assert "greatest load: 108.4 % of rated load, by torque" in told
    assert "do not run 125 %: torque 12.80 N·m, limit 11.00 N·m" in told


def test_a_rig_that_holds_nothing_ends_with_one(bench, capsys):
    bench.texts["job"] = BEFORE
    path = bench.edit("rig", {"torque: 16 N*m": "torque: 0.5 N*m"}).write()
    assert main(["plan", str(path)]) == 1
    assert f"{path}: do not run: every load planned is beyond the rig" in capsys.readouterr().out


def test_mistakes_of_job_and_rig_are_told_together(bench, capsys):
    bench.texts["job"] = BEFORE.replace("1.5 kW", "1.5")
    path = bench.edit("rig", {"tolerance: 0.5 mm": "tolerance: 0.5"}).write()
    assert main(["plan", str(path)]) == 2
    told, talk = capsys.readouterr()
    assert told == ""
    assert "nameplate.power: '1.5' has no unit" in talk
    assert "arm_length.tolerance: '0.5' has no unit" in talk


def test_a_mistake_within_the_envelope_is_told_with_its_cell(bench, capsys):
    bench.texts["job"] = BEFORE
    envelope = "brake_envelope: {columns: {speed: rpm, torque: N*m}, rows: [[0, 0], [1000, many]]}\n"
    path = bench.edit("rig", {"tare_torque: 0.03 N*m\n": envelope}).write()
    assert main(["plan", str(path)]) == 2
    assert "rigs/rig.yaml:10:" in capsys.readouterr().err


def test_the_plan_as_json_is_the_tree(job, tmp_path, capsys):
    target = tmp_path / "plan.json"
    assert main(["plan", str(job), "--results", str(target)]) == 0
    tree = json.loads(target.read_text(encoding="utf-8"))
    assert [point["name"]["text"] for point in tree["points"]][:3] == ["125 %", "115 %, service factor", "100 %"]
    assert tree["certificate"] is None
    assert sorted(tree["inputs"]) == ["../rigs/rig.yaml", "job.yaml"]


def test_units_of_the_readers_choice(job, capsys):
    assert main(["plan", str(job), "--units", "us"]) == 0
    assert "rated torque: 7.440 lbf·ft" in capsys.readouterr().out


def test_the_run_sheet_is_written_where_one_stands(job, capsys):
    assert main(["plan", str(job)]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "run sheet: motor-run-sheet.pdf"
    assert Path("motor-run-sheet.pdf").read_bytes().startswith(b"%PDF-1.")


def test_paper_and_folder_of_ones_choice_and_the_certificates_number_as_name(bench, tmp_path, capsys):
    path = bench.write()
    assert main(["plan", str(path), "--paper", "letter", "--out", str(tmp_path)]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == f"run sheet: {tmp_path / 'WS-2026-007-run-sheet.pdf'}"


def test_another_file_of_that_name_is_left_as_it_is(job, capsys):
    target = Path("kept.pdf")
    target.write_text("mine", encoding="utf-8")
    assert main(["plan", str(job), "--out", str(target)]) == 2
    told = capsys.readouterr().err
    assert told == "kept.pdf: a file of this name exists and is not this run sheet; name another, or a folder.\n"
    assert target.read_text(encoding="utf-8") == "mine"


def test_a_layout_about_something_else_is_refused(job, capsys):
    assert main(["plan", str(job), "--sheet", "certificate"]) == 2
    assert "this layout is about a test; name one with 'subject: plan'." in capsys.readouterr().err
    assert main(["plan", str(job), "--sheet", "run_shet"]) == 2
    assert "--sheet run_shet: there is no such layout; did you mean 'run_sheet'." in capsys.readouterr().err


def test_a_certificate_is_not_drawn_with_a_layout_for_plans(bench, capsys):
    path = bench.write()
    assert main(["issue", str(path), "--sheet", "run_sheet"]) == 2
    assert "this layout is about a plan; name one with 'subject: test'." in capsys.readouterr().err
