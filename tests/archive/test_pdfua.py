"""Every sheet is tagged: each rule of ISO 14289-1 that can be checked by machine, and that the rules can fail."""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pdfua
import pikepdf
import pytest
from archive.conftest import EXAMPLES, JOBS, example
from archive.pdfua_rules import structure_violations
from pikepdf import Array, Dictionary, Name

from certgen.cli import main
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions
from certgen.pipeline import assess_job
from certgen.sheet.charts.alternative import in_words
from certgen.sheet.charts.load_charts import load_chart, torque_chart
from certgen.sheet.content import Content

pytestmark = pytest.mark.slow

FULL = "three_phase_full_plate"


@cache
def with_record() -> bytes:
    """The certificate with everything measured, its record behind it."""
    from certgen.issuing.certificate import draw_assessed
    from certgen.issuing.layouts import SheetOptions

    return draw_assessed(assess_job(EXAMPLES / FULL / "job.yaml"), SheetOptions(record=True)).document


def broken(document: bytes) -> list[str]:
    with pikepdf.open(io.BytesIO(document)) as file:
        return structure_violations(file)


def elements(document: bytes, kind: str) -> list[pikepdf.Object]:
    with pikepdf.open(io.BytesIO(document)) as file:
        found = [one for one in file.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == f"/{kind}"]
        return [Dictionary(Alt=one.get("/Alt", "")) for one in found]


@pytest.mark.parametrize("job", JOBS)
def test_every_certificate_is_tagged_by_the_rules(job: str) -> None:
    assert broken(example(job)) == []


def test_a_record_of_many_pages_is_too() -> None:
    document = with_record()
    assert broken(document) == []
    with pikepdf.open(io.BytesIO(document)) as file:
        assert len(file.pages) > 3


@pytest.mark.parametrize("job", [FULL, "inspected_motor", "unsafe_as_found"])
def test_a_second_reader_finds_nothing(job: str, tmp_path: Path) -> None:
    """pdfua, written by others, knows 16 of the 106 rules of ISO 14289-1 that a machine can check."""
    path = tmp_path / "page.pdf"
    path.write_bytes(draw_job(EXAMPLES / job / "job.yaml", SheetOptions(record=True)).document)
    assert [(one.rule_id, one.message) for one in pdfua.validate(path).findings] == []
    with pikepdf.open(path) as file:
        del file.Root.StructTreeRoot
        file.save(tmp_path / "untagged.pdf")
    assert pdfua.validate(tmp_path / "untagged.pdf").findings


@pytest.mark.parametrize(
    "asked",
    [
        ["issue", str(EXAMPLES / FULL / "job.yaml"), "--sheet", "tag"],
        ["plan", str(EXAMPLES / FULL / "job.yaml")],
        ["summary", str(EXAMPLES / FULL / "job.yaml"), str(EXAMPLES / "one_point_test" / "job.yaml")],
    ],
    ids=lambda asked: asked[0] + asked[-1][-8:],
)
def test_the_other_sheets_are_too(tmp_path: Path, asked: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*asked, "--out", str(tmp_path / "sheet.pdf")]) == 0
    assert broken((tmp_path / "sheet.pdf").read_bytes()) == []


def _first(file: pikepdf.Pdf, kind: str) -> pikepdf.Object:
    return next(one for one in file.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == f"/{kind}")


def _set(holder: pikepdf.Object, key: str, value: object) -> None:
    holder[key] = value


def _content(file: pikepdf.Pdf, old: bytes, new: bytes) -> None:
    page = file.pages[0].obj
    content = page.Contents.read_bytes()
    assert old in content
    page.Contents = file.make_stream(content.replace(old, new, 1))


def _metadata(file: pikepdf.Pdf, old: bytes) -> None:
    packet = file.Root.Metadata.read_bytes()
    assert old in packet
    file.Root.Metadata.write(packet.replace(old, b""))


