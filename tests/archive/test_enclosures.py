"""What travels inside: everything the results were made from, under names from which the job runs again."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from archive.forged import enclosed
from bench import CRITERIA, CSV, Bench
from sheet.results_factory import make_results

from certgen.archive.enclosures import Inputs, enclosures, extract
from certgen.document.source import digest
from certgen.errors import CertgenError
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions
from certgen.sheet.engine.layout import find_layout

pytestmark = pytest.mark.slow

READ = {"shop/motor/job.yaml": b"job", "shop/rigs/rig.yaml": b"rig", "shop/motor/log.dat": b"log"}
RESULTS = make_results(3)
TRACED = replace(
    RESULTS,
    traceability=replace(RESULTS.traceability, inputs={name: digest(data) for name, data in READ.items()}),
)
SHEET = {"layout": "certificate", "paper": "a4", "units": "si"}


def inputs(files: dict[str, bytes] | None = None, job: str = "shop/motor/job.yaml", folder: str = "motor") -> Inputs:
    return Inputs(job, folder, READ if files is None else files, {})


def test_names_begin_above_the_jobs_folder() -> None:
    found = {one.name: one for one in enclosures(TRACED, b"{}", inputs(), SHEET)}
    assert list(found) == ["motor/job.yaml", "rigs/rig.yaml", "motor/log.dat", "results.json", "contents.json"]
    assert found["motor/log.dat"].media_type == "application/octet-stream"
    contents = json.loads(found["contents.json"].data)
    assert contents["job"] == "motor/job.yaml"
    assert contents["files"]["rigs/rig.yaml"] == digest(b"rig")
    assert set(contents["files"]) == set(found) - {"contents.json"}


@pytest.mark.parametrize("shop", ["", "../", "/data/shop/", "./", "a/../b/"])
def test_names_are_the_same_from_wherever_the_job_is_named(shop: str) -> None:
    files = {f"{shop}{called.removeprefix('shop/')}": data for called, data in READ.items()}
    found = enclosures(TRACED, b"{}", inputs(files, f"{shop}motor/job.yaml"), SHEET)
    assert [one.name for one in found][:3] == ["motor/job.yaml", "rigs/rig.yaml", "motor/log.dat"]


@pytest.mark.parametrize("called", ["other/x.csv", "../rigs/x.csv", "shop/results.json", "shop/contents.json"])
def test_a_name_that_cannot_be_kept_is_told(called: str) -> None:
    with pytest.raises(CertgenError, match="cannot be kept"):
        enclosures(TRACED, b"{}", inputs({**READ, called: b""}), SHEET)


def test_a_traced_file_that_was_not_kept_is_a_mistake_of_ours() -> None:
    with pytest.raises(AssertionError, match="not kept"):
        enclosures(TRACED, b"{}", inputs({"shop/motor/job.yaml": b"job"}), SHEET)


def test_too_much_to_carry_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("certgen.archive.enclosures.MOST_BYTES", 100)
    with pytest.raises(CertgenError, match="too large to travel"):
        enclosures(TRACED, b"{}", inputs(), SHEET)


def _with_own_layout(bench: Bench) -> Path:
    """A job with a readings file and a layout file of the shop's own."""
    shipped = find_layout("certificate")
    assert shipped is not None
    job = bench.start("file").edit("job", {"criteria:": "sheet: {layout: own.yaml}\ncriteria:"}).write()
    Path("motor/own.yaml").write_bytes(shipped.read_bytes())
    return job


def test_files_of_the_shops_own_travel_too_and_the_tree_runs_again(bench: Bench, tmp_path: Path) -> None:
    """Readings, criteria and layout files; the same page comes out of what was taken out of it."""
    job = _with_own_layout(bench)
    job.write_text(job.read_text(encoding="utf-8").replace("iec-60034-1", "limits.yaml"), encoding="utf-8")
    Path("motor/limits.yaml").write_text(CRITERIA, encoding="utf-8")
    document = draw_job(job, SheetOptions()).document
    files = enclosed(document)
    assert set(files) == {
        "motor/job.yaml", "motor/load_test.csv", "motor/limits.yaml", "motor/own.yaml", "rigs/rig.yaml",
        "results.json", "contents.json",
    }  # fmt: skip
    assert files["motor/load_test.csv"] == CSV.encode()
    extract(files, tmp_path / "again")
    assert draw_job(tmp_path / "again" / "motor" / "job.yaml", SheetOptions()).document == document


def test_the_bytes_do_not_tell_where_the_job_lies(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    job = bench.write()
    first = draw_job(job, SheetOptions()).document
    assert draw_job(job.resolve(), SheetOptions()).document == first
    monkeypatch.chdir("motor")
    assert draw_job(Path("job.yaml"), SheetOptions()).document == first
    assert str(Path().resolve().parent).encode() not in first


def test_a_layout_of_the_command_line_is_named_not_carried(bench: Bench) -> None:
    job = _with_own_layout(bench)
    files = enclosed(draw_job(job, SheetOptions(layout="motor/own.yaml")).document)
    assert "motor/own.yaml" not in files
    assert json.loads(files["contents.json"])["sheet"]["layout"] == "own.yaml"
