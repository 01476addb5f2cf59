"""What the file says about itself, once for the document information and once as XMP; both say the same.

XMP: ISO 16684-1. What PDF/A asks of it: ISO 19005-3, 6.6.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from html import escape

_XMP = """\
<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about=""
 xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"
 xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
 xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"
 xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
 xmlns:xmp="http://ns.adobe.com/xap/1.0/">
<pdfaid:part>3</pdfaid:part>
<pdfaid:conformance>A</pdfaid:conformance>
<pdfuaid:part>1</pdfuaid:part>
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
<dc:format>application/pdf</dc:format>
<dc:identifier>{number}</dc:identifier>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
{source}<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
<pdf:Keywords>{keywords}</pdf:Keywords>
<pdf:Producer>{program}</pdf:Producer>
<xmp:CreatorTool>{program}</xmp:CreatorTool>
{dates}</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>
"""

_DATES = """\
<xmp:CreateDate>{day}T00:00:00+00:00</xmp:CreateDate>
<xmp:ModifyDate>{day}T00:00:00+00:00</xmp:ModifyDate>
<xmp:MetadataDate>{day}T00:00:00+00:00</xmp:MetadataDate>
"""


@dataclass(frozen=True)
class About:
    """What the file says about itself; its dates are the day of the test, as no clock may enter the bytes.

    A sheet that is no certificate has no verdict, and one made before the test no date.
    """

    title: str
    author: str
    subject: str
    number: str
    verdict: str
    program: str
    tested_on: date | None = None
    source: str = ""  # a digest of what the page was made from; of a tag, the digest its code names
    drawn_as: str = ""  # layout, paper and units of a tag, which has no other place for them
    draft: bool = False  # no certificate

    @property
    def keywords(self) -> str:
        """Number and verdict, for an archive's search."""
        if self.draft:
            return "draft, no certificate"
        if self.drawn_as:
            return f"tag {self.number}, {self.drawn_as}"
        return f"certificate {self.number}, verdict: {self.verdict}" if self.verdict else self.number

    @property
    def pdf_date(self) -> str:
        """The day of the test as PDF writes dates; empty where there was none."""
        return f"D:{self.tested_on.isoformat().replace('-', '')}000000+00'00'" if self.tested_on else ""


def information(about: About) -> dict[str, str]:
    """Entries of the document information dictionary."""
    dates = {"CreationDate": about.pdf_date, "ModDate": about.pdf_date} if about.tested_on else {}
    return {
        "Title": _plain(about.title),
        "Author": _plain(about.author),
        "Subject": _plain(about.subject),
        "Keywords": _plain(about.keywords),
        "Creator": about.program,
        "Producer": about.program,
        **dates,
    }


def xmp(about: About, language: str) -> bytes:
    """The same as an XMP packet, which claims PDF/A, part 3, level A (ISO 19005-3, 6.6.4), and PDF/UA (ISO 14289-1, 5).

    PDF/A has a schema described that it does not know itself: the one of the second claim (ISO 19005-3, 6.6.2.3).
    """
    texts = {
        "title": about.title,
        "author": about.author,
        "subject": about.subject,
        "number": about.number,
        "keywords": about.keywords,
        "program": about.program,
        "language": language,
    }
    written = {name: escape(_plain(text), quote=False) for name, text in texts.items()}
    dates = _DATES.format(day=about.tested_on.isoformat()) if about.tested_on else ""
    source = f"<dc:source>{escape(_plain(about.source))}</dc:source>\n" if about.source else ""
    return _XMP.format(**written, dates=dates, source=source).encode()


def _plain(text: str) -> str:
    """A text of printable signs on one line, as XML allows it."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def libraries() -> dict[str, str]:
    """The libraries that compute and draw, and their versions: where two machines differ, this may be why."""
    import numpy as np
    import reportlab

    return {"numpy": np.__version__, "reportlab": str(reportlab.Version)}
