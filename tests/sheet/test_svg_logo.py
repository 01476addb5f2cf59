"""A logo as an SVG drawing: shapes come out where they stand, and nothing else gets in."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from archive.pdfa_rules import violations
from bench import Bench
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader
from sheet.geometry import assert_sound
from sheet.results_factory import make_results

from certgen.cli import main
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import PictureMark
from certgen.sheet.pdf.draw import about, draw
from certgen.sheet.pdf.logo import DrawnLogo, LogoRefused, read_logo

pytestmark = pytest.mark.slow

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 120 40">'
SQUARE = '<rect width="10" height="10"/>'


def svg(inside: str = SQUARE) -> bytes:
    return f"{HEAD}{inside}</svg>".encode()


#: Shapes of every kind: a red square on the left, a blue disc in the middle, a ring of even-odd paths on the right.
SHAPES = svg(
    "<style>.a{fill:#c01010;stroke:none}</style><title>Ours</title><metadata/>"
    '<g transform="translate(4,4)"><rect class="a" width="32" height="32" rx="4"/></g>'
    '<circle cx="60" cy="20" r="14" fill="#1010c0"/>'
    '<path d="M80 4 H116 V36 H80 Z M88 12 H108 V28 H88 Z" fill-rule="evenodd" fill="#106010"/>'
    '<ellipse cx="60" cy="20" rx="4" ry="3" fill="white"/><line x1="0" y1="39" x2="120" y2="39" stroke="#000"/>'
    '<polyline points="0,0 4,0 4,1" fill="none" stroke="#000" stroke-dasharray="1 1"/><polygon points="0,0 1,0 0,1"/>'
)


def test_shapes_stand_where_the_drawing_puts_them(certificate_layout: Layout) -> None:
    logo = read_logo(SHAPES)
    assert isinstance(logo, DrawnLogo)
    assert logo.ratio == pytest.approx(3.0)
    page = compose(make_results(), certificate_layout, paper="a4", units="si", logo=logo)
    assert_sound(page, certificate_layout)
    (mark,) = [mark for mark in page.boxes[0].setting.marks if isinstance(mark, PictureMark)]
    assert mark.width / mark.height == pytest.approx(3.0)
    document = draw(page, about(make_results(), certificate_layout))
    assert document == draw(page, about(make_results(), certificate_layout))
    assert violations(document) == []
    dpi = 300
    printed = subprocess.run(["pdftoppm", "-r", str(dpi), "-"], input=document, capture_output=True, check=True).stdout
    picture = np.asarray(Image.open(io.BytesIO(printed)).convert("RGB"))
    box = page.boxes[0]

    def at(x: float, y: float) -> list[int]:
        across = (box.x + mark.x + x / 120.0 * mark.width) * dpi / 72.0
        down = (box.y + mark.y + y / 40.0 * mark.height) * dpi / 72.0
        return [int(one) for one in picture[int(down), int(across)]]

    assert at(20, 20) == [0xC0, 0x10, 0x10]
    assert at(50, 20) == [0x10, 0x10, 0xC0]
    assert at(60, 20) == [255, 255, 255]
    assert at(84, 20) == [0x10, 0x60, 0x10]
    assert at(98, 20) == [255, 255, 255]
    assert at(78, 20) == [255, 255, 255]


def test_nothing_is_drawn_beyond_the_drawing(certificate_layout: Layout) -> None:
    logo = read_logo(svg('<rect x="-50" y="-50" width="4000" height="4000"/>'))
    page = compose(make_results(), certificate_layout, paper="a4", units="si", logo=logo)
    document = draw(page, about(make_results(), certificate_layout))
    command = ["pdftoppm", "-r", "40", "-gray", "-"]
    printed = subprocess.run(command, input=document, capture_output=True, check=True).stdout
    assert (np.asarray(Image.open(io.BytesIO(printed))) < 50).mean() < 0.05


BOMB = '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (BOMB.encode() + svg("<desc>&b;</desc>" + SQUARE), "document type"),
        (b'<!DOCTYPE svg SYSTEM "file:///etc/passwd">' + svg(), "document type"),
        (svg('<image href="http://example.invalid/a.png" width="9" height="9"/>'), "<image>"),
        (svg("<script>alert(1)</script>"), "<script>"),
        (svg("<foreignObject/>"), "<foreignObject>"),
        (svg("<text>Ours</text>"), "<text>"),
        (svg('<use href="#a"/>'), "<use>"),
        (svg('<a href="#x"><rect width="9" height="9"/></a>'), "<a>"),
        (svg('<rect width="9" height="9" onclick="x()"/>'), "onclick"),
        (svg('<rect width="9" height="9" xlink:href="file:///etc/passwd"/>'), "href"),
        (svg('<style>@import "a.css";</style>' + SQUARE), "begins with @"),
        (svg('<style>rect{fill:url("http://example.invalid")}</style>' + SQUARE), "references"),
        (svg(r"<style>rect{fill:\75rl(x)}</style>" + SQUARE), "references, escapes"),
        (svg('<rect width="9" height="9" fill="URL(#a)"/>'), "references"),
        (svg('<rect width="9" height="9" style="mask: url(#a)"/>'), "references"),
        (svg('<rect width="9" height="9" mask="x"/>'), "cuts out"),
        (svg('<g style="mix-blend-mode:multiply"><rect width="9" height="9"/></g>'), "cuts out"),
        (svg('<rect width="9" height="9" opacity="0.5"/>'), "transparent"),
        (svg('<rect width="9" height="9" style="fill-opacity:.2"/>'), "transparent"),
        (svg('<rect width="9" height="9" fill="rgba(1,2,3,0.5)"/>'), "transparent"),
        (svg(SQUARE * 3001), "more than 3000 parts"),
        (svg("<g>" * 41 + SQUARE + "</g>" * 41), "40 within one another"),
        (svg('<rect width="1e9" height="9"/>'), "far beyond"),
        (svg(""), "shows nothing"),
        (svg().replace(b"120 40", b"1200 4"), "too narrow"),
        (svg()[:-9], "well-formed"),
        (b"<svg/>", "vocabulary of SVG"),
        (b"<svg" + b" " * 512_000, "larger than"),
    ],
)  # fmt: skip
def test_what_is_not_plain_shapes_is_refused_in_words(data: bytes, what: str) -> None:
    with pytest.raises(LogoRefused) as refused:
        read_logo(data)
    assert what in refused.value.what
    assert refused.value.instead


@settings(max_examples=100, deadline=None)
@given(place=st.integers(0, len(SHAPES) - 1), byte=st.integers(0, 255), cut=st.integers(0, 40))
def test_a_damaged_drawing_is_taken_or_refused_and_nothing_else(place: int, byte: int, cut: int) -> None:
    data = bytearray(SHAPES)
    data[place] = byte
    try:
        logo = read_logo(bytes(data[: len(data) - cut]))
        assert logo.ratio > 0
    except LogoRefused as refused:
        assert str(refused)  # noqa: PT017 - either is right


def test_without_the_extra_the_way_to_it_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "svglib.svglib", None)
    with pytest.raises(LogoRefused, match=r"pip install 'certgen\[logo\]'"):
        read_logo(SHAPES)


def test_a_job_names_its_drawing_and_the_page_carries_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bench = Bench(tmp_path)
    job = bench.write()
    job.write_text(job.read_text() + "\nsheet: {logo: logo.svg}\n")
    (job.parent / "logo.svg").write_bytes(svg("<script/>"))
    out = tmp_path / "sheet.pdf"
    assert main(["issue", str(job), "--out", str(out)]) == 2
    assert "logo.svg: sheet.logo: the drawing holds <script>, which a logo may not; save" in capsys.readouterr().err
    (job.parent / "logo.svg").write_bytes(SHAPES)
    assert main(["issue", str(job), "--out", str(out)]) == 0
    reader = PdfReader(out)
    assert len(reader.pages[0].images) == 0
    assert any(name.endswith("logo.svg") for name in reader.attachments)
