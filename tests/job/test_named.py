from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.errors import CertgenError
from certgen.job.job_paths import jobs_named

JOB = "certificate: {}\nmotor: {}\n"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two jobs in folders of their own, one beside them, a rig, and a folder without jobs."""
    monkeypatch.chdir(tmp_path)
    for name, text in {
        "bench/b/job.yaml": JOB,
        "bench/a/second.yml": f"# a comment first\n{JOB}",
        "bench/rigs/arm.yaml": "name: arm\n",
        "bench/a/certificate: motor:.txt": JOB,
        "other.yaml": JOB,
        "none/readme.txt": "no job",
    }.items():
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        Path(name).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("named", "found"),
    [
        (["other.yaml"], ["other.yaml"]),
        (["missing.yaml"], ["missing.yaml"]),  # told by the reader, with everything else that is wrong
        (["bench"], ["bench/a/second.yml", "bench/b/job.yaml"]),
        (["bench", "bench/b"], ["bench/a/second.yml", "bench/b/job.yaml"]),
        (["other.yaml", "other.yaml"], ["other.yaml", "other.yaml"]),
        (["bench/*/*.y*ml"], ["bench/a/second.yml", "bench/b/job.yaml", "bench/rigs/arm.yaml"]),
        (["ben*"], ["bench/a/second.yml", "bench/b/job.yaml"]),
        (["**/job.yaml"], ["bench/b/job.yaml"]),
    ],
)
def test_files_folders_and_patterns(here: Path, named: list[str], found: list[str]) -> None:
    assert list(jobs_named([Path(name) for name in named])) == [Path(name) for name in found]


@pytest.mark.parametrize(
    ("named", "what"), [("none", "folder holds no job file"), ("x*.yaml", "pattern meets no job file")]
)
def test_nothing_found_is_told(here: Path, named: str, what: str) -> None:
    with pytest.raises(CertgenError, match=f"this {what}; a job file has the keys 'certificate:' and 'motor:'"):
        jobs_named([Path(named)])


def test_a_file_whose_name_looks_like_a_pattern_is_that_file(here: Path) -> None:
    Path("job[1].yaml").write_text(JOB, encoding="utf-8")
    assert list(jobs_named([Path("job[1].yaml")])) == [Path("job[1].yaml")]


def test_the_order_is_that_of_sorted_paths(here: Path) -> None:
    """Folder by folder, as the library sorts paths: also where a folder's name begins as a file's does."""
    for name in ("a.yaml", "a/b.yaml", "a/b/c.yml", "a-b.yaml", "B.yaml", "a/ä.yaml", "a.d/job.yaml", "é/x.yaml"):
        path = Path("many") / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(JOB, encoding="utf-8")
    found = list(jobs_named([Path("many")]))
    assert found == sorted(Path("many").rglob("*.y*ml"))
    assert len(found) == 8


def test_jobs_are_kept_as_text_and_given_as_paths(here: Path) -> None:
    found = jobs_named([Path("bench"), Path("other.yaml")])
    assert found[-1] == Path("other.yaml")
    assert found[:2] == [Path("bench/a/second.yml"), Path("bench/b/job.yaml")]
    assert len(found) == 3


def test_too_many_jobs_are_told(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("certgen.job.job_paths.MOST_JOBS", 1)
    with pytest.raises(CertgenError, match="these are more than 1 jobs; name fewer at once"):
        jobs_named([Path("bench")])


def test_a_link_to_the_folder_itself_comes_to_an_end(here: Path) -> None:
    Path("bench/a/round").symlink_to(Path("bench").resolve())
    assert len(jobs_named([Path("bench")])) == 2


@given(st.text(alphabet="ab*?[]/.", min_size=1, max_size=12).filter(lambda text: not text.startswith("/")))
def test_any_pattern_finds_files_or_is_told(text: str) -> None:
    with contextlib.suppress(CertgenError):
        assert all(isinstance(path, Path) for path in jobs_named([Path("no such folder") / text]))
