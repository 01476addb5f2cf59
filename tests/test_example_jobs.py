"""Every example job is issued on either paper, in every choice of units, and says what its README says of it."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from certgen.cli import main
from certgen.pipeline import assess_job
from certgen.results.serialization import as_json

FOLDER = Path(__file__).parent.parent / "example_jobs"
JOBS = sorted(FOLDER.glob("*/job.yaml"))
#: Width and height of the papers. [pt]
PAPERS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}


def name(path: Path) -> str:
    return path.parent.name


def test_there_are_six_at_least():
    assert len(JOBS) >= 6


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize("job", JOBS, ids=name)
def test_it_is_issued_on_one_page(job, paper, units, tmp_path, capsys):
    status = main(["issue", str(job), "--out", str(tmp_path), "--paper", paper, "--units", units])
    assert status == 0
    (sheet,) = tmp_path.glob("*.pdf")
    assert capsys.readouterr().out.startswith(f"{sheet}: ")
    reader = PdfReader(io.BytesIO(sheet.read_bytes()))
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(PAPERS[paper], abs=0.01)
    assert sheet.stem in reader.pages[0].extract_text()


@pytest.mark.parametrize("job", JOBS, ids=name)
def test_same_job_same_bytes(job, tmp_path, capsys):
    for folder in ("first", "second"):
        (tmp_path / folder).mkdir()
        assert main(["issue", str(job), "--out", str(tmp_path / folder), "--results", str(tmp_path / folder)]) == 0
    first, second = (sorted((tmp_path / folder).iterdir()) for folder in ("first", "second"))
    assert [path.name for path in first] == [path.name for path in second]
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


@pytest.mark.parametrize("job", JOBS, ids=name)
def test_what_its_readme_says_comes_of_it(job):
    table = (FOLDER / "README.md").read_text(encoding="utf-8")
    row = re.search(rf"^\| \[{name(job)}\]\([^)]*\) \|(.*?)\|(.*?)\|$", table, flags=re.MULTILINE)
    assert row is not None, f"{name(job)} is not in example_jobs/README.md"
    outcome = assess_job(job).results.verdict.outcome
    said = row[2]
    expected = "fail" if "fails" in said else "not tested" if "no pass" in said else "pass"
    assert outcome == expected


@pytest.mark.parametrize("job", JOBS, ids=name)
def test_losses_and_shaft_power_add_up_to_input_power(job):
    results = json.loads(as_json(assess_job(job).results))
    for point in results["points"]:
        if point["losses"] is not None:
            total = point["losses"]["value"] + point["shaft_power"]["value"]
            assert total == pytest.approx(point["input_power"]["value"])
            assert point["efficiency"]["value"] < 1.0
