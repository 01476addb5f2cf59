"""Folders of jobs, some of which await their test, and the archive that the surroundings name."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from bench import Bench

from certgen.cli import main

pytestmark = pytest.mark.slow


@pytest.fixture
def awaiting(bench: Bench) -> Path:
    """A folder with a job that can be issued and one whose load test is still to be made."""
    job = bench.write()
    text = job.read_text(encoding="utf-8")
    before = re.sub(r"^readings:\n(?:[ \t].*\n|\n)*", "", text, flags=re.MULTILINE)
    assert "load_test" not in before
    job.with_name("next.yaml").write_text(before.replace("WS-2026-007", "WS-2026-008"), encoding="utf-8")
    return job.parent


def test_a_job_that_awaits_its_test_is_no_mistake_of_a_folder(
    awaiting: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["issue", str(awaiting), "--out", "."]) == 0
    told = capsys.readouterr()
    assert "WS-2026-007.pdf" in told.out
    assert f"{awaiting / 'next.yaml'}: awaits its test\n" in told.err
    assert re.search(r"^awaits its test +1$", told.err, re.MULTILINE)
    assert not Path("WS-2026-008.pdf").exists()
    assert main(["issue", str(awaiting), "--out", ".", "--require", "conditional pass"]) == 0


def test_named_by_itself_it_is_refused(awaiting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", str(awaiting / "next.yaml")]) == 2
    assert "awaits" not in capsys.readouterr().err


def test_a_broken_job_of_a_folder_stays_a_mistake(awaiting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    later = awaiting / "next.yaml"
    later.write_text(later.read_text(encoding="utf-8").replace("1.5 kW", "1.5"), encoding="utf-8")
    assert main(["issue", str(awaiting), "--out", "."]) == 2
    assert "nameplate.power" in capsys.readouterr().err


def test_the_archive_the_surroundings_name(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("kept").mkdir()
    monkeypatch.setenv("CERTGEN_ARCHIVE", "kept")
    job = str(bench.write())
    assert main(["issue", job]) == 0
    assert Path("kept/WS-2026-007.pdf").exists()
    assert not Path("WS-2026-007.pdf").exists()
    assert main(["register", "list"]) == 0
    assert "WS-2026-007" in capsys.readouterr().out
    assert main(["verify", "kept/WS-2026-007.pdf"]) == 0
    assert "yes  register" in capsys.readouterr().out
    assert main(["issue", job, "--out", "elsewhere.pdf"]) == 0
    assert Path("elsewhere.pdf").exists()


def test_an_archive_given_goes_before_it(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("kept", "other"):
        Path(name).mkdir()
    monkeypatch.setenv("CERTGEN_ARCHIVE", "kept")
    assert main(["issue", str(bench.write()), "--archive", "other"]) == 0
    assert sorted(path.name for path in Path("kept").iterdir()) == []
