"""A drawn page as an archive-grade file: PDF/A, part 3, level B, with files enclosed.

The claim in the metadata proves nothing; what makes it true is here and in ``file_structure``: every font is embedded
(reportlab's subsets), colours have an output intent, metadata and document information agree, each enclosed file
states its type and its relation to the page (ISO 19005-3, 6.2.3, 6.6, 6.8).
"""

from __future__ import annotations

import codecs
import hashlib
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from certgen.sheet.about import About, information, xmp
from certgen.sheet.file_structure import written
from certgen.sheet.srgb import NAME, profile

#: How an enclosed file relates to the page. ISO 19005-3, 6.8 and Annex E.
SOURCE, DATA, SUPPLEMENT = "Source", "Data", "Supplement"

#: How hard enclosed files are packed: a twelfth larger than at the most usual level, in a third of its time.
_PACKING = 3

_ASCII = "".join(map(chr, range(32, 127))).replace("%", "")


@dataclass(frozen=True)
class Enclosure:
    """One file that travels inside the page."""

    name: str  # with folders, '/' between them
    data: bytes
    media_type: str
    relationship: str  # SOURCE, DATA or SUPPLEMENT
    description: str


def contained(document: Any, about: About, enclosures: Iterable[Enclosure], *, language: str) -> bytes:
    """The file of a reportlab document whose pages are finished; only one that encloses files has room for a seal."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFString

    enclosed = tuple(enclosures)
    for font in document.delayedFonts:
        font.addObjects(document)
    for page in document.Pages.pages:
        page.Trans = None  # reportlab writes an empty one
    entries = {name: PDFString(text) for name, text in information(about).items()}
    root = document.Reference(_catalog(document, about, enclosed, language))
    about_it = document.Reference(PDFDictionary(entries))
    with _binary_streams():
        objects = list(_formatted(document))
    return written(objects, _number(document, root), _number(document, about_it), with_seal=bool(enclosed))


def _catalog(document: Any, about: About, enclosures: Iterable[Enclosure], language: str) -> Any:
    from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFString

    metadata = _stream(xmp(about, language), {"Type": "/Metadata", "Subtype": "/XML"}, packed=False)
    entries = {
        "Type": "/Catalog",
        "Pages": document.Reference(document.Pages),
        "Lang": PDFString(language),
        "ViewerPreferences": PDFDictionary({"DisplayDocTitle": "true"}),
        "Metadata": document.Reference(metadata),
        "OutputIntents": PDFArray([_output_intent(document)]),
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


def _stream(data: bytes, entries: dict[str, Any], *, packed: bool = True) -> Any:
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFStream

    if not packed:
        return PDFStream(PDFDictionary(entries), data, [])
    filtered = {**entries, "Filter": "/FlateDecode"}
    return PDFStream(PDFDictionary(filtered), zlib.compress(data, _PACKING), [])


class _Packed:
    """Compression as of everything else here, in the way reportlab asks for it."""

    pdfname = "FlateDecode"

    def encode(self, data: str | bytes) -> bytes:
        return zlib.compress(data.encode() if isinstance(data, str) else data, _PACKING)


def _formatted(document: Any) -> Iterator[bytes]:
    """Every object in PDF's own syntax by its number; formatting one may bring forth others.

    reportlab sets no end of line before ``endstream``, which PDF/A asks for (ISO 19005-3, 6.1.7.1).
    """
    from reportlab.pdfbase.pdfdoc import PDFStream, format

    number = 1
    while number in document.numberToId:
        item = document.idToObject[document.numberToId[number]]
        if isinstance(item, PDFStream) and item.filters:
            item.filters = [_Packed()]
        text: bytes = format(item, document, toplevel=1)
        end = b"endstream\n"
        yield text.removesuffix(end) + b"\n" + end if isinstance(item, PDFStream) else text
        number += 1


def _number(document: Any, reference: Any) -> int:
    number: int = document.idToObjectNumberAndVersion[reference.name][0]
    return number


@contextmanager
def _binary_streams() -> Iterator[None]:
    """reportlab set to write compressed streams as they are, not wrapped in ASCII: a fifth smaller, and faster."""
    from reportlab import rl_config

    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before
