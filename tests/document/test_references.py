from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import FileReference, Reader
from certgen.document.references import find, resolve, shown_name
from certgen.document.source import Problems


@pytest.fixture
def job_folder(tmp_path: Path) -> Path:
    folder = tmp_path / "outside" / "shop" / "motor"
    folder.mkdir(parents=True)
    return folder


def resolved(name: str, folder: Path, job_folder: Path | None = None) -> tuple[Path | None, list[str]]:
    problems = Problems()
    reader = Reader("job.yaml", folder, problems)
    found = resolve(FileReference(name, (3, 6)), reader, job_folder or folder, "rig")
    return found, [str(one) for one in problems.found]


@pytest.mark.parametrize(
    ("name", "target"),
    [
        ("load_test.csv", "motor/load_test.csv"),
        ("./load_test.csv", "motor/load_test.csv"),
        ("readings/day 1.csv", "motor/readings/day 1.csv"),
        ("../rigs/arm.yaml", "rigs/arm.yaml"),
        ("../rigs/../arm.yaml", "arm.yaml"),
        ("..hidden.yaml", "motor/..hidden.yaml"),
    ],
)
def test_a_name_is_relative_to_the_file_that_names_it(job_folder: Path, name: str, target: str) -> None:
    assert resolved(name, job_folder) == (job_folder.parent.resolve() / target, [])


def test_a_name_without_a_file_is_told_where_it_is_written(job_folder: Path) -> None:
    problems = Problems()
    reader, reference = Reader("job.yaml", job_folder, problems), FileReference("arm.yaml", (3, 6))
    assert find(reference, reader, job_folder, "rig") is None
    told = "job.yaml:3:6: rig: 'arm.yaml' does not exist; write the name as seen from the folder of this file."
    assert [str(one) for one in problems.found] == [told]
    (job_folder / "arm.yaml").touch()
    assert find(reference, reader, job_folder, "rig") == job_folder.resolve() / "arm.yaml"


@pytest.mark.parametrize(
    "name",
    [
        "../../x", "../../shop2/x", "../rigs/../../x", "/etc/passwd", "~/x",
        "C:\\x", "c:x", "\\\\host\\x", "a\\b", "a\0b", "a" * 501,
    ],
)  # fmt: skip
def test_a_name_that_leads_elsewhere_is_refused(job_folder: Path, name: str) -> None:
    found, told = resolved(name, job_folder)
    assert found is None
    assert len(told) == 1
    assert told[0].startswith("job.yaml:3:6: rig: '")


def test_the_fence_is_the_jobs_and_not_that_of_the_file_that_names(job_folder: Path) -> None:
    """A rig beside the jobs may not name a file above the shop's folder."""
    rigs = job_folder.parent / "rigs"
    rigs.mkdir()
    assert resolved("../x.yaml", rigs, job_folder)[0] == job_folder.parent.resolve() / "x.yaml"
    assert resolved("../../x.yaml", rigs, job_folder)[0] is None


def test_a_neighbour_whose_name_begins_alike_is_outside(job_folder: Path) -> None:
    (job_folder.parent.parent / "shop-2").mkdir()
    assert resolved("../../shop-2/x", job_folder)[0] is None


def test_a_link_is_followed_before_it_is_judged(job_folder: Path) -> None:
    (job_folder / "in").symlink_to("../rigs")
    (job_folder / "out").symlink_to("../..")
    (job_folder / "loop").symlink_to("loop")
    assert resolved("in/arm.yaml", job_folder)[0] == job_folder.parent.resolve() / "rigs/arm.yaml"
    assert resolved("out/arm.yaml", job_folder)[0] is None
    assert resolved("loop/arm.yaml", job_folder)[0] is None


def test_a_link_to_itself_is_refused_however_python_resolves_it(
    job_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Python 3.13 and later resolve such a link to itself and raise nothing, as ``os.path.realpath`` always did."""
    monkeypatch.setattr(Path, "resolve", lambda path: Path(os.path.realpath(path)))
    (job_folder / "loop").symlink_to("loop")
    for name in ("loop", "loop/arm.yaml"):
        found, told = resolved(name, job_folder)
        assert found is None
        assert told[0].startswith(f"job.yaml:3:6: rig: '{name}' leads in circles")


def test_a_job_reached_by_a_link_is_fenced_where_it_really_stands(job_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(job_folder)
    found, _ = resolved("../rigs/arm.yaml", tmp_path / "link")
    assert found == job_folder.parent.resolve() / "rigs/arm.yaml"


@given(parts=st.lists(st.sampled_from(["..", ".", "a", "b c", "…", "link"]) | st.text(max_size=4), max_size=7))
def test_no_name_leads_out(tmp_path_factory: pytest.TempPathFactory, parts: list[str]) -> None:
    base = tmp_path_factory.getbasetemp() / "fence"
    folder = base / "shop" / "motor"
    folder.mkdir(parents=True, exist_ok=True)
    if not (folder / "link").is_symlink():
        (folder / "link").symlink_to(base)
    found, told = resolved("/".join(parts), folder)
    if found is None:
        assert len(told) == 1
        assert told[0].isprintable()
    else:
        assert found.is_relative_to((base / "shop").resolve())


@pytest.mark.parametrize(
    ("job", "name", "shown"),
    [
        ("job.yaml", "load.csv", "load.csv"),
        ("motor/job.yaml", "load.csv", "motor/load.csv"),
        ("motor/job.yaml", "../rigs/arm.yaml", "rigs/arm.yaml"),
        ("job.yaml", "../rigs/arm.yaml", "../rigs/arm.yaml"),
        ("/shop/motor/job.yaml", "../rigs/arm.yaml", "/shop/rigs/arm.yaml"),
        ("../motor/job.yaml", "../rigs/arm.yaml", "../rigs/arm.yaml"),
    ],
)
def test_a_file_is_called_as_seen_from_where_the_job_was_named(job: str, name: str, shown: str) -> None:
    reader = Reader(job, Path(job).parent, Problems())
    assert shown_name(reader, FileReference(name, (1, 1))) == shown
