"""A lost load is named once, and leaves the verdict as it was."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import numpy as np
import pytest
import yaml

from certgen.assessment.log_cautions import log_evidence
from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[2] / "example_jobs"


def assessed(folder: Path, begin: float, seconds: float, left: float):
    """The verdict, points and lost loads of the logged example whose brake current was not logged, with a slip."""
    shutil.copytree(EXAMPLES / "logged_load_test", folder / "logged_load_test")
    shutil.copytree(EXAMPLES / "rigs", folder / "rigs")
    path = folder / "logged_load_test" / "job.yaml"
    job = yaml.safe_load(path.read_text(encoding="utf-8"))
    del job["readings"]["load_test"]["columns"]["brake_current"]
    path.write_text(yaml.safe_dump(job), encoding="utf-8")
    slip(folder / "logged_load_test" / "load_test.csv", begin, seconds, left)
    results = assess_job(path).results
    lost = [entry for entry in results.plausibility if entry.id == "load_lost"]
    return results, lost


def slip(path: Path, begin: float, seconds: float, left: float) -> None:
    """Put so many seconds without load in between; the load that was held is held for as much longer."""
    with path.open(encoding="utf-8", newline="") as file:
        header, *rows = list(csv.reader(file))
    at = next(number for number, row in enumerate(rows) if float(row[0]) >= begin)
    interval = float(rows[at][0]) - float(rows[at - 1][0])
    count = round(seconds / interval)
    random = np.random.default_rng(2)
    more = [rows[row][:] for row in random.integers(at - 10, at, count)]
    for row in more:
        row[2] = f"{float(row[2]) * left:.2f}"
        row[1] = f"{1500.0 - (1500.0 - float(row[1])) * max(left, 0.1):.1f}"
    rows[at:at] = more
    for number, row in enumerate(rows):
        row[0] = f"{number * interval:.2f}"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([header, *rows])


@pytest.mark.parametrize("seconds", [5.0, 30.0])
def test_a_slip_in_the_example_changes_no_verdict(tmp_path, seconds):
    sound, before = assessed(tmp_path / "sound", 70.0, 0.0, 1.0)
    results, lost = assessed(tmp_path / "slip", 70.0, seconds, 0.05)
    assert len(lost) == len(before) + 1
    assert {entry.effect for entry in lost} == {"note"}
    assert results.verdict.outcome == sound.verdict.outcome
    assert len(results.points) == len(sound.points)


def test_no_log_no_evidence():
    assert list(log_evidence(None)) == []
