"""Fonts of the shop's own: what they show is printed, what may not be embedded is refused, and the file never travels."""

from __future__ import annotations

import io
import struct
import subprocess
from pathlib import Path

import pytest
from archive.pdfa_rules import violations
from bench import ARM_RIG, JOB
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from certgen.cli import main
from certgen.sheet.pdf.fonts import BOLD, REGULAR, runs, shown_with, width
from certgen.sheet.pdf.shop_fonts import FontRefused, read_font

pytestmark = pytest.mark.slow

SIGNS = "田中電機"


def made_font(signs: str = SIGNS, *, rights: int = 0, bold: bool = False) -> bytes:
    """A small TrueType font that shows these signs as squares."""
    names = [".notdef", "space", *(f"uni{ord(sign):04X}" for sign in signs)]
    pen = TTGlyphPen(None)
    pen.moveTo((100, 0))
    for corner in ((100, 800), (900, 800), (900, 0)):
        pen.lineTo(corner)
    pen.closePath()
    square, blank = pen.glyph(), TTGlyphPen(None).glyph()
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({32: "space", **dict(zip(map(ord, signs), names[2:], strict=True))})
    builder.setupGlyf({name: blank if name == "space" else square for name in names})
    builder.setupHorizontalMetrics(dict.fromkeys(names, (1000, 100)))
    builder.setupHorizontalHeader(ascent=880, descent=-120)
    builder.setupNameTable({"familyName": "Squares", "styleName": "Regular", "psName": "Squares-Regular"})
    builder.setupOS2(fsType=rights, fsSelection=0x20 if bold else 0x40, sTypoAscender=880, sTypoDescender=-120)
    builder.setupPost()
    stream = io.BytesIO()
    builder.save(stream)
    return stream.getvalue()


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job whose tester has a Chinese name, and a shop file that names a font."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "motor").mkdir()
    (tmp_path / "fonts").mkdir()
    (tmp_path / "motor" / "rig.yaml").write_text(ARM_RIG, encoding="utf-8")
    (tmp_path / "fonts" / "squares.ttf").write_bytes(made_font())
    (tmp_path / "shop.yaml").write_text("name: Harrow Bench\nfonts: [fonts/squares.ttf]\n", encoding="utf-8")
    text = JOB.replace("../rigs/rig.yaml", "rig.yaml").replace("R. Tanner", "田中 R.")
    assert "田中" in text
    path = tmp_path / "motor" / "job.yaml"
    path.write_text(f"shop: ../shop.yaml\n{text}", encoding="utf-8")
    return path


def told(capsys: pytest.CaptureFixture[str], *command: str, status: int) -> str:
    capsys.readouterr()
    assert main(list(command)) == status
    heard = capsys.readouterr()
    return heard.out + heard.err


