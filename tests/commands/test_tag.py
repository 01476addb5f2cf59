"""``certgen issue JOB --sheet tag``: numbered as the certificate, written beside it, kept in no archive."""

from __future__ import annotations

import hashlib
import io
import subprocess
from pathlib import Path

import pytest
import zxingcpp
from bench import Bench
from PIL import Image
from pypdf import PdfReader

import certgen
from certgen.cli import main
from certgen.errors import CertgenError

pytestmark = pytest.mark.slow

NUMBER = "  number: WS-2026-007\n"


def scanned(tag: Path) -> dict[str, str]:
    """The lines of a tag's code, by their first word."""
    command = ["pdftoppm", "-r", "203", "-mono", "-singlefile", "-"]
    paper = subprocess.run(command, input=tag.read_bytes(), capture_output=True, check=True)
    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(paper.stdout)).convert("L"))
    return dict(line.split(" ", 1) for line in found.text.splitlines())


@pytest.fixture
def shop(bench: Bench) -> Path:
    """A job without a number, and a folder whose register gives numbers."""
    job = bench.write()
    job.write_text(job.read_text(encoding="utf-8").replace(NUMBER, ""), encoding="utf-8")
    Path("kept").mkdir()
    assert main(["register", "start", "kept", "--numbers", "HB-{year}-{serial:03}"]) == 0
    return job


def test_without_an_archive_it_has_the_number_of_the_job(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    job = bench.write()
    assert main(["issue", str(job), "--sheet", "tag", "--results", "results.json"]) == 0
    assert capsys.readouterr().out == "WS-2026-007-tag.pdf: conditional pass\n"
    lines = scanned(Path("WS-2026-007-tag.pdf"))
    assert lines["number"] == "WS-2026-007"
    assert lines["results-sha256"] == hashlib.sha256(Path("results.json").read_bytes()).hexdigest()
    information = PdfReader("WS-2026-007-tag.pdf").metadata
    assert information is not None
    assert information.title == "Tag of WS-2026-007"
    assert main(["verify", "WS-2026-007-tag.pdf"]) == 1
    assert "WS-2026-007-tag.pdf: tag, whole, but not drawn again, WS-2026-007\n" in capsys.readouterr().out


def test_a_tag_is_drawn_again_and_nothing_else_overwritten(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    job, tag = bench.with_fine_instruments().write(), Path("WS-2026-007-tag.pdf")
    assert main(["issue", str(job), "--sheet", "tag"]) == 0
    first = tag.read_bytes()
    assert main(["issue", str(job), "--sheet", "tag"]) == 0
    assert "(unchanged, already issued)" in capsys.readouterr().out
    assert main(["issue", str(job), "--sheet", "tag", "--paper", "strip60"]) == 0
    assert tag.read_bytes() != first
    for other in (b"a letter", b""):
        tag.write_bytes(other)
        assert main(["issue", str(job), "--sheet", "tag"]) == 2
        assert "is not 'Tag of WS-2026-007' drawn before, so it is left as it is" in capsys.readouterr().err
        assert tag.read_bytes() == other
    tag.unlink()
    assert main(["issue", str(job), "--out", str(tag)]) == 0
    certificate = tag.read_bytes()
    assert main(["issue", str(job), "--sheet", "tag"]) == 2
    assert tag.read_bytes() == certificate


def test_with_an_archive_it_takes_the_number_registered_for_these_files(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tag = ["issue", str(shop), "--sheet", "tag", "--archive", "kept"]
    assert main(tag) == 2
    told = capsys.readouterr().err
    assert told.startswith(f"{shop}: kept holds no certificate issued from these files")
    assert "certgen issue JOB --archive kept" in told
    assert main(["issue", str(shop), "--archive", "kept"]) == 0
    Path("labels").mkdir()
    before = sorted(path.name for path in Path("kept").iterdir())
    assert main([*tag, "--out", "labels"]) == 0
    assert sorted(path.name for path in Path("kept").iterdir()) == before
    lines = scanned(Path("labels/HB-2026-001-tag.pdf"))
    assert lines["number"] == "HB-2026-001"
    assert lines["pdf-sha256"] == hashlib.sha256(Path("kept/HB-2026-001.pdf").read_bytes()).hexdigest()
    shop.write_text(shop.read_text(encoding="utf-8") + "# other files\n", encoding="utf-8")
    assert main(tag) == 2
    assert main(["register", "check", "--archive", "kept"]) == 0


def test_without_any_number_the_way_to_one_is_told(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", str(shop), "--sheet", "tag"]) == 2
    assert "the job has no certificate.number" in capsys.readouterr().err


@pytest.mark.parametrize("more", [[], ["--sheet", "certificate"]])
def test_a_certificate_goes_to_one_place(shop: Path, more: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", str(shop), "--archive", "kept", "--out", "here.pdf", *more]) == 2
    assert "--out beside --archive is for tags" in capsys.readouterr().err
    assert [path.name for path in Path("kept").iterdir()] == ["register.sqlite3"]
    assert not Path("here.pdf").exists()


def test_a_layout_of_the_shops_own_may_be_a_tag(bench: Bench) -> None:
    job = bench.write()
    (job.parent / "own.yaml").write_text(
        "purpose: tag\npage: {papers: [a6]}\nblocks: {tag_heading: {title: Motor tag}}\nrows: [tag_heading, tag_code]\n"
    )
    job.write_text(job.read_text(encoding="utf-8") + "\nsheet: {layout: own.yaml}\n", encoding="utf-8")
    issued = certgen.issue(job)
    assert issued.path == Path("WS-2026-007-tag.pdf")
    with pytest.raises(ValueError, match="not both"):
        certgen.issue(job, out="x", archive="kept")
    with pytest.raises(CertgenError, match="there is no such folder"):
        certgen.issue(job, out=".", archive="kept", sheet="tag")
