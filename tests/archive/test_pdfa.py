"""Every page is PDF/A, part 3, level A: rule by rule, and the rules themselves can fail."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from archive.conftest import JOBS, example
from archive.pdfa_bytes import stream_spacing
from archive.pdfa_rules import violations
from pikepdf import Array, Dictionary, Name

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("job", JOBS)
def test_every_example_is_pdfa_3a(job: str) -> None:
    document = example(job)
    assert violations(document) == []
    assert stream_spacing(document) == []


@pytest.mark.parametrize(("paper", "units"), [("letter", "us"), ("a4", "both")])
def test_other_papers_and_units_too(paper: str, units: str) -> None:
    document = example("three_phase_full_plate", paper=paper, units=units)
    assert violations(document) == []
    assert stream_spacing(document) == []


def _font(file: pikepdf.Pdf) -> pikepdf.Object:
    return next(font for _, font in file.pages[0].obj.Resources.Font.items())


def _specification(file: pikepdf.Pdf) -> pikepdf.Object:
    return file.Root.AF[0]


def _set(holder: pikepdf.Object, key: str, value: object) -> None:
    holder[key] = value


def _metadata(file: pikepdf.Pdf, old: bytes, new: bytes) -> None:
    packet = file.Root.Metadata.read_bytes()
    assert old in packet
    file.Root.Metadata.write(packet.replace(old, new))


def _content(file: pikepdf.Pdf, more: bytes) -> None:
    page = file.pages[0].obj
    page.Contents = file.make_stream(page.Contents.read_bytes() + more)


BROKEN: dict[str, Callable[[pikepdf.Pdf], None]] = {
    "6.2.3:": lambda file: file.Root.__delitem__("/OutputIntents"),
    "6.2.3-1": lambda file: file.Root.OutputIntents[0].DestOutputProfile.write(bytes(200)),
    "6.2.3-3": lambda file: _set(file.Root.OutputIntents[0], "/DestOutputProfileRef", Dictionary()),
    "6.2.2-1": lambda file: _content(file, b"\nxyz\n"),
    "6.2.4.3": lambda file: _content(file, b"\n0 0 0 1 k\n"),
    "6.1.13-8": lambda file: _content(file, b"\n" + b"q " * 30 + b"Q " * 30),
    "6.2.4, 6.2.5": lambda file: _set(file.pages[0].obj.Resources, "/ExtGState", Dictionary(A=Dictionary(ca=0.5))),
    "6.2.11.2-3": lambda file: _font(file).__delitem__("/BaseFont"),
    "6.2.11.2-6": lambda file: _font(file).Widths.append(1),
    "6.2.11.4-1": lambda file: _font(file).FontDescriptor.__delitem__("/FontFile2"),
    "6.2.11.4-2": lambda file: _content(file, b"\nBT /F1+0 9 Tf <FE> Tj ET\n"),
    "6.2.11.5-1": lambda file: _set(_font(file), "/Widths", Array([7] * len(_font(file).Widths))),
    "6.2.11.6-3": lambda file: _set(_font(file), "/Encoding", Name.WinAnsiEncoding),
    "6.3.1-1": lambda file: _set(file.pages[0].obj, "/Annots", Array([Dictionary(
        Type=Name.Annot, Subtype=Name.Link, Rect=[0, 0, 9, 9])])),
    "6.3.2": lambda file: _set(file.pages[0].obj, "/Annots", Array([Dictionary(
        Type=Name.Annot, Subtype=Name.Stamp, F=2, Rect=[0, 0, 0, 0])])),
    "6.4.1-3": lambda file: _set(file.Root, "/AcroForm", Dictionary(Fields=[], NeedAppearances=True)),
    "6.5.1-1": lambda file: _set(file.pages[0].obj, "/Extra", file.make_indirect(Dictionary(Type=Name.Action))),
    "6.5.2-1": lambda file: _set(file.Root, "/AA", Dictionary()),
    "6.5.2-2": lambda file: _set(file.pages[0].obj, "/AA", Dictionary()),
    "6.6.2.1-1": lambda file: file.Root.__delitem__("/Metadata"),
    "6.6.2.1-4": lambda file: _metadata(file, b"</rdf:RDF>", b""),
    "6.6.2.3-7": lambda file: _metadata(file, b"<dc:format>", b'<o:x xmlns:o="urn:o">1</o:x><dc:format>'),
    "6.6.3": lambda file: _set(file.docinfo, "/Title", "Another title"),
    "6.6.4-1": lambda file: _metadata(file, b"<pdfaid:part>3<", b"<pdfaid:part>2<"),
    "6.8-1": lambda file: _specification(file).EF.F.__delitem__("/Subtype"),
    "6.8-2": lambda file: _specification(file).__delitem__("/UF"),
    "6.8-3": lambda file: _specification(file).__delitem__("/AFRelationship"),
    "6.8 (from memory)": lambda file: file.Root.__delitem__("/AF"),
    "6.9": lambda file: _set(file.Root, "/OCProperties", Dictionary()),
    "6.10-1": lambda file: _set(file.Root.Names, "/AlternatePresentations", Dictionary()),
    "6.11-1": lambda file: _set(file.Root, "/Requirements", Array()),
    "6.1.7-3": lambda file: _set(file.Root.Metadata, "/F", "elsewhere"),
    "6.1.13-1": lambda file: _set(file.Root, "/Large", 2147483648),
    "6.1.13-3": lambda file: _set(file.Root, "/Long", pikepdf.String("x" * 33000)),
    "6.1.13-4": lambda file: _set(file.Root, "/" + "N" * 130, 1),
    "6.1.13-11": lambda file: _set(file.pages[0].obj, "/MediaBox", Array([0, 0, 20000, 20000])),
}  # fmt: skip


@pytest.mark.parametrize("clause", BROKEN)
def test_each_rule_notices_what_it_is_for(certificate: bytes, clause: str) -> None:
    """The checks are worth something only if a file that breaks a rule does not get through."""
    target = io.BytesIO()
    with pikepdf.open(io.BytesIO(certificate)) as file:
        BROKEN[clause](file)
        file.save(target, static_id=True, fix_metadata_version=False)
    assert any(found.startswith(clause) for found in violations(target.getvalue())), violations(target.getvalue())


@pytest.mark.parametrize(
    ("clause", "old", "new"),
    [
        ("6.1.2-1", b"%PDF-1.7\n", b"%PDF-1.9\n"),
        ("6.1.2-2", b"\xe2\xe3\xcf\xd3", b"\xe2\xe3\xcf."),
        ("6.1.3-3", b"%%EOF\n", b"%%EOF\n\n\n"),
        ("6.1.4-2", b"\nxref\n0", b"\nxref 0"),
        ("6.1.9-1", b"\n2 0 obj\n<<", b"\n2 0 obj <<"),
    ],
)
def test_rules_about_bytes_notice_too(certificate: bytes, clause: str, old: bytes, new: bytes) -> None:
    assert certificate.count(old) == 1
    assert any(found.startswith(clause) for found in violations(certificate.replace(old, new)))


def test_a_stream_without_its_end_of_line_is_noticed(certificate: bytes) -> None:
    assert stream_spacing(certificate.replace(b"\nendstream", b"endstream"))


TOOLS = [
    ["qpdf", "--check"],
    ["mutool", "draw", "-q", "-o", "page.png"],
    ["mutool", "info"],
    ["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=nullpage"],
    ["pdftoppm", "-r", "30", "-png"],
]


@pytest.mark.parametrize("tool", TOOLS, ids=lambda tool: " ".join(tool[:2]))
def test_independent_readers_read_it_without_a_warning(certificate: bytes, tmp_path: Path, tool: list[str]) -> None:
    if shutil.which(tool[0]) is None:
        assert "CERTGEN_NO_SKIP" not in os.environ, f"{tool[0]} is not installed"
        pytest.skip(f"{tool[0]} is not installed")
    (tmp_path / "page.pdf").write_bytes(certificate)
    arguments = [*tool, "page.pdf", *(["picture"] if tool[0] == "pdftoppm" else [])]
    done = subprocess.run(arguments, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0
    told = [line for line in done.stderr.splitlines() if line != "warning: ICC support is not available"]
    assert told == []  # that line is about how mutool was built, not about the file
    assert "WARNING" not in done.stdout


def test_enclosed_files_are_listed_by_an_independent_reader(certificate: bytes) -> None:
    with pikepdf.open(io.BytesIO(certificate)) as file:
        listed = {name: one.get_file() for name, one in file.attachments.items()}
        assert sorted(listed) == [
            "contents.json",
            "renewed_rotor/job.yaml",
            "renewed_rotor/load_test.csv",
            "results.json",
            "rigs/belt_drive_brake.yaml",
            "worn_rotor/job.yaml",
            "worn_rotor/load_test.csv",
        ]
        types = {name: (one.mime_type, str(file.attachments[name].relationship)) for name, one in listed.items()}
    assert types["renewed_rotor/job.yaml"] == ("application/yaml", "/Source")
    assert types["worn_rotor/load_test.csv"] == ("text/csv", "/Source")
    assert types["results.json"] == ("application/json", "/Data")
    assert types["contents.json"] == ("application/json", "/Supplement")
