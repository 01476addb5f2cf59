"""What a reader without eyes gets: text in the order of the page, tables row by row, language and title."""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader
from sheet.results_factory import make_results, with_uncertainties

from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.pdf.draw import render

pytestmark = pytest.mark.slow

Read = Callable[[str], tuple[Layout, list[str]]]


@pytest.fixture(scope="module")
def document(certificate_layout: Layout) -> bytes:
    return render(with_uncertainties(make_results(8)), certificate_layout, paper="a4", units="si")


def by_pdftotext(document: bytes, folder: Path, *options: str) -> str:
    path = folder / "sheet.pdf"
    path.write_bytes(document)
    done = subprocess.run(["pdftotext", *options, str(path), "-"], capture_output=True, text=True, check=True)
    return done.stdout


def test_reading_order_follows_the_page(document: bytes, tmp_path: Path) -> None:
    titles = (
        "Brake-test certificate", "1.5 kW three-phase motor, 4 poles, 400 V, 1420 rpm", "Pass", "Disconnect and lock off",
        "At rated power, between test points", "Torque, N·m, against speed", "Against shaft power", "Checks", "Insulation",
        "Remarks", "Tested and authorised by", "These results are of this one motor",
    )  # fmt: skip
    for text in (
        " ".join(PdfReader(io.BytesIO(document)).pages[0].extract_text().split()),
        " ".join(by_pdftotext(document, tmp_path, "-raw").split()),
    ):
        places = [text.index(title) for title in titles]
        assert places == sorted(places)


def test_tables_come_out_row_by_row(record_layout: Layout, tmp_path: Path) -> None:
    results = with_uncertainties(make_results(8))
    page = compose(results, record_layout, paper="a4", units="si")
    document = render(results, record_layout, paper="a4", units="si")
    (table,) = [box for one in page.pages for box in one.boxes if box.name == "load_points"][:1]
    marks = [mark for mark in table.setting.marks if isinstance(mark, TextMark)]
    rows = [[mark.text for mark in marks if mark.y == y] for y in sorted({mark.y for mark in marks})]
    rows = [row for row in rows if row[0].isdigit()]
    assert rows
    pages = [one.extract_text() for one in PdfReader(io.BytesIO(document)).pages]
    for text in (" ".join(" ".join(pages).split()), " ".join(by_pdftotext(document, tmp_path, "-layout").split())):
        for row in rows:
            assert " ".join(row) in text, row


def test_each_block_is_drawn_as_one_piece(certificate_layout: Layout, document: bytes) -> None:
    page = compose(with_uncertainties(make_results(8)), certificate_layout, paper="a4", units="si")
    text = re.sub(r"\s", "", PdfReader(io.BytesIO(document)).pages[0].extract_text())
    for box in page.boxes:
        own = re.sub(r"\s", "", "".join(mark.text for mark in box.setting.marks if isinstance(mark, TextMark)))
        if box.name not in ("torque_chart", "load_chart"):
            assert own in text, box.name


def test_document_says_its_language_and_title(layout_from: Read) -> None:
    layout, _ = layout_from("language: de\nblocks: {heading: {title: Prüfbescheinigung}}\nrows: [heading, identity]\n")
    reader = PdfReader(io.BytesIO(render(make_results(), layout, paper="a4", units="si")))
    assert reader.trailer["/Root"]["/Lang"] == "de"
    assert reader.metadata is not None
    assert reader.metadata.title == "Prüfbescheinigung MR-2026-014"


GERMAN = """
language: de
numbers: {decimal_mark: comma, uncertainty_digits: 1}
texts:
  identity.customer: Auftraggeber
  motor.three_phase: Drehstrommotor
  rated_points.at: Bei
  points.spreads: 'Darunter die Unsicherheit, 95 %, {factors}.'
  point.rated_power: Bemessungsleistung
  column.torque: Drehmoment
  outcome.pass: bestanden
  chart.against: '{quantity}, über {over}'
  chart.torque: Drehmoment
phrases:
  three-phase induction: Drehstrom-Asynchron
  All findings that matter keep their limits.: Alle wesentlichen Vergleiche sind erfüllt.
rows: [verdict, identity, rated_points, torque_chart]
"""


def test_a_page_in_another_language(layout_from: Read) -> None:
    layout, mistakes = layout_from(GERMAN)
    assert mistakes == []
    results = with_uncertainties(make_results(8))
    text = " ".join(
        PdfReader(io.BytesIO(render(results, layout, paper="a4", units="si"))).pages[0].extract_text().split()
    )
    for wanted in (
        "Bestanden", "Alle wesentlichen Vergleiche sind erfüllt.", "Auftraggeber Weir Street Joinery",
        "1,5 kW Drehstrommotor", "Bemessungsleistung", "Darunter die Unsicherheit, 95 %, k = 2,00.",
        "Drehmoment, N·m, über", "1,4",
    ):  # fmt: skip
        assert wanted in text, wanted
    assert re.findall(r"\d\.\d+ (?:kW|N·m|A)", text) == []


def test_uncertainty_with_one_digit_takes_decimals_from_the_value(layout_from: Read) -> None:
    """JCGM 100:2008, 7.2.6: an uncertainty of 0.0803 is 0.080 or 0.08; the value has as many decimals."""
    from certgen.messages.format import Units, single
    from certgen.quantity import Quantity

    torque = Quantity(10.0432, "N*m", 0.0803, 2.0)
    assert single(torque, "torque", "si") == "10.043 ± 0.080 N·m"
    assert single(torque, "torque", Units("si", ",", 1)) == "10,04 ± 0,08 N·m"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "texts: {identity.custmer: Kunde}",
            "shop.yaml:2:9: texts.identity.custmer: unknown key; did you mean 'identity.customer'.",
        ),
        (
            "texts: {page.number: 'Seite {seite} von {pages}'}",
            "shop.yaml:2:22: texts.page.number: '{seite}' is no figure that this text can hold; "
            "use only these: {page}, {pages}.",
        ),
        ("language: 'english, please'", "shop.yaml:2:11: language: 'english, please' is no language tag; "),
        ("numbers: {decimal_mark: ','}", "shop.yaml:2:25: numbers.decimal_mark: ',' is not one of the words known here; "),
    ],
)  # fmt: skip
def test_mistakes_in_words_are_told_with_their_place(layout_from: Read, text: str, expected: str) -> None:
    _, mistakes = layout_from(f"rows: [heading]\n{text}\n")
    assert mistakes
    assert mistakes[0].startswith(expected), mistakes


def test_words_of_the_page_never_read_a_gap_as_markup() -> None:
    content = Content(replace(make_results(), certificate=replace(make_results().certificate, issued_to="{page} <b>")))
    from certgen.sheet.blocks.head_and_foot import identity_pairs

    assert ("Customer", "{page} <b>") in identity_pairs(content)
