"""The finished PDF: what it says, what it is made of, and how it prints."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream
from sheet.results_factory import make_results

from certgen.results.model import Results
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import PlacedPage, compose
from certgen.sheet.engine.setting import MM, TextMark
from certgen.sheet.pdf.draw import about, draw, render
from certgen.sheet.pdf.fonts import width

pytestmark = pytest.mark.slow

DRAWN = ("rg", "RG", "g", "G", "k", "K", "sc", "SC", "scn", "SCN")


def contrast(red: float, green: float, blue: float) -> float:
    """Contrast to white. WCAG 2.2, definitions 'relative luminance' and 'contrast ratio'."""
    parts = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in (red, green, blue)]
    return 1.05 / (0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2] + 0.05)


@pytest.fixture(scope="module")
def document(certificate_layout: Layout) -> bytes:
    return render(make_results(8, rich=True, flagged=True), certificate_layout, paper="a4", units="both")


@pytest.fixture(scope="module")
def page(document: bytes) -> Any:
    return PdfReader(io.BytesIO(document)).pages[0]


def operations(page: Any) -> list[tuple[list[Any], str]]:
    return [
        (operands, operator.decode()) for operands, operator in ContentStream(page.get_contents(), page.pdf).operations
    ]


@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_same_results_same_bytes(certificate_layout: Layout, paper: str, units: str) -> None:
    first, second = (render(make_results(8), certificate_layout, paper=paper, units=units) for _ in range(2))
    assert first == second


def test_bytes_do_not_depend_on_what_was_drawn_before(certificate_layout: Layout) -> None:
    first = render(make_results(8), certificate_layout, paper="a4", units="si")
    render(make_results(40, rich=True), certificate_layout, paper="letter", units="both")
    assert render(make_results(8), certificate_layout, paper="a4", units="si") == first


def test_other_results_other_bytes(certificate_layout: Layout) -> None:
    results = make_results(8)
    other = replace(results, certificate=replace(results.certificate, number="MR-2026-015"))
    assert render(results, certificate_layout, paper="a4", units="si") != render(
        other, certificate_layout, paper="a4", units="si"
    )


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_paper(certificate_layout: Layout, paper: str, size: tuple[float, float]) -> None:
    box = PdfReader(io.BytesIO(render(make_results(), certificate_layout, paper=paper, units="si"))).pages[0].mediabox
    assert (float(box.width) / MM, float(box.height) / MM) == pytest.approx(size, abs=0.01)


def test_certificate_and_record_carry_what_a_test_report_must(
    certificate_layout: Layout, record_layout: Layout
) -> None:
    """ISO/IEC 17025:2017, 7.8.2.1 a) to p), 7.8.3.1 and 7.8.6: the items of a test report, one by one."""
    results = make_results(8, rich=True, flagged=True)
    page = compose(results, certificate_layout, paper="a4", units="both", record=record_layout)
    pages = PdfReader(io.BytesIO(draw(page, about(results, certificate_layout)))).pages
    text = " ".join(" ".join(one.extract_text() for one in pages).split())
    for wanted in (
        "Brake-test certificate",  # a) title
        "Millrace Motor Bench",
        "4 Weir Street, Lower Aldbury",
        "bench@example.org",  # b), c) laboratory and place
        "MR-2026-014",
        f"Page 1 of {len(pages)}",
        f"Page {len(pages)} of {len(pages)}",
        "End of the record of MR-2026-014",  # d) unique identification, end of report
        "Weir Street Joinery",  # e) customer
        "Torque by a lever of 0.5 m on a scale",  # f) method
        "Foot-mounted, fan-cooled, from an infeed conveyor",
        "0048117",
        "used, repainted",  # g) item and condition
        "2026-03-14",  # i) date of the test
        "These results are of this one motor, as tested.",
        "Not to be copied except in full.",  # l), 7.8.2.1 note 2
        "N·m",
        "lbf·ft",
        "kW",
        "rpm",  # m) results with units
        "Bearings renewed before the test.",  # n) deviations
        "Tested and authorised by R. Tanner",  # o) who authorises
        "ambient 21.0 °C (69.8 °F)",  # 7.8.3.1 a) conditions
        "Uncertainty not stated",  # 7.8.3.1 c)
        "Pass",
        "Decision rule simple acceptance",  # 7.8.6
        "pump.yaml 0123456789ab",
        "certgen 0.2.0",
    ):
        assert wanted in text, wanted


def test_what_is_for_the_shop_stands_on_no_certificate(document: bytes, text_of: Callable[[bytes], str]) -> None:
    """No key of a file, path, digest, or note of the program."""
    text = text_of(document)
    for unwanted in ("nameplate.", ".yaml", "0123456789ab", "rigs/", "certgen", "from memory", "SHA-256"):
        assert unwanted not in text, unwanted


def test_texts_of_strangers_are_drawn_letter_by_letter(
    certificate_layout: Layout, text_of: Callable[[bytes], str]
) -> None:
    results = make_results(3)
    remarks = "<b>bold</b> &amp; $x^2$ %s {0} \\n Ω ° é ß Ж (un)balanced)"
    strange = replace(results, certificate=replace(results.certificate, remarks=remarks, issued_to="Søren & <Søn>"))
    text = text_of(render(strange, certificate_layout, paper="a4", units="si"))
    assert remarks in text
    assert "Søren & <Søn>" in text


def fonts_of(page: Any) -> list[Any]:
    return [reference.get_object() for reference in page["/Resources"]["/Font"].values()]


def test_every_font_is_embedded_and_a_subset(page: Any) -> None:
    found = fonts_of(page)
    assert found
    for font in found:
        assert "+" in font["/BaseFont"], font[
            "/BaseFont"
        ]  # ISO 32000-1, 9.6.4: a subset is tagged with six letters and '+'
        assert "/FontFile2" in font["/FontDescriptor"]
        assert "/ToUnicode" in font
    assert not any("Helvetica" in font["/BaseFont"] for font in found)


def test_every_font_the_page_names_is_there(page: Any) -> None:
    used = {str(operands[0]) for operands, operator in operations(page) if operator == "Tf"}
    assert used <= set(page["/Resources"]["/Font"])


def test_page_is_vector_throughout(page: Any) -> None:
    assert len(page.images) == 0
    assert not any(operator in ("Do", "BI", "sh") for _, operator in operations(page))


def test_every_colour_has_contrast_enough_for_grey_print(page: Any) -> None:
    """WCAG 2.2, 1.4.3: at least 4.5 to 1; hairlines between rows carry no meaning and are exempt."""
    hairline, pale = (0.72, 0.75, 0.78), (0.88, 0.88, 0.88)  # a pale field has a black outline
    seen = set()
    for operands, operator in operations(page):
        assert operator not in DRAWN or operator in ("rg", "RG"), operator
        if operator in ("rg", "RG"):
            seen.add(tuple(round(float(part), 3) for part in operands))
    weak = {colour for colour in seen - {hairline, pale, (1.0, 1.0, 1.0)} if contrast(*colour) < 4.5}
    assert weak == set()
    assert (0.0, 0.0, 0.0) in seen


def test_file_says_what_it_is(document: bytes) -> None:
    reader = PdfReader(io.BytesIO(document))
    about = reader.metadata
    assert about is not None
    assert about.title == "Brake-test certificate MR-2026-014"
    assert about.author == "R. Tanner, Millrace Motor Bench"
    assert about.subject == "three-phase induction motor, Aldbury Electric, A-90L, 0048117"
    assert reader.trailer["/Root"]["/Lang"] == "en"


def greys(document: bytes, folder: Path) -> np.ndarray[Any, Any]:
    """The page as a grey print at 300 dots an inch would show it."""
    source = folder / "page.pdf"
    source.write_bytes(document)
    raster = subprocess.run(
        ["pdftoppm", "-gray", "-r", "300", "-singlefile", str(source)], capture_output=True, check=True
    ).stdout
    header, size, depth, pixels = raster.split(b"\n", 3)
    assert (header, depth) == (b"P5", b"255")
    columns, rows = (int(part) for part in size.split())
    return np.frombuffer(pixels, np.uint8).reshape(rows, columns)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm is not installed")
def test_every_text_is_legible_in_grey_print(certificate_layout: Layout, tmp_path: Path) -> None:
    results: Results = make_results(8)
    placed: PlacedPage = compose(results, certificate_layout, paper="a4", units="si")
    grey = greys(render(results, certificate_layout, paper="a4", units="si"), tmp_path)
    dots = 300 / 72
    checked = 0
    for box in placed.boxes:
        for mark in box.setting.marks:
            if isinstance(mark, TextMark) and any(sign.isalnum() for sign in mark.text):
                x, y = box.x + mark.x, box.y + mark.y
                wide = width(mark.text, mark.face, mark.size)
                part = grey[
                    int((y - 0.7 * mark.size) * dots) : int(y * dots) + 1, int(x * dots) : int((x + wide) * dots) + 1
                ]
                darkest = float(np.percentile(part, 2)) / 255.0
                assert contrast(darkest, darkest, darkest) >= 4.5, mark
                checked += 1
    assert checked > 80
