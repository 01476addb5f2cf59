"""ISO 19005-3:2012, level A, as checks over the objects and bytes of a file; nothing of the writer is used.

Clause numbers and wording of the rules: the openly published validation profile "PDF/A-3B", rules against ISO
19005-3:2012 level B, of the veraPDF consortium (repository veraPDF/veraPDF-validation-profiles, PDF_A/PDFA-3B.xml).
Rules for constructs that a certificate has no use for (halftones, spot colours, optional content, composite fonts,
actions) are checked by the construct being absent. What that profile does not state is marked 'from memory'.
"""

from __future__ import annotations

import io
import re
import struct
from collections.abc import Iterator
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import pikepdf
from archive.pdfa_bytes import byte_violations
from archive.pdfua_rules import structure_violations
from fontTools.ttLib import TTFont
from PIL import Image

RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
DC = "{http://purl.org/dc/elements/1.1/}"
PDFAID = "{http://www.aiim.org/pdfa/ns/id/}"
PDFUAID = "{http://www.aiim.org/pdfua/ns/id/}"
EXTENSION = "{http://www.aiim.org/pdfa/ns/extension/}"
SCHEMA = "{http://www.aiim.org/pdfa/ns/schema#}"
PDF = "{http://ns.adobe.com/pdf/1.3/}"
XMP = "{http://ns.adobe.com/xap/1.0/}"

FILTERS = {"/FlateDecode", "/DCTDecode", "/ASCII85Decode", "/ASCIIHexDecode", "/RunLengthDecode"}

#: Operators of ISO 32000-1, table A.1, that a page of text and lines may use.
_OPERATORS = """
q Q cm w J j M d ri i gs m l c v y h re S s f F f* B B* b b* n W W* BT ET Tc Tw Tz TL Tf Tr Ts Td TD Tm T* Tj TJ ' "
CS cs SC SCN sc scn G g RG rg K k MP DP BMC BDC EMC Do
"""
OPERATORS = set(_OPERATORS.split())


def violations(data: bytes) -> list[str]:
    """Every rule the file breaks: clause, then what is wrong."""
    found = list(byte_violations(data))
    with pikepdf.open(io.BytesIO(data)) as file:
        found += structure_violations(file)
        for rule in (_trailer, _limits, _streams, _colour, _page, _fonts, _annotations, _metadata, _enclosed, _absent):
            found += rule(file)
    return found


def _trailer(file: pikepdf.Pdf) -> Iterator[str]:
    identifier = file.trailer.get("/ID")
    if identifier is None or len(identifier) != 2 or not all(len(bytes(part)) for part in identifier):
        yield "6.1.3-1: no file identifier"
    if "/Encrypt" in file.trailer:
        yield "6.1.3-2: encrypted"


def _limits(file: pikepdf.Pdf) -> Iterator[str]:
    if len(file.objects) > 8388607:
        yield "6.1.13-7: too many objects"
    for item in _everything(file):
        if isinstance(item, pikepdf.String) and len(bytes(item)) >= 32767:
            yield "6.1.13-3: a string is too long"
        elif isinstance(item, pikepdf.Name):
            raw = str(item).encode()
            if len(raw) > 127:
                yield "6.1.13-4: a name is too long"
        elif isinstance(item, int) and not -2147483648 <= item <= 2147483647:
            yield "6.1.13-1: an integer is out of range"
        elif isinstance(item, Decimal) and (abs(item) > Decimal("3.403e38") or 0 < abs(item) < Decimal("1.175e-38")):
            yield "6.1.13-2, -5: a real is out of range"


def _everything(file: pikepdf.Pdf) -> Iterator[Any]:
    """Every direct and indirect object once, references not followed."""
    stack: list[Any] = list(file.objects)
    while stack:
        item = stack.pop()
        if isinstance(item, pikepdf.Object):
            if item._type_code in (pikepdf.ObjectType.dictionary, pikepdf.ObjectType.stream):
                stack += [pikepdf.Name(key) for key in item]
                stack += [value for value in dict(item.items()).values() if not _indirect(value)]
            elif item._type_code == pikepdf.ObjectType.array:
                stack += [value for value in item if not _indirect(value)]
        yield item


def _indirect(item: Any) -> bool:
    return isinstance(item, pikepdf.Object) and item.is_indirect


