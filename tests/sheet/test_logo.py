"""A shop's logo: what is taken, what is refused, and where it stands."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import pytest
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
from certgen.sheet.pdf.logo import MOST_BYTES, LogoRefused, read_logo

pytestmark = pytest.mark.slow


def png(size: tuple[int, int] = (60, 20), colour: object = (200, 30, 30, 255), mode: str = "RGBA") -> bytes:
    paper = io.BytesIO()
    Image.new(mode, size, colour).save(paper, "PNG")  # type: ignore[arg-type]
    return paper.getvalue()


def chunk(name: bytes, data: bytes) -> bytes:
    """A chunk of a PNG. Source: ISO/IEC 15948:2004, 5.3."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def bomb(width: int, height: int) -> bytes:
    """A small file that claims a large picture."""
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("mode", "colour"), [("RGBA", (200, 30, 30, 255)), ("L", 80), ("P", 3), ("1", 0), ("LA", (9, 99))]
)
def test_every_kind_of_png_becomes_red_green_and_blue(mode: str, colour: object) -> None:
    logo = read_logo(png((60, 20), colour, mode))
    assert (logo.width, logo.height, len(logo.pixels)) == (60, 20, 60 * 20 * 3)
    assert logo.ratio == 3.0


def test_transparent_parts_are_white() -> None:
    assert set(read_logo(png(colour=(0, 0, 0, 0))).pixels) == {255}


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"GIF89a" + b"\0" * 100, "this is neither a PNG picture nor an SVG drawing"),
        (b"", "this is neither a PNG picture nor an SVG drawing"),
        (b"\x89PNG\r\n\x1a\n", "the picture is damaged at its beginning"),
        (png()[:60], "the picture is damaged"),
        (bomb(60_000, 60_000), "the picture has 60000 by 60000 pixels"),
        (bomb(2900, 2900), "the picture has 2900 by 2900 pixels"),
        (bomb(1000, 10), "the picture has 1000 by 10 pixels, too narrow a strip"),
        (bomb(1500, 1500), "the picture is damaged"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * MOST_BYTES, "the file is larger than 512 kB"),
    ],
)  # fmt: skip
def test_what_is_no_logo_is_refused_in_words(data: bytes, what: str) -> None:
    with pytest.raises(LogoRefused) as refused:
        read_logo(data)
    assert refused.value.what == what
    assert refused.value.instead


@settings(max_examples=150, deadline=None)
@given(place=st.integers(8, 120), byte=st.integers(0, 255), cut=st.integers(0, 40))
def test_a_damaged_file_is_taken_or_refused_and_nothing_else(place: int, byte: int, cut: int) -> None:
    data = bytearray(png((17, 9)))
    data[place % len(data)] = byte
    try:
        assert read_logo(bytes(data[: len(data) - cut])).pixels
    except LogoRefused as refused:
        assert str(refused)  # noqa: PT017 - either is right


@pytest.mark.parametrize("size", [(60, 20), (400, 40), (20, 60)])
def test_logo_stands_in_the_heading_in_its_proportions(certificate_layout: Layout, size: tuple[int, int]) -> None:
    logo = read_logo(png(size))
    page = compose(make_results(), certificate_layout, paper="a4", units="si", logo=logo)
    assert_sound(page, certificate_layout)
    (mark,) = [mark for mark in page.boxes[0].setting.marks if isinstance(mark, PictureMark)]
    assert mark.width / mark.height == pytest.approx(size[0] / size[1])
    document = draw(page, about(make_results(), certificate_layout))
    (image,) = PdfReader(io.BytesIO(document)).pages[0].images
    assert image.image is not None
    assert image.image.convert("RGB").getpixel((0, 0)) == (200, 30, 30)
    assert document == draw(page, about(make_results(), certificate_layout))


def test_a_job_names_its_logo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bench = Bench(tmp_path)
    job = bench.write()
    job.write_text(job.read_text() + "\nsheet: {logo: logo.png}\n")
    out = tmp_path / "sheet.pdf"
    assert main(["issue", str(job), "--out", str(out)]) == 2
    assert "sheet.logo: 'logo.png' does not exist" in capsys.readouterr().err
    (job.parent / "logo.png").write_bytes(b"a picture?")
    assert main(["issue", str(job), "--out", str(out)]) == 2
    assert (
        "logo.png: sheet.logo: this is neither a PNG picture nor an SVG drawing; save the logo as a PNG"
        in capsys.readouterr().err
    )
    assert not out.exists()
    (job.parent / "logo.png").write_bytes(png())
    assert main(["issue", str(job), "--out", str(out)]) == 0
    assert len(PdfReader(out).pages[0].images) == 1
