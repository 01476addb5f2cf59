"""A drawn page as an archive-grade file: PDF/A, part 3, level A, with files enclosed.

The claim in the metadata proves nothing; what makes it true is here and in ``file_structure``: every font is embedded
(reportlab's subsets), colours have an output intent, metadata and document information agree, each enclosed file
states its type and its relation to the page (ISO 19005-3, 6.2.3, 6.6, 6.8).
"""

from __future__ import annotations

import codecs
import hashlib
import struct
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from urllib.parse import quote

from certgen.sheet.pdf.metadata import About, information, xmp
from certgen.sheet.pdf.structure import Structure

# Numbered objects as one PDF file: header with room for a seal, body, cross-reference table, trailer.
#
# ISO 32000-1:2008, 7.5. What PDF/A asks of it: ISO 19005-3, 6.1.2 to 6.1.4.


#: Second line of the file: signs above 127, so that nobody takes it for text (ISO 19005-3, 6.1.2), and room for a seal.
SEAL_LINE = b"%\xe2\xe3\xcf\xd3 certgen certificate, 0000000000 bytes, SHA-256 " + b"0" * 64 + b"\n"

#: The same of a tag, which belongs to a certificate and encloses nothing.
TAG_LINE = SEAL_LINE.replace(b"certificate", b"tag")

#: Of a draft, which is no certificate: no seal, and a name that says so.
DRAFT_LINE = b"%\xe2\xe3\xcf\xd3 certgen draft, no certificate\n"

#: The same without room for a seal: of other sheets.
PLAIN_LINE = b"%\xe2\xe3\xcf\xd3\n"

_PDF_HEADER = b"%PDF-1.7\n"


def second_line(data: bytes) -> bytes:
    """The second line a file had before its seal was filled in, by how it begins."""
    return TAG_LINE if data[len(_PDF_HEADER) :].startswith(TAG_LINE[: TAG_LINE.index(b",")]) else SEAL_LINE


def written(objects: Sequence[bytes], root: int, information: int, *, line: bytes = SEAL_LINE) -> bytes:
    """The file that holds these objects, numbered from 1; ``root`` and ``information`` are two of them.

    ``line`` is the second of the file: with room for a seal, or without.

    The identifier in the trailer comes from the objects, so that the same objects are the same file.
    """
    parts = [_PDF_HEADER, line]
    length = sum(map(len, parts))
    offsets = []
    for number, body in enumerate(objects, 1):
        offsets.append(length)
        parts.append(b"%d 0 obj\n%s\nendobj\n" % (number, body.rstrip(b"\n")))
        length += len(parts[-1])
    identifier = hashlib.sha256(b"".join(parts)).hexdigest()[:32].encode()
    table = b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    parts.append(b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(objects) + 1, table))
    parts.append(
        b"trailer\n<< /Size %d /Root %d 0 R /Info %d 0 R /ID [<%s> <%s>] >>\nstartxref\n%d\n%%%%EOF\n"
        % (len(objects) + 1, root, information, identifier, identifier, length)
    )
    return b"".join(parts)


# The colour profile of the page: sRGB as an ICC profile, made from the published numbers, the same bytes every time.
#
# Sources: IEC 61966-2-1:1999 (primaries, white point, transfer curve); ICC.1:2004-10 (version 4.2: header 7.2, tag
# types 10, the linear Bradford adaptation of Annex E, the D50 white of the connection space).


NAME = "sRGB IEC61966-2.1"
_COPYRIGHT = "Made from published numbers; no rights reserved."

#: Chromaticities x, y of red, green and blue, and of the white. Source: IEC 61966-2-1:1999, table 1.
_PRIMARIES = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
_WHITE = (0.3127, 0.3290)

#: Transfer curve as ICC function type 3: ((x + 0.055) / 1.055)^2.4 from 0.04045 up, x / 12.92 below.
_CURVE = (2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045)

#: White of the profile connection space. Source: ICC.1:2004-10, 7.2.16.
_D50 = (0.9642, 1.0, 0.8249)

