"""The test record: behind the certificate where asked, alone as a sheet of its own, never alone in an archive."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from bench import ARM_RIG, JOB
from pypdf import PdfReader

from certgen.archive.seal import read_seal
from certgen.cli import main
from certgen.errors import CertgenError
from certgen.issuing.certificate import draw_job, issue_job
from certgen.issuing.layouts import SheetOptions

pytestmark = pytest.mark.slow


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "rig.yaml").write_text(ARM_RIG, encoding="utf-8")
    path = tmp_path / "job.yaml"
    path.write_text(JOB.replace("../rigs/rig.yaml", "rig.yaml"), encoding="utf-8")
    return path


def pages(document: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(document)).pages]


def test_the_certificate_is_one_page_and_the_record_follows_where_asked(job: Path) -> None:
    alone, together = (pages(draw_job(job, SheetOptions(record=record)).document) for record in (False, True))
    assert len(alone) == 1
    assert len(together) > 1
    assert together[0].startswith("Brake-test certificate")
    for number, text in enumerate(together, start=1):
        assert f"Page {number} of {len(together)}" in text
        assert number == 1 or text.startswith("Test record")
    assert "End of the record of" in together[-1]


def test_the_job_may_ask_for_it(job: Path) -> None:
    text = job.read_text(encoding="utf-8")
    assert "\nsheet:" not in text
    job.write_text(f"{text}\nsheet: {{record: true}}\n", encoding="utf-8")
    drawn = draw_job(job, SheetOptions())
    assert len(pages(drawn.document)) > 1
    assert read_seal(drawn.document) is not None


def test_a_certificate_with_its_record_is_verified_as_drawn_again(job: Path, tmp_path: Path) -> None:
    made = tmp_path / "made.pdf"
    assert main(["issue", str(job), "--record", "--out", str(made)]) == 0
    assert main(["verify", str(made)]) == 0
    assert len(PdfReader(made).pages) > 1


def test_alone_it_takes_a_name_of_its_own_and_stands_in_no_archive(job: Path, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    certificate, record = (
        issue_job(job, out=folder, results_path=None, options=SheetOptions(layout)) for layout in (None, "record")
    )
    assert record.path.stem == f"{certificate.path.stem}-record"
    assert pages(record.path.read_bytes())[0].startswith("Test record")
    with pytest.raises(CertgenError, match="put the record behind one with --record"):
        issue_job(job, out=None, results_path=None, options=SheetOptions("record"), archive=tmp_path / "archive")


def test_a_layout_that_is_no_certificate_is_refused_with_what_is_missing(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ours = tmp_path / "ours.yaml"
    ours.write_text("blocks: {heading: {title: T}}\nrows: [heading, identity, verdict, scope]\n", encoding="utf-8")
    assert main(["issue", str(job), "--sheet", str(ours)]) == 2
    assert "no certificate without the cautions; who authorises it" in capsys.readouterr().err
    assert main(["check", "--layout", str(ours)]) == 0
    assert "must hold the cautions; who authorises it" in capsys.readouterr().out
