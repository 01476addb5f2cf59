"""Texts written straight into a page, in as many subsets of their fonts as they need."""

from __future__ import annotations

import io

from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from certgen.sheet.pdf.fonts import REGULAR
from certgen.sheet.pdf.pdf_operators import text

#: Letters of Latin, Greek and Cyrillic: far more than one subset of a font holds.
LETTERS = [chr(code) for first, end in ((0x41, 0x5B), (0xC0, 0x250), (0x391, 0x3CF), (0x400, 0x500))
           for code in range(first, end) if chr(code).isalpha()]  # fmt: skip


def written(*lines: str) -> bytes:
    canvas = Canvas(io.BytesIO(), pagesize=(2000.0, 800.0), invariant=1)
    for number, line in enumerate(lines):
        text(canvas, (10.0, 780.0 - 12.0 * number), line, REGULAR, 8.0)
    canvas.showPage()
    return bytes(canvas.getpdfdata())


def extracted(document: bytes) -> str:
    return PdfReader(io.BytesIO(document)).pages[0].extract_text()


def test_more_characters_than_a_subset_holds_are_all_there() -> None:
    lines = ["".join(LETTERS[start : start + 40]) for start in range(0, len(LETTERS), 40)]
    assert len(LETTERS) > 2 * 256
    assert "".join(extracted(written(*lines)).split()) == "".join(LETTERS)


def test_a_text_in_two_subsets_is_whole() -> None:
    filling = "".join(LETTERS)
    first, last = LETTERS[0], LETTERS[-1]
    assert extracted(written(filling, f"{first}{last}{first}")).split()[-1] == f"{first}{last}{first}"


def test_signs_with_a_meaning_in_the_file_are_text() -> None:
    assert extracted(written(r"a (b) \c) (")).strip() == r"a (b) \c) ("


def test_documents_do_not_share_their_codes() -> None:
    alone = written("Ünique")
    written("".join(LETTERS))
    assert written("Ünique") == alone