def _streams(file: pikepdf.Pdf) -> Iterator[str]:
    for item in file.objects:
        if not isinstance(item, pikepdf.Stream):
            continue
        for key in ("/F", "/FFilter", "/FDecodeParms"):
            if key in item:
                yield f"6.1.7-3: a stream has the key {key}"
        filters = item.get("/Filter", [])
        for one in [filters] if isinstance(filters, pikepdf.Name) else filters:
            if str(one) not in FILTERS:
                yield f"6.1.7-4: filter {one}"


def _colour(file: pikepdf.Pdf) -> Iterator[str]:
    intents = [one for one in file.Root.get("/OutputIntents", []) if one.get("/S") == "/GTS_PDFA1"]
    if len(intents) != 1:
        yield "6.2.3: not one PDF/A output intent"
        return
    if "/DestOutputProfileRef" in intents[0]:
        yield "6.2.3-3: profile by reference"
    profile = bytes(intents[0].DestOutputProfile.read_bytes())
    size, version = struct.unpack_from(">I4xB", profile)
    if size != len(profile) or profile[36:40] != b"acsp":
        yield "6.2.3-1: the profile is none"
    if version >= 5 or profile[12:16] not in (b"prtr", b"mntr") or profile[16:20] != b"RGB ":
        yield "6.2.3-1: the profile is not that of an RGB display or printer before version 5"
    if intents[0].DestOutputProfile.get("/N") != 3:
        yield "6.2.3 (ISO 32000-1, 8.6.5.5): N is not the number of colours"


def _page(file: pikepdf.Pdf) -> Iterator[str]:
    for page in file.pages:
        left, bottom, right, top = (float(edge) for edge in page.obj.MediaBox)
        if not (3 <= right - left <= 14400 and 3 <= top - bottom <= 14400):
            yield "6.1.13-11: page size"
        if "/Resources" not in page.obj:
            yield "6.2.2-2: resources are not the page's own"
        for key in ("/AA", "/PresSteps", "/Group", "/Trans"):
            if key in page.obj:
                yield f"6.5.2-2, 6.10-2, 6.2.10 (transparency unused): page has {key}"
        for key in page.obj.Resources:
            if key not in ("/Font", "/ProcSet", "/XObject"):
                yield f"6.2.4, 6.2.5, 6.2.8, 6.2.9 (unused constructs): resource {key}"
        depth = deepest = 0
        for operands, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name not in OPERATORS:
                yield f"6.2.2-1: operator {name}"
            if name in ("K", "k", "cs", "CS", "sc", "SC", "scn", "SCN"):
                yield "6.2.4.3: colour other than RGB or grey"
            if name == "ri" and str(operands[0]) not in (
                "/RelativeColorimetric", "/AbsoluteColorimetric", "/Perceptual", "/Saturation"):  # fmt: skip
                yield "6.2.6-1: rendering intent"
            depth += (name == "q") - (name == "Q")
            deepest = max(deepest, depth)
        if deepest > 28 or depth:
            yield "6.1.13-8: nesting of q and Q"


def _fonts(file: pikepdf.Pdf) -> Iterator[str]:
    for page in file.pages:
        fonts = dict(page.obj.Resources.Font.items())
        for name, font in fonts.items():
            yield from _font(name, font)
        yield from _glyphs(page, fonts)


def _font(name: str, font: Any) -> Iterator[str]:
    if font.get("/Type") != "/Font":
        yield f"6.2.11.2-1: {name}"
    if font.get("/Subtype") != "/TrueType":
        yield f"6.2.11.2-2: {name} is no TrueType font, which the checks below are for"
    if "/BaseFont" not in font:
        yield f"6.2.11.2-3: {name}"
    if "/FirstChar" not in font or "/LastChar" not in font:
        yield f"6.2.11.2-4, -5: {name}"
    if len(font.Widths) != int(font.LastChar) - int(font.FirstChar) + 1:
        yield f"6.2.11.2-6: {name}"
    if "/FontFile2" not in font.FontDescriptor:
        yield f"6.2.11.4-1: {name} is not embedded"
        return
    symbolic = bool(int(font.FontDescriptor.Flags) & 4)
    tables = _program(font)["cmap"].tables
    if symbolic and "/Encoding" in font:
        yield f"6.2.11.6-3: {name}"
    if symbolic and len(tables) != 1 and not any((one.platformID, one.platEncID) == (3, 0) for one in tables):
        yield f"6.2.11.6-4: {name}"
    if not symbolic:
        yield f"6.2.11.6-1, -2: {name} is not symbolic, which the checks below are for"


def _program(font: Any) -> TTFont:
    return TTFont(io.BytesIO(font.FontDescriptor.FontFile2.read_bytes()), lazy=True)


