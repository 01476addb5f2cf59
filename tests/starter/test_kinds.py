"""Starts by kind of motor and units, and copies of the examples: each checks clean and asks only for figures."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from certgen.cli import main
from certgen.starter import example_names

pytestmark = pytest.mark.slow

KINDS = ([], ["--single-phase"], ["--universal"], ["--unmarked"])


def made(folder: Path, *options: str) -> Path:
    assert main(["new", str(folder), *options]) == 0
    return next(folder.rglob("job.yaml"))


@pytest.mark.parametrize("us", [[], ["--us"]], ids=["metric", "us"])
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: "".join(kind) or "three-phase")
def test_every_start_checks_without_a_contradiction(tmp_path, capsys, kind, us):
    job = made(tmp_path / "bench", *kind, *us)
    capsys.readouterr()
    assert main(["check", str(job)]) == 0
    told = capsys.readouterr().out
    assert "Readings contradict" not in told
    first = told.splitlines()[0]
    assert "Measured" in first if "--unmarked" in kind else "ass" in first, first


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: "".join(kind) or "three-phase")
def test_a_start_in_us_units_holds_no_metric_one(tmp_path, kind):
    """A shop changes figures alone: no kilogram, metre, newton or degree Celsius stands in job or rig."""
    job = made(tmp_path / "bench", "--us", *kind)
    rig = tmp_path / "bench" / "rigs" / "arm_brake.yaml"
    for path in (job, rig):
        text = re.sub(
            r"shows kg or lb|shows N, kgf or lbf|1\.5 kW, 2 hp|0\.75 kW|9\.81 m/s\^2", "", path.read_text("utf-8")
        )
        assert not re.search(r"\d (?:kg|N\*m|degC|m|mm|N)\b|: kg\b", text), path
    assert "paper: letter, units: us" in job.read_text("utf-8")


@pytest.mark.parametrize("us", [[], ["--us"]], ids=["metric", "us"])
@pytest.mark.parametrize("kind", [["--single-phase"], ["--universal"]], ids=lambda kind: kind[0])
def test_every_key_kept_in_a_remark_works(tmp_path, capsys, kind, us):
    """With the '#' of every key taken away the job is still without a mistake; the gear alone stays behind its sign."""
    job = made(tmp_path / "bench", *kind, *us)
    key_behind_sign = re.compile(r"^(\s*)# (?!gear)(\s*\w+: |\s+\{|\w+:$)", re.MULTILINE)
    for path in (job, tmp_path / "bench" / "rigs" / "arm_brake.yaml"):
        path.write_text(key_behind_sign.sub(r"\1\2", path.read_text("utf-8")), "utf-8")
    capsys.readouterr()
    status = main(["check", str(job)])
    assert status == 0, capsys.readouterr().err


@pytest.mark.parametrize("name", ["three_phase_full_plate", "renewed_rotor", "logged_load_test"])
def test_a_copy_of_an_example_has_all_it_names(tmp_path, capsys, name):
    job = made(tmp_path / "copy", "--example", name)
    assert job.parent.name == name or (tmp_path / "copy" / name / "job.yaml").is_file()
    capsys.readouterr()
    assert main(["check", str(tmp_path / "copy" / name / "job.yaml")]) == 0


def test_an_example_nobody_knows_is_answered_with_the_nearest(tmp_path, capsys):
    assert main(["new", str(tmp_path), "--example", "three_phase_ful_plate"]) == 2
    assert "did you mean 'three_phase_full_plate'" in capsys.readouterr().err
    assert "three_phase_full_plate" in example_names()
