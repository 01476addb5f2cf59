"""Tags seal themselves, and are held against the certificate they belong to."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from archive.conftest import EXAMPLES

from certgen.archive.objects import bodies_of
from certgen.archive.seal import sealed
from certgen.cli import main
from certgen.sheet.pdf.container import TAG_LINE, written

pytestmark = pytest.mark.slow

JOB = str(EXAMPLES / "one_point_test" / "job.yaml")
TAG = "PMB-2026-0050-tag.pdf"


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """An archive with one certificate, and its tag beside it."""
    monkeypatch.chdir(tmp_path)
    Path("kept").mkdir()
    assert main(["issue", JOB, "--archive", "kept"]) == 0
    assert main(["issue", JOB, "--archive", "kept", "--sheet", "tag", "--paper", "a6", "--out", "."]) == 0
    capsys.readouterr()
    return Path(TAG)


def resealed(data: bytes, old: bytes, new: bytes) -> bytes:
    """Another text in the file, written as this program writes, and the seal made to fit, as anyone can."""
    bodies, root, information = bodies_of(data)
    changed = [body.replace(old, new) for body in bodies]
    assert changed != bodies and len(old) == len(new)
    return sealed(written(changed, root, information, line=TAG_LINE))


def test_a_tag_of_a_certificate_that_stands_is_sound(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", TAG, "--archive", "kept"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == f"{TAG}: tag, sound, PMB-2026-0050"
    assert [line[2:6].strip() for line in lines[1:]] == ["yes", "yes", "yes"]
    assert lines[3].endswith("drawn again from its certificate it is the same")


def test_alone_a_tag_is_whole_and_proves_nothing(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", TAG]) == 1
    told = capsys.readouterr().out
    assert told.startswith(f"{TAG}: tag, whole, but not drawn again, PMB-2026-0050\n")
    assert "a tag carries no data of its own" in told


@pytest.mark.parametrize("at", [0.1, 0.4, 0.7, 0.99])
def test_a_changed_byte_is_told(kept: Path, capsys: pytest.CaptureFixture[str], at: float) -> None:
    data = bytearray(kept.read_bytes())
    data[int(at * len(data))] ^= 1
    kept.write_bytes(data)
    assert main(["verify", TAG, "--archive", "kept"]) == 1
    assert "NOT SOUND" in capsys.readouterr().out


def test_a_tag_changed_and_sealed_again_is_told(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept.write_bytes(resealed(kept.read_bytes(), b"L. Oakshott", b"L. Oakshutt"))
    assert main(["verify", TAG, "--archive", "kept"]) == 1
    told = capsys.readouterr().out
    assert "yes  container: intact" in told
    assert "NO  page: it is not the tag its certificate gives" in told


def test_a_tag_that_names_another_file_is_told(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    named = re.search(rb"<dc:source>([0-9a-f]{64})", kept.read_bytes())
    assert named is not None
    kept.write_bytes(resealed(kept.read_bytes(), named[1], b"0" * 64))
    assert main(["verify", TAG, "--archive", "kept"]) == 1
    assert "it names another file than the certificate PMB-2026-0050" in capsys.readouterr().out


def test_a_tag_whose_certificate_was_replaced_says_so(kept: Path, tmp_path: Path, capsys) -> None:
    other = str(EXAMPLES / "worn_rotor" / "job.yaml")
    assert main(["issue", other, "--archive", "kept"]) == 0
    by = ["--by", "PMB-2026-0049", "--because", "Tested again.", "--archive", "kept"]
    assert main(["register", "supersede", "PMB-2026-0050", *by]) == 0
    capsys.readouterr()
    assert main(["verify", TAG, "--archive", "kept"]) == 1
    assert capsys.readouterr().out.startswith(f"{TAG}: tag, superseded by PMB-2026-0049, PMB-2026-0050\n")


def test_no_tag_is_made_of_a_certificate_that_was_replaced(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = str(EXAMPLES / "worn_rotor" / "job.yaml")
    assert main(["issue", other, "--archive", "kept"]) == 0
    by = ["--by", "PMB-2026-0049", "--because", "Tested again.", "--archive", "kept"]
    assert main(["register", "supersede", "PMB-2026-0050", *by]) == 0
    capsys.readouterr()
    assert main(["issue", JOB, "--archive", "kept", "--sheet", "tag", "--out", "again.pdf"]) == 2
    told = capsys.readouterr().err
    assert "PMB-2026-0050 issued from these files is superseded by PMB-2026-0049; make the tag of that one" in told
    assert not Path("again.pdf").exists()


@pytest.mark.parametrize(("paper", "units"), [("4x6in", "us"), ("strip60", "both")])
def test_other_papers_and_units_are_drawn_again_as_they_were(kept: Path, paper: str, units: str) -> None:
    asked = ["--sheet", "tag", "--paper", paper, "--units", units, "--out", "other.pdf"]
    assert main(["issue", JOB, "--archive", "kept", *asked]) == 0
    assert main(["verify", "other.pdf", "--archive", "kept"]) == 0


def test_a_tag_of_a_layout_that_is_not_at_hand_is_not_judged(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = (
        "purpose: tag\npage: {papers: [a6]}\nblocks: {tag_heading: {title: Motor tag}}\nrows: [tag_heading, tag_code]\n"
    )
    Path("own.yaml").write_text(own, encoding="utf-8")
    assert main(["issue", JOB, "--archive", "kept", "--sheet", "own.yaml", "--paper", "a6", "--out", "own.pdf"]) == 0
    capsys.readouterr()
    assert main(["verify", "own.pdf", "--archive", "kept"]) == 1
    assert "not drawn again: its layout 'own.yaml' is not at hand" in capsys.readouterr().out


def test_a_tag_without_an_archive_names_the_results(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", JOB, "--sheet", "tag", "--paper", "a6", "--out", "alone.pdf"]) == 0
    capsys.readouterr()
    assert main(["verify", "alone.pdf", "--archive", "kept"]) == 1
    assert "it names another file than the certificate" in capsys.readouterr().out
