"""``compare_with``: which file may be named, and that its own mistakes are told by its own name."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from certgen.errors import InputError, RefusedTest
from certgen.pipeline import assess_job

ROWS = [[1495, 0.1, 1.9, 165], [1460, 5.1, 2.5, 985], [1421, 10.1, 3.4, 1843], [1396, 12.6, 4.05, 2292]]
COLUMNS = {"speed": "rpm", "torque": "N*m", "current": "A", "input_power": "W"}


def a_job(number: str, rows: Any = ROWS, **more: Any) -> dict[str, Any]:
    return {
        "certificate": {"number": number, "tested_on": "2026-01-01", "tested_by": "a tester"},
        "motor": {"type": "three-phase induction"},
        "nameplate": {"power": "1.5 kW", "current": "3.4 A", "frequency": "50 Hz", "poles": 4},
        "rig": "../rig.yaml",
        "readings": {"load_test": {"columns": COLUMNS, "rows": rows}},
        **more,
    }


def write(folder: Path, name: str, job: dict[str, Any]) -> Path:
    path = folder / name
    path.parent.mkdir(exist_ok=True, parents=True)
    path.write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
    return path


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of jobs with one rig, and where the tests are run from."""
    folder = tmp_path / "shop"
    write(folder, "rig.yaml", {"name": "a rig", "absorber": {"kind": "torque sensor"}})
    write(folder, "before/job.yaml", a_job("B-1"))
    monkeypatch.chdir(folder)
    return folder


def test_the_earlier_test_stands_beside_this_one(shop):
    write(shop, "after/job.yaml", a_job("B-2", compare_with="../before/job.yaml"))
    results = assess_job(Path("after/job.yaml")).results
    (comparison,) = results.comparisons
    assert (str(comparison.first), str(comparison.second)) == ("B-1, 2026-01-01", "B-2, 2026-01-01")
    assert all(one.first == one.second for one in comparison.differences)
    assert list(results.traceability.inputs) == ["job.yaml", "../rig.yaml", "../before/job.yaml"]


def test_mistakes_of_the_earlier_job_are_told_by_its_name(shop):
    write(shop, "before/job.yaml", a_job("B-1", conditons={}))
    write(shop, "after/job.yaml", a_job("B-2", compare_with="../before/job.yaml", criteria="nowhere"))
    with pytest.raises(InputError) as caught:
        assess_job(Path("after/job.yaml"))
    told = str(caught.value).splitlines()
    assert any(line.startswith("after/job.yaml:") and "nowhere" in line for line in told)
    assert any(line.startswith("before/job.yaml:") and "conditons" in line for line in told)


def test_an_earlier_test_that_cannot_be_true_is_named(shop):
    write(shop, "before/job.yaml", a_job("B-1", [[1421, 10.1, 3.4, 900]]))
    write(shop, "after/job.yaml", a_job("B-2", compare_with="../before/job.yaml"))
    with pytest.raises(RefusedTest, match=r"^before/job\.yaml: every load point gives more"):
        assess_job(Path("after/job.yaml"))


def test_what_the_earlier_job_is_compared_with_is_not_followed(shop):
    write(shop, "before/job.yaml", a_job("B-1", compare_with="../after/job.yaml"))
    write(shop, "after/job.yaml", a_job("B-2", compare_with="../before/job.yaml"))
    assert len(assess_job(Path("after/job.yaml")).results.comparisons) == 1


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("job.yaml", "'job.yaml' is this job itself"),
        ("../after/job.yaml", "is this job itself"),
        ("../job.yaml", "stands outside any job's folder"),
        ("../../before.yaml", "leads out of the folder above the job's own"),
        ("/etc/passwd", "is an absolute name"),
        ("../nowhere/job.yaml", "nowhere/job.yaml"),
    ],
)
def test_names_that_are_refused(shop, name, told):
    write(shop, "job.yaml", a_job("B-0"))
    write(shop, "after/job.yaml", a_job("B-2", compare_with=name))
    with pytest.raises(InputError) as caught:
        assess_job(Path("after/job.yaml"))
    (line,) = str(caught.value).splitlines()
    assert told in line


def test_a_link_out_of_the_folder_is_refused(shop, tmp_path):
    write(tmp_path, "elsewhere/job.yaml", a_job("B-1"))
    (shop / "linked").symlink_to(tmp_path / "elsewhere")
    write(shop, "after/job.yaml", a_job("B-2", compare_with="../linked/job.yaml"))
    with pytest.raises(InputError, match="leads out of the folder"):
        assess_job(Path("after/job.yaml"))


def test_files_of_the_earlier_job_are_traced_as_this_job_would_call_them(shop):
    before = a_job("B-1")
    before["readings"]["load_test"] = {
        "columns": {name: {"from": name, "unit": unit} for name, unit in COLUMNS.items()},
        "file": "rows.csv",
    }
    write(shop, "before/job.yaml", before)
    lines = [",".join(COLUMNS), *(",".join(map(str, row)) for row in ROWS)]
    (shop / "before" / "rows.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    write(shop, "after/job.yaml", a_job("B-2", compare_with="../before/job.yaml"))
    inputs = assess_job(Path("after/job.yaml")).results.traceability.inputs
    assert "../before/rows.csv" in inputs
    assert len(inputs) == 4
