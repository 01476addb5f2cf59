"""``certgen new --from-plan``: the planned job with rows to type in."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench import JOB, Bench

from certgen.cli import main

pytestmark = pytest.mark.slow

BEFORE = JOB[: JOB.index("readings:")]


@pytest.fixture
def job(bench: Bench) -> Path:
    bench.texts["job"] = BEFORE + "criteria: iec-60034-1   # the usual\n"
    return bench.write()


def made(job: Path, *more: str) -> Path:
    assert main(["new", "motor_2", "--from-plan", str(job), *more]) == 0
    return Path("motor_2/job.yaml")


def test_the_text_of_the_job_is_kept_and_the_rows_stand_below(job):
    text = made(job).read_text(encoding="utf-8")
    assert text.startswith(job.read_text(encoding="utf-8").rstrip("\n"))
    assert (
        "    columns: {speed: rpm, scale: kg, voltage: V, current_a: A, current_b: A, current_c: A, input_power: W"
        in text
    )
    assert "# 100 %: scale 2.054 kg, 1420 rpm, about 3.40 A" in text
    assert text.count("- [~, ~, ~, ~, ~, ~, ~, ~]") == 7


def test_what_is_still_to_fill_in_is_told_with_its_place(job, capsys):
    path = made(job)
    capsys.readouterr()
    assert main(["check", str(path)]) == 2
    told = capsys.readouterr().err.splitlines()
    assert all("the cell of" in line and "write what was read, or leave the row out" in line for line in told)
    assert len(told) == 14


def test_rows_typed_in_make_a_test(job, capsys):
    path = made(job)
    text = path.read_text(encoding="utf-8").replace(
        "[~, ~, ~, ~, ~, ~, ~, ~]", "[1420, 2.056, 400, 3.4, 3.4, 3.4, 1850, 60]"
    )
    text = text.replace("zero_before:  ", "zero_before: 0.001 kg #")
    path.write_text(text, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    assert "load points: 7" in capsys.readouterr().out


def test_it_can_be_planned_again(job, capsys):
    path = made(job)
    assert main(["plan", str(path)]) == 0
    assert "rated torque: 10.09 N·m" in capsys.readouterr().out


def test_refused_loads_stand_as_a_remark(bench):
    bench.texts["job"] = BEFORE
    path = bench.edit("rig", {"torque: 16 N*m": "torque: 11 N*m"}).write()
    text = made(path).read_text(encoding="utf-8")
    assert "# 125 % left out: torque 12.80 N·m, limit 11.00 N·m" in text
    assert text.count("- [~") == 5


def test_readings_that_are_there_already_are_kept(bench):
    bench.texts["job"] = BEFORE + "readings:\n  zero_before: 0.003 kg\n"
    text = made(bench.write()).read_text(encoding="utf-8")
    assert text.count("readings:") == 1
    assert "zero_before: 0.003 kg" in text
    assert text.count("zero_before") == 1


def test_a_job_without_certificate_gets_one_to_fill_in(bench, capsys):
    bench.texts["job"] = BEFORE[BEFORE.index("motor:") :]
    path = made(bench.write())
    assert path.read_text(encoding="utf-8").startswith("certificate:  ")
    capsys.readouterr()
    assert main(["check", str(path)]) == 2
    assert "certificate.tested_on: this key is left empty" in capsys.readouterr().err


def test_further_away_the_rig_is_laid_beside_the_job(job, capsys):
    target = Path("another/place/motor")
    assert main(["new", str(target), "--from-plan", str(job)]) == 0
    assert capsys.readouterr().out.split() == [str(target / "job.yaml"), str(target / "rig.yaml")]
    assert "rig: rig.yaml\n" in (target / "job.yaml").read_text(encoding="utf-8")
    assert (target / "rig.yaml").read_bytes() == Path("rigs/rig.yaml").read_bytes()
    assert main(["plan", str(target / "job.yaml")]) == 0


def test_nothing_is_overwritten_and_no_test_is_made_twice(job, bench, capsys):
    path = made(job)
    path.write_text("mine", encoding="utf-8")
    capsys.readouterr()
    assert main(["new", "motor_2", "--from-plan", str(job)]) == 2
    assert "motor_2/job.yaml: this file exists and is left as it is; name another folder." in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == "mine"
    tested = bench.start("arm").write()
    assert main(["new", "motor_3", "--from-plan", str(tested)]) == 2
    assert (
        "this job has a load test already; type its rows there, or plan a job without one." in capsys.readouterr().err
    )
    assert not Path("motor_3").exists()


def test_balances_of_a_rope_brake_have_two_columns(bench):
    bench.start("rope")
    bench.texts["job"] = BEFORE
    text = made(bench.write()).read_text(encoding="utf-8")
    assert "scale: N, scale_2: N" in text
    assert "N (tight less slack)" in text
    assert "zero_after_2:" in text


@pytest.mark.parametrize("readings", ["readings: {zero_before: 0.003 kg}\n", "readings:   \n  zero_before: 0.003 kg\n"])
def test_a_job_that_cannot_be_extended_line_by_line_is_refused_or_extended(bench, readings, capsys):
    bench.texts["job"] = BEFORE + readings
    path = bench.write()
    status = main(["new", "motor_2", "--from-plan", str(path)])
    if "{" in readings:
        assert status == 2
        assert (
            "the rows cannot be put into this job; write its keys one a line, without braces."
            in capsys.readouterr().err
        )
        assert not Path("motor_2").exists()
    else:
        assert status == 0


def test_a_rig_with_a_file_of_its_own_is_not_copied_alone(bench, capsys):
    bench.texts["job"] = BEFORE
    envelope = "brake_envelope: {columns: {speed: rpm, torque: N*m}, file: envelope.csv}\n"
    path = bench.edit("rig", {"tare_torque: 0.03 N*m\n": envelope}).write()
    Path("rigs/envelope.csv").write_text("speed,torque\n0,0\n1500,14\n", encoding="utf-8")
    assert main(["new", "motor_2", "--from-plan", str(path)]) == 0
    assert main(["plan", "motor_2/job.yaml"]) == 0
    capsys.readouterr()
    assert main(["new", "far/away/motor", "--from-plan", str(path)]) == 2
    told = capsys.readouterr().err
    assert (
        "the rig names 'envelope.csv', so it cannot be copied alone; name a folder beside the one of the job." in told
    )