#: Cone response of the linear Bradford adaptation. Source: ICC.1:2004-10, Annex E.
_BRADFORD = ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))

_MADE_ON = (1999, 10, 18, 0, 0, 0)  # a fixed date: the bytes must not tell the time
_ICC_HEADER = 128

Vector = tuple[float, float, float]
Matrix = tuple[Vector, Vector, Vector]


@lru_cache(maxsize=1)
def profile() -> bytes:
    """The profile's bytes: a display profile of three primaries and one curve."""
    adaptation = _adaptation(_xyz(_WHITE))
    primaries = _colorants()
    curve = b"para" + struct.pack(">4xHH", 3, 0) + b"".join(map(_fixed, _CURVE))
    tags: list[tuple[bytes, bytes]] = [
        (b"desc", _text(NAME)),
        (b"cprt", _text(_COPYRIGHT)),
        (b"wtpt", _xyz_tag(_D50)),
        (b"chad", b"sf32" + bytes(4) + b"".join(_fixed(number) for row in adaptation for number in row)),
        *zip((b"rXYZ", b"gXYZ", b"bXYZ"), (_xyz_tag(_times(adaptation, one)) for one in primaries), strict=True),
        *((name, curve) for name in (b"rTRC", b"gTRC", b"bTRC")),
    ]
    return _assembled(tags)


def _assembled(tags: Sequence[tuple[bytes, bytes]]) -> bytes:
    """Header, tag table and tag data; equal data stands once."""
    start = _ICC_HEADER + 4 + 12 * len(tags)
    places: dict[bytes, int] = {}
    body = b""
    for _, data in tags:
        if data not in places:
            places[data] = start + len(body)
            body += data + bytes(-len(data) % 4)
    table = struct.pack(">I", len(tags))
    table += b"".join(name + struct.pack(">II", places[data], len(data)) for name, data in tags)
    header = struct.pack(
        ">I4s4s4s4s4s6H4s4sI4s4sQI",
        start + len(body),
        bytes(4),
        b"\x04\x20\x00\x00",  # version 4.2.0
        b"mntr",
        b"RGB ",
        b"XYZ ",
        *_MADE_ON,
        b"acsp",
        bytes(4),
        0,
        bytes(4),
        bytes(4),
        0,
        0,  # perceptual
    )
    header += b"".join(map(_fixed, _D50))
    return header + bytes(_ICC_HEADER - len(header)) + table + body


def _fixed(number: float) -> bytes:
    """A number as s15Fixed16: sixteenths of four hexadecimal digits after the point."""
    return struct.pack(">i", round(number * 65536.0))


def _xyz_tag(color: Vector) -> bytes:
    return b"XYZ " + bytes(4) + b"".join(map(_fixed, color))


def _text(text: str) -> bytes:
    """A text in one language, English."""
    encoded = text.encode("utf-16-be")
    return b"mluc" + struct.pack(">4xII4sII", 1, 12, b"enUS", len(encoded), 28) + encoded


def _xyz(chromaticity: tuple[float, float]) -> Vector:
    """XYZ of a chromaticity at Y = 1."""
    x, y = chromaticity
    return x / y, 1.0, (1.0 - x - y) / y


def _colorants() -> tuple[Vector, ...]:
    """XYZ of red, green and blue, scaled so that together they are the white."""
    columns = [_xyz(primary) for primary in _PRIMARIES]
    amounts = _times(_inverse(_transposed(columns)), _xyz(_WHITE))
    return tuple((amount * x, amount * y, amount * z) for amount, (x, y, z) in zip(amounts, columns, strict=True))


def _adaptation(white: Vector) -> Matrix:
    """The matrix that carries a colour seen under a white to the white of the connection space."""
    gains = [to / of for to, of in zip(_times(_BRADFORD, _D50), _times(_BRADFORD, white), strict=True)]
    scaled = [_scaled(row, gain) for row, gain in zip(_BRADFORD, gains, strict=True)]
    back = _inverse(_BRADFORD)
    return _transposed([_times(back, column) for column in _transposed(scaled)])


