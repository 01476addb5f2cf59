"""Objects as a file: independent readers find every one of them."""

from __future__ import annotations

import io
import re

import pikepdf

from certgen.sheet.pdf.container import PLAIN_LINE, SEAL_LINE, written

OBJECTS = [
    b"<< /Type /Catalog /Pages 2 0 R >>",
    b"<< /Type /Pages /Kids [ 3 0 R ] /Count 1 >>",
    b"<< /Type /Page /Parent 2 0 R /MediaBox [ 0 0 9 9 ] /Resources << >> >>",
    b"<< /Title (One) >>\n",
]


def test_the_cross_reference_table_points_at_the_objects() -> None:
    """ISO 32000-1, 7.5.4: entries of 20 bytes, offsets of 10 digits from the first byte of the file."""
    data = written(OBJECTS, 1, 4)
    start = int(re.search(rb"startxref\n(\d+)\n%%EOF\n\Z", data)[1])  # type: ignore[index]
    assert data[start : start + 9] == b"xref\n0 5\n"
    for number in range(1, 5):
        entry = data[start + 9 + 20 * number : start + 29 + 20 * number]
        assert entry[10:] == b" 00000 n \n"
        assert data[int(entry[:10]) :].startswith(b"%d 0 obj\n" % number)


def test_an_independent_reader_takes_it() -> None:
    with pikepdf.open(io.BytesIO(written(OBJECTS, 1, 4))) as file:
        assert len(file.pages) == 1
        assert str(file.docinfo["/Title"]) == "One"
        assert file.get_warnings() == []


def test_the_identifier_comes_from_the_objects() -> None:
    first, again, other = written(OBJECTS, 1, 4), written(OBJECTS, 1, 4), written([*OBJECTS, b"null"], 1, 4)
    found = [re.search(rb"/ID \[<([0-9a-f]{32})> <\1>\]", data)[1] for data in (first, again, other)]  # type: ignore[index]
    assert first == again
    assert found[0] != found[2]


def test_there_is_room_for_a_seal_in_the_second_line() -> None:
    assert written(OBJECTS, 1, 4).startswith(b"%PDF-1.7\n" + SEAL_LINE)


def test_what_is_no_certificate_has_no_room_for_a_seal() -> None:
    data = written(OBJECTS, 1, 4, line=PLAIN_LINE)
    assert data.startswith(b"%PDF-1.7\n" + PLAIN_LINE + b"1 0 obj")
    assert b"certificate" not in data[:64]
    with pikepdf.open(io.BytesIO(data)) as file:
        assert file.get_warnings() == []