def _glyphs(page: Any, fonts: dict[str, Any]) -> Iterator[str]:
    """Every glyph shown is there, is not .notdef, and is as wide as the font dictionary says."""
    shown: dict[str, set[int]] = {}
    current = ""
    for operands, operator in pikepdf.parse_content_stream(page):
        if str(operator) == "Tf":
            current = str(operands[0])
        elif str(operator) in ("Tj", "'", '"', "TJ"):
            parts = operands[-1] if str(operator) == "TJ" else [operands[-1]]
            for part in parts:
                if isinstance(part, pikepdf.String):
                    shown.setdefault(current, set()).update(bytes(part))
    for name, codes in shown.items():
        if name not in fonts:
            yield f"6.2.2-2: font {name} is not in the resources"
        if "/FontFile2" not in fonts.get(name, {}).get("/FontDescriptor", {}):
            continue
        font, program = fonts[name], _program(fonts[name])
        glyphs, scale = program["cmap"].tables[0].cmap, 1000.0 / program["head"].unitsPerEm
        for code in codes:
            glyph = glyphs.get(code)
            if glyph is None or glyph == ".notdef" or program.getGlyphID(glyph) == 0:
                yield f"6.2.11.4-2, 6.2.11.8-1: {name}, code {code}"
                continue
            stated = float(font.Widths[code - int(font.FirstChar)])
            if abs(stated - program["hmtx"][glyph][0] * scale) > 1.0:
                yield f"6.2.11.5-1: {name}, code {code}"


def _annotations(file: pikepdf.Pdf) -> Iterator[str]:
    """Only the widgets of signatures may stand on a page."""
    for page in file.pages:
        for one in page.obj.get("/Annots", []):
            if one.get("/Subtype") != "/Widget":
                yield "6.3.1-1: an annotation other than a widget"
            flags = int(one.get("/F", 0))
            if "/F" not in one or not flags & 4 or flags & (1 | 2 | 32 | 256):
                yield "6.3.2-1, -2: flags of an annotation"
            left, bottom, right, top = (float(edge) for edge in one.Rect)
            if (left != right or bottom != top) and "/AP" not in one:
                yield "6.3.3-1: no appearance"
            if "/A" in one or "/AA" in one:
                yield "6.4.1-1, -2: a field with actions"
    form = file.Root.get("/AcroForm")
    if form is not None:
        if form.get("/NeedAppearances", False):
            yield "6.4.1-3: NeedAppearances"
        if "/XFA" in form:
            yield "6.4.2-1: XFA"


def _metadata(file: pikepdf.Pdf) -> Iterator[str]:
    stream = file.Root.get("/Metadata")
    if stream is None or stream.get("/Type") != "/Metadata" or stream.get("/Subtype") != "/XML":
        yield "6.6.2.1-1: no metadata stream"
        return
    packet = stream.read_bytes()
    header = packet.split(b"?>", 1)[0]
    if b"bytes=" in header or b"encoding=" in header:
        yield "6.6.2.1-2, -3: attributes of the packet's header"
    try:
        tree = ElementTree.fromstring(packet)
    except ElementTree.ParseError as cause:
        yield f"6.6.2.1-4: not well-formed: {cause}"
        return
    if b'xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"' not in packet:
        yield "6.6.4-4: prefix of the identification"
    if [tree.findtext(f".//{PDFAID}{one}") for one in ("part", "conformance")] != ["3", "A"]:
        yield "6.6.4-1, -2, -3: identification"
    known = {DC, PDF, XMP, PDFAID, PDFUAID, EXTENSION}
    described = [one.text for one in tree.iter(f"{SCHEMA}namespaceURI")]
    if described != [PDFUAID.strip("{}")]:
        yield "6.6.2.3-2: a schema that is none of PDF/A's own is not described"
    for about in tree.iter(f"{RDF}Description"):
        for item in about:
            if item.tag[: item.tag.index("}") + 1] not in known:
                yield f"6.6.2.3-7: property {item.tag} of no predefined schema"
    yield from _agreement(file, tree)