def _scaled(row: Vector, by: float) -> Vector:
    return row[0] * by, row[1] * by, row[2] * by


def _times(matrix: Matrix, vector: Vector) -> Vector:
    first, second, third = (sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix)
    return first, second, third


def _transposed(rows: Sequence[Vector]) -> Matrix:
    first, second, third = rows
    return tuple(zip(first, second, third, strict=True))  # type: ignore[return-value]


def _inverse(matrix: Matrix) -> Matrix:
    """By cofactors: column i is the cross product of the other two rows over the determinant."""
    a, b, c = matrix
    crossed = [_cross(b, c), _cross(c, a), _cross(a, b)]
    determinant = sum(one * other for one, other in zip(a, crossed[0], strict=True))
    return _transposed([_scaled(column, 1.0 / determinant) for column in crossed])


def _cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


# A drawn page as an archive-grade file: PDF/A, part 3, level A, with files enclosed.
#
# The claim in the metadata proves nothing; what makes it true is here and in ``file_structure``: every font is
# embedded (reportlab's subsets), colours have an output intent, metadata and document information agree, each
# enclosed file states its type and its relation to the page (ISO 19005-3, 6.2.3, 6.6, 6.8).


#: How an enclosed file relates to the page. ISO 19005-3, 6.8 and Annex E.
SOURCE, DATA, SUPPLEMENT = "Source", "Data", "Supplement"

#: How hard files are packed: a twelfth larger than at the most usual level, in a third of its time. Long logs are packed
#: less hard: a seventh larger again, in four tenths of the time, which else were more than reading and reducing them takes.
_PACKING, _PACKING_OF_LONG = 3, 1
#: From this length on a file is long. [byte]
LONG = 1_000_000

_ASCII = "".join(map(chr, range(32, 127))).replace("%", "")


@dataclass(frozen=True)
class Enclosure:
    """One file that travels inside the page."""

    name: str  # with folders, '/' between them
    data: bytes
    media_type: str
    relationship: str  # SOURCE, DATA or SUPPLEMENT
    description: str


def contained(
    document: Any, about: About, enclosures: Iterable[Enclosure], *, language: str, structure: Structure
) -> bytes:
    """The file of a reportlab document whose pages are finished; with room for a seal if it encloses files or is a tag."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFString

    enclosed = tuple(enclosures)
    for font in document.delayedFonts:
        font.addObjects(document)
    for page in document.Pages.pages:
        page.Trans = None  # reportlab writes an empty one
    entries = {name: PDFString(text) for name, text in information(about).items()}
    root = document.Reference(_catalog(document, about, enclosed, language, structure))
    about_it = document.Reference(PDFDictionary(entries))
    line = TAG_LINE if about.drawn_as else DRAFT_LINE if about.draft else SEAL_LINE if enclosed else PLAIN_LINE
    with binary_streams():
        objects = list(_formatted(document))
    return written(objects, _number(document, root), _number(document, about_it), line=line)


def _catalog(document: Any, about: About, enclosures: Iterable[Enclosure], language: str, structure: Structure) -> Any:
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFString

    metadata = _stream(xmp(about, language), {"Type": "/Metadata", "Subtype": "/XML"}, pack=False)
    entries = {
        "Type": "/Catalog",
        "Pages": document.Reference(document.Pages),
        "Lang": PDFString(language),
        "ViewerPreferences": PDFDictionary({"DisplayDocTitle": "true"}),
        "Metadata": document.Reference(metadata),
        "OutputIntents": PDFArray([_output_intent(document)]),
        **structure.entries(document),
    }
    named = sorted((_key(one.name), document.Reference(_file(document, one, about))) for one in enclosures)
    if named:
        names = [part for key, file in named for part in (PDFString(key), file)]
        entries["Names"] = PDFDictionary({"EmbeddedFiles": PDFDictionary({"Names": PDFArray(names)})})
        entries["AF"] = PDFArray([file for _, file in named])
    return PDFDictionary(entries)


def _output_intent(document: Any) -> Any:
    """What the colours of the page mean. ISO 32000-1, 14.11.5."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFString

    return PDFDictionary(
        {
            "Type": "/OutputIntent",
            "S": "/GTS_PDFA1",
            "OutputConditionIdentifier": PDFString(NAME),
            "RegistryName": PDFString("http://www.color.org"),
            "Info": PDFString(NAME),
            "DestOutputProfile": document.Reference(_stream(profile(), {"N": 3})),
        }
    )