def test_a_page_shows_what_the_font_of_the_shop_has(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told(capsys, "check", str(job), status=0)
    told(capsys, "issue", str(job), "--out", "page.pdf", "--record", status=0)
    data = Path("page.pdf").read_bytes()
    pages = PdfReader(io.BytesIO(data)).pages
    assert "田中 R." in " ".join(" ".join(page.extract_text() for page in pages).split())
    assert violations(data) == []
    told(capsys, "issue", str(job), "--draft", "--out", "draft.pdf", status=0)
    assert "田中" in PdfReader("draft.pdf").pages[0].extract_text()
    fonts = {str(font["/BaseFont"]) for page in pages for font in map(as_object, page["/Resources"]["/Font"].values())}
    assert any(name.endswith("+Squares-Regular") for name in fonts)
    embedded = subprocess.run(["pdffonts", "page.pdf"], capture_output=True, text=True, check=True).stdout
    (line,) = [line for line in embedded.splitlines() if "Squares" in line]
    assert line.split()[-5:-2] == ["yes", "yes", "yes"]  # embedded, a subset, read back as characters


def test_a_list_of_motors_is_set_in_the_same_fonts(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = job.read_text(encoding="utf-8").replace("  serial: 0048117", "  serial: 0048117\n  maker: 電機")
    job.write_text(text, encoding="utf-8")
    told(capsys, "summary", str(job), "--out", "list.pdf", status=0)
    assert "電機" in "".join(page.extract_text() for page in PdfReader("list.pdf").pages)
    Path("shop.yaml").write_text("name: Harrow Bench\n", encoding="utf-8")
    assert "no font of the page shows '電' (U+96FB)" in told(capsys, "summary", str(job), "--out", "list.pdf", status=2)


def test_what_the_register_finds_is_set_in_the_fonts_of_a_shop_file(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = job.read_text(encoding="utf-8").replace("  serial: 0048117", "  serial: 0048117\n  maker: 電機")
    job.write_text(text, encoding="utf-8")
    Path("kept").mkdir()
    told(capsys, "issue", str(job), "--archive", "kept", status=0)
    listed = ["register", "list", "--archive", "kept", "--pdf", "list.pdf"]
    assert "no font of the page shows '電' (U+96FB)" in told(capsys, *listed, status=2)
    told(capsys, *listed, "--shop", "shop.yaml", status=0)
    assert "電機" in "".join(page.extract_text() for page in PdfReader("list.pdf").pages)


def as_object(reference: object) -> dict[str, object]:
    return reference.get_object()  # type: ignore[attr-defined, no-any-return]


def test_the_file_does_not_travel_and_who_has_it_draws_the_page_again(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told(capsys, "issue", str(job), "--out", "page.pdf", status=0)
    told(capsys, "verify", "page.pdf", "--extract", "taken", status=1)
    assert [path.name for path in Path("taken").rglob("*.ttf")] == []
    without = told(capsys, "verify", "page.pdf", status=1)
    assert without.startswith("page.pdf: whole, but not drawn again, WS-2026-007")
    assert "fonts: '../fonts/squares.ttf' does not exist" in without
    assert "NOT SOUND" not in without
    keys = "signing_keys: ['" + 64 * "0" + "']\n"
    shop = Path("shop.yaml")
    shop.write_text(shop.read_text(encoding="utf-8") + keys, encoding="utf-8")
    lent = told(capsys, "verify", "page.pdf", "--shop", "shop.yaml", status=1)  # it bears no signature
    assert "yes  page" in lent.lower()


@pytest.mark.parametrize(
    ("font", "what"),
    [
        (made_font(rights=0x0002), "may not be embedded, by its own statement (fsType)"),
        (made_font(rights=0x0104), "may only be embedded whole"),
        (made_font(rights=0x0204), "may only be embedded as bitmaps"),
        (b"OTTO" + made_font()[4:], "has PostScript outlines"),
        (b"ttcf" + made_font()[4:], "holds several fonts"),
        (b"%PDF-1.7", "is no TrueType font"),
        (made_font()[:600], "is cut short or damaged"),
    ],
)
def test_a_font_that_cannot_be_used_says_why(
    job: Path, font: bytes, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("fonts/squares.ttf").write_bytes(font)
    said = told(capsys, "issue", str(job), "--out", "page.pdf", status=2)
    assert f"motor/job.yaml:1:7: fonts: '../fonts/squares.ttf' {what}" in said
    assert not Path("page.pdf").exists()
    assert f"shop.yaml:2:9: fonts: 'fonts/squares.ttf' {what}" in told(capsys, "check", "shop.yaml", status=2)


@pytest.mark.parametrize("rights", [0x0000, 0x0004, 0x0008, 0x000A])
def test_rights_to_read_or_edit_are_enough(rights: int) -> None:
    """OpenType, OS/2 fsType: of several rights in an old font the least restrictive holds."""
    assert read_font(made_font(rights=rights)).bold is False


def test_a_font_with_one_segment_over_another_is_refused() -> None:
    """Each segment lists its characters: thousands over each other would fill the memory."""
    font = TTFont(io.BytesIO(made_font()))
    data = bytearray(made_font())
    at = font.reader.tables["cmap"].offset
    subtable = at + struct.unpack_from(">L", data, at + 8)[0]
    count = struct.unpack_from(">H", data, subtable + 6)[0] // 2
    struct.pack_into(">H", data, subtable + 14 + 2, 0x0020)
    assert count > 1
    with pytest.raises(FontRefused, match="damaged table of characters"):
        read_font(bytes(data))


def test_a_bold_text_takes_the_bold_font() -> None:
    plain, bold = read_font(made_font()), read_font(made_font(bold=True))
    usual = width(SIGNS, REGULAR, 10.0)
    with shown_with((plain, bold)):
        assert [run.font for run in runs("田", REGULAR)] == [plain.font.fontName]
        assert [run.font for run in runs("田", BOLD)] == [bold.font.fontName]
        assert width(SIGNS, REGULAR, 10.0) == pytest.approx(40.0)
    assert width(SIGNS, REGULAR, 10.0) == usual


def test_a_joined_script_is_refused_whatever_font_has_it(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("fonts/squares.ttf").write_bytes(made_font("田中मोट"))
    job.write_text(job.read_text(encoding="utf-8").replace("田中", "मोट"), encoding="utf-8")
    said = told(capsys, "check", str(job), status=2)
    assert "certificate.tested_by: the page cannot set 'म' (U+092E)" in said
    assert "whose script is joined or runs from right to left" in said


def test_a_remark_in_a_table_and_a_name_of_a_file_are_looked_at(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = job.read_text(encoding="utf-8").replace("田中", "T.")
    begun = text.replace("input_power: W}", "input_power: W, remark: text}").replace("1850]", "1850, モ warm]")
    job.write_text(begun.replace("160]", "160, '']").replace("1030]", "1030, '']"), encoding="utf-8")
    for command in (["check", str(job)], ["issue", str(job), "--out", "page.pdf"]):
        said = told(capsys, *command, status=2)
        assert "remark of load point 3: no font of the page shows 'モ' (U+30E2)" in said
    Path("モ.yaml").write_text(ARM_RIG, encoding="utf-8")
    job.write_text(text.replace("rig: rig.yaml", "rig: ../モ.yaml"), encoding="utf-8")
    said = told(capsys, "issue", str(job), "--record", "--out", "page.pdf", status=2)
    assert "on the page: no font of the page shows 'モ' (U+30E2)" in said
    assert not Path("page.pdf").exists()