def _agreement(file: pikepdf.Pdf, tree: ElementTree.Element) -> Iterator[str]:
    """Document information and XMP say the same (6.6.3, from memory)."""
    info = {str(key): str(value) for key, value in file.docinfo.items()}
    pairs = {
        "/Title": tree.findtext(f".//{DC}title//{RDF}li"),
        "/Author": tree.findtext(f".//{DC}creator//{RDF}li"),
        "/Subject": tree.findtext(f".//{DC}description//{RDF}li"),
        "/Keywords": tree.findtext(f".//{PDF}Keywords"),
        "/Producer": tree.findtext(f".//{PDF}Producer"),
        "/Creator": tree.findtext(f".//{XMP}CreatorTool"),
        "/CreationDate": _pdf_date(tree.findtext(f".//{XMP}CreateDate")),
        "/ModDate": _pdf_date(tree.findtext(f".//{XMP}ModifyDate")),
    }
    for key in sorted(info.keys() | pairs.keys()):
        if info.get(key) != pairs.get(key):
            yield f"6.6.3: {key} is {info.get(key)!r}, in XMP {pairs.get(key)!r}"


def _pdf_date(text: str | None) -> str:
    match = re.fullmatch(r"(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)([+-]\d\d):(\d\d)", text or "")
    return "" if match is None else "D:" + "".join(match.groups()[:7]) + f"'{match[8]}'"


def _enclosed(file: pikepdf.Pdf) -> Iterator[str]:
    associated = list(file.Root.get("/AF", []))
    for item in file.objects:
        if not isinstance(item, pikepdf.Dictionary) or "/EF" not in item:
            continue
        stream = item.EF.F
        if "/Subtype" not in stream or not re.fullmatch(r"/[a-z]+/[a-z0-9.+-]+", str(stream.Subtype)):
            yield "6.8-1: media type"
        if "/F" not in item or "/UF" not in item:
            yield "6.8-2: F and UF"
        if str(item.get("/AFRelationship")) not in (
            "/Source", "/Data", "/Alternative", "/Supplement", "/Unspecified"):  # fmt: skip
            yield "6.8-3: AFRelationship"
        if item.get("/Type") != "/Filespec" or stream.get("/Type") != "/EmbeddedFile":
            yield "6.8 (ISO 32000-1, 7.11.3, 7.11.4): types"
        if "/Params" not in stream or "/ModDate" not in stream.Params:
            yield "6.8 (from memory): modification date"
        if not any(one.objgen == item.objgen for one in associated):
            yield "6.8 (from memory): an enclosed file that nothing is associated with"


def _absent(file: pikepdf.Pdf) -> Iterator[str]:
    forbidden = {
        "/AA": "6.5.2-1", "/NeedsRendering": "6.4.2-2", "/Requirements": "6.11-1", "/OpenAction": "6.5.1 (no actions)",
        "/OCProperties": "6.9 (no optional content)", "/Collection": "no portfolio",
    }  # fmt: skip
    for key, clause in forbidden.items():
        if key in file.Root:
            yield f"{clause}: catalog has {key}"
    names = file.Root.get("/Names", {})
    for key in names:
        if key != "/EmbeddedFiles":
            yield f"6.10-1, 6.5.1: name tree {key}"
    for item in file.objects:
        if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/Action":
            yield "6.5.1-1: an action"
        if isinstance(item, pikepdf.Stream) and item.get("/Type") == "/XObject":
            yield from _image(item)


def _image(item: pikepdf.Stream) -> Iterator[str]:
    """A picture of red, green and blue, 8 bit each, and nothing beside it; no other external object is of use here."""
    if item.get("/Subtype") != "/Image":
        yield "6.2.9: an XObject that is no image"
        return
    for key, clause in {"/Alternates": "6.2.8-1", "/OPI": "6.2.8-2", "/Intent": "6.2.6-1 (unused)"}.items():
        if key in item:
            yield f"{clause}: an image with {key}"
    if bool(item.get("/Interpolate", False)):
        yield "6.2.8-3: an image that is interpolated"
    for key in ("/SMask", "/Mask", "/ImageMask", "/SMaskInData"):
        if key in item:
            yield f"6.2.10 (transparency unused): an image with {key}"
    if item.get("/ColorSpace") != "/DeviceRGB":
        yield "6.2.4.3: colours of an image other than those of the output intent"
    if int(item.get("/BitsPerComponent", 0)) != 8:
        yield "6.2.8-4: bits of a colour of an image"
    size = int(item.Width), int(item.Height)
    if item.Filter == "/DCTDecode" or list(item.get("/Filter", [])) == ["/DCTDecode"]:
        with Image.open(io.BytesIO(item.read_raw_bytes())) as picture:
            if (picture.size, picture.mode) != (size, "RGB"):
                yield "ISO 32000-1, 8.9.5: an image is not what its dictionary says"
    elif len(item.read_bytes()) != 3 * size[0] * size[1]:
        yield "ISO 32000-1, 8.9.5: an image is not what its dictionary says"