def _file(document: Any, enclosure: Enclosure, about: About) -> Any:
    """A file specification with its embedded file. ISO 32000-1, 7.11.3 and 7.11.4."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFString, PDFText

    checksum = hashlib.md5(enclosure.data, usedforsecurity=False).digest()
    day = PDFString(about.pdf_date)
    parameters = {
        "Size": len(enclosure.data),
        "CreationDate": day,
        "ModDate": day,
        "CheckSum": PDFText(checksum, enc="raw"),
    }
    entries = {
        "Type": "/EmbeddedFile",
        "Subtype": "/" + enclosure.media_type.replace("/", "#2F"),
        "Params": PDFDictionary(parameters),
    }
    stream = document.Reference(_stream(enclosure.data, entries))
    name = _encoded(enclosure.name)
    return PDFDictionary(
        {
            "Type": "/Filespec",
            "F": PDFString(name, enc="raw"),
            "UF": PDFString(name, enc="raw"),
            "Desc": PDFString(enclosure.description),
            "AFRelationship": "/" + enclosure.relationship,
            "EF": PDFDictionary({"F": stream, "UF": stream}),
        }
    )


def _key(name: str) -> str:
    """A name as a key of the name tree: in ASCII, which every reader sorts alike; the true one is beside it."""
    return quote(name, safe=_ASCII)


def _encoded(name: str) -> bytes:
    """A name as the bytes of a PDF text string: ASCII, or UTF-16 with its mark."""
    return name.encode() if name.isascii() else codecs.BOM_UTF16_BE + name.encode("utf-16-be")


def packed(data: bytes) -> bytes:
    """The bytes of a stream as they stand in the file. Source: RFC 1950, 1951; the same bytes give the same."""
    return zlib.compress(data, _PACKING_OF_LONG if len(data) >= LONG else _PACKING)


def _stream(data: bytes, entries: dict[str, Any], *, pack: bool = True) -> Any:
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFStream

    if not pack:
        return PDFStream(PDFDictionary(entries), data, [])
    filtered = {**entries, "Filter": "/FlateDecode"}
    return PDFStream(PDFDictionary(filtered), packed(data), [])


class _Packed:
    """Compression as of everything else here, in the way reportlab asks for it."""

    pdfname = "FlateDecode"

    def encode(self, data: str | bytes) -> bytes:
        return packed(data.encode() if isinstance(data, str) else data)


def _formatted(document: Any) -> Iterator[bytes]:
    """Every object in PDF's own syntax by its number; formatting one may bring forth others.

    reportlab sets no end of line before ``endstream``, which PDF/A asks for (ISO 19005-3, 6.1.7.1).
    """
    from reportlab.pdfbase.pdfdoc import PDFImageXObject, PDFStream, format

    number = 1
    while number in document.numberToId:
        item = document.idToObject[document.numberToId[number]]
        if isinstance(item, PDFStream) and item.filters:
            item.filters = [_Packed()]
        text: bytes = format(item, document, toplevel=1)
        end = b"endstream\n"
        yield text.removesuffix(end) + b"\n" + end if isinstance(item, PDFStream | PDFImageXObject) else text
        number += 1


def _number(document: Any, reference: Any) -> int:
    number: int = document.idToObjectNumberAndVersion[reference.name][0]
    return number


@contextmanager
def binary_streams() -> Iterator[None]:
    """reportlab set to write compressed streams as they are, not wrapped in ASCII: a fifth smaller, and faster."""
    from reportlab import rl_config

    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before