BROKEN: dict[str, Callable[[pikepdf.Pdf], None]] = {
    "UA 5-1": lambda file: _metadata(file, b"<pdfuaid:part>1</pdfuaid:part>"),
    "UA 6.2-1": lambda file: _set(file.Root.MarkInfo, "/Marked", False),
    "UA 7.1-1": lambda file: _content(file, b"BDC", b"BDC /Artifact BMC"),
    "UA 7.1-3": lambda file: _content(file, b"/Artifact BMC", b""),
    "UA 7.1-5": lambda file: _set(_first(file, "LBody"), "/S", Name.Wrong),
    "UA 7.1-6": lambda file: _set(file.Root.MarkInfo, "/Suspects", True),
    "UA 7.1-9": lambda file: _metadata(file, b"<dc:title><rdf:Alt>"),
    "UA 7.1-10": lambda file: file.Root.__delitem__("/ViewerPreferences"),
    "UA 7.1: pieces": lambda file: file.pages[0].obj.__delitem__("/StructParents"),
    "UA 7.1: piece 0": lambda file: _set(file.Root.StructTreeRoot.ParentTree.Nums[1], 0, _first(file, "TD")),
    "UA 7.2-33": lambda file: file.Root.__delitem__("/Lang"),
    "UA 7.2-42": lambda file: _set(_first(file, "TR"), "/K", Array([_first(file, "TD")])),
    "UA 7.3-1": lambda file: _first(file, "Figure").__delitem__("/Alt"),
    "UA 7.4.2-1: the first": lambda file: _set(_first(file, "H1"), "/S", Name.H2),
    "UA 7.5-1": lambda file: _first(file, "TH").__delitem__("/A"),
    "UA 7.18": lambda file: _set(file.pages[0].obj, "/Annots", Array([])),
}


@pytest.mark.parametrize("clause", BROKEN)
def test_each_rule_notices_what_it_is_for(clause: str) -> None:
    target = io.BytesIO()
    with pikepdf.open(io.BytesIO(example(FULL))) as file:
        BROKEN[clause](file)
        file.save(target, static_id=True, fix_metadata_version=False)
    found = broken(target.getvalue())
    assert any(one.startswith(clause) for one in found), found


def test_headings_name_the_sheet_the_motor_and_its_parts(tmp_path: Path) -> None:
    told = _spoken(with_record(), tmp_path)
    headings = re.findall(r'^ *(H[12]) \(block\)\n *"(.+?) ?"$', told, re.MULTILINE)
    assert headings[:3] == [
        ("H1", "Brake-test certificate"),
        ("H2", "1.5 kW three-phase motor, 4 poles, 400 V, 1430 rpm"),
        ("H2", "Checks"),
    ]
    assert ("H1", "Test record") in headings
    for title in ("Load points", "Losses", "Heat run", "Conditions and method", "Cautions"):
        assert ("H2", title) in headings


def test_words_do_not_run_together_where_a_reader_follows_the_structure(tmp_path: Path) -> None:
    """By poppler's reader of the structure, which puts the texts of an element together as they come."""
    told = _spoken(with_record(), tmp_path)
    for wanted in ("Power 1.5 kW set", "Torque 10.03 N·m ± 0.01", "Meets its nameplate: 5 of 5 checks."):
        assert wanted in told, wanted
    assert re.findall(r"\d(?:kW|rpm|N·m)\b|[a-z]\.[A-Z]", told) == []


def _spoken(document: bytes, folder: Path) -> str:
    (folder / "sheet.pdf").write_bytes(document)
    command = ["pdfinfo", "-struct-text", str(folder / "sheet.pdf")]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def test_a_chart_in_words_has_its_points_its_plate_and_its_limits() -> None:
    """The figures of the alternative text are those of the results, to four digits."""
    results = assess_job(EXAMPLES / FULL / "job.yaml").results
    content = Content(results)
    told = in_words(torque_chart(content), content.words)
    for point in results.points:
        assert point.speed is not None
        assert point.torque is not None
        spot = f"({point.speed.value * 30 / 3.141592653589793:.4g}, {point.torque.value:.4g})"
        assert spot in told, spot
    assert "plate 10.0 N·m at 1430 rpm at (1430, 10.02)" in told
    over = in_words(load_chart(content), content.words)
    for wanted in ("Current, A over Shaft power, kW", "limit at most 3.674", "Efficiency, %", "limit at least 79.88"):
        assert wanted in over, wanted
    alts = [str(one.Alt) for one in elements(example(FULL), "Figure")]
    assert told in alts
    assert over in alts
    assert any(alt.startswith("QR code with this text: certgen tag 2") for alt in alts)
