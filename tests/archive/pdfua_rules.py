"""ISO 14289-1:2014 as checks over the objects of a file; nothing of the writer is used.

Clause and test numbers: the openly published validation profile "PDF/UA-1", of the veraPDF consortium (repository
veraPDF/veraPDF-validation-profiles, PDF_UA/PDFUA-1.xml), from memory. The rules of a structure are also what level A of
ISO 19005-3:2012 asks in 6.7. Rules for what a sheet never holds (annotations, forms, notes, formulas, media) are checked by
its absence.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pikepdf

#: Structure types of ISO 32000-1, 14.8.4, as far as a sheet uses them, with what each may stand in.
PARENTS = {
    "Document": {"StructTreeRoot"},
    "H1": {"Document"},
    "H2": {"Document"},
    "P": {"Document"},
    "Table": {"Document"},
    "TR": {"Table"},
    "TH": {"TR"},
    "TD": {"TR"},
    "L": {"Document"},
    "LI": {"L"},
    "LBody": {"LI"},
    "Figure": {"Document"},
}
#: Operators that paint; all others of a page set something or build a path.
_SHOWN = {"Tj", "TJ", "'", '"', "S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "sh", "Do", "BI"}
_LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")


def structure_violations(file: pikepdf.Pdf) -> list[str]:
    """Every rule of the structure that the file breaks: clause, then what is wrong."""
    elements = list(_walked(file))
    rules = (
        _catalog(file),
        _content(file),
        _types(elements),
        _figures(elements),
        _headings(elements),
        _tables(elements),
    )
    return [f"UA {told}" for rule in rules for told in rule]


def _catalog(file: pikepdf.Pdf) -> Iterator[str]:
    root = file.Root
    if not bool(root.get("/MarkInfo", {}).get("/Marked", False)):
        yield "6.2-1: the document is not marked as tagged"
    if bool(root.get("/MarkInfo", {}).get("/Suspects", False)):
        yield "7.1-6: suspects"
    if "/StructTreeRoot" not in root:
        yield "7.1-11: no structure tree"
    if not bool(root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False)):
        yield "7.1-10: the title is not displayed"
    if not _LANGUAGE.fullmatch(str(root.get("/Lang", ""))):
        yield "7.2-33, -34: no natural language"
    packet = root.Metadata.read_bytes() if "/Metadata" in root else b""
    if b"<pdfuaid:part>1</pdfuaid:part>" not in packet:
        yield "5-1, -2: identification"
    if not re.search(rb"<dc:title>.*?<rdf:li[^>]*>[^<]+</rdf:li>", packet, re.DOTALL):
        yield "7.1-9: no title"
    for page in file.pages:
        if "/Annots" in page:
            yield "7.18: an annotation"


def _content(file: pikepdf.Pdf) -> Iterator[str]:
    """Everything shown is marked, as content of one element or as an artifact, and each piece is in the parent tree."""
    numbers = file.Root.StructTreeRoot.ParentTree.Nums
    parents = {int(numbers[index]): numbers[index + 1] for index in range(0, len(numbers), 2)}
    for number, page in enumerate(file.pages, start=1):
        met: list[int] = []
        depth = 0
        for operands, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name in ("BMC", "BDC"):
                depth += 1
                if depth > 1:
                    yield f"7.1-1, -2: marked content within marked content, page {number}"
                if name == "BDC" and "/MCID" in operands[1]:
                    met.append(int(operands[1]["/MCID"]))
            elif name == "EMC":
                depth -= 1
            elif name in _SHOWN and not depth:
                yield f"7.1-3: {name} shows what is neither marked nor an artifact, page {number}"
        if depth:
            yield f"7.1: marked content without end, page {number}"
        listed = parents.get(int(page.obj.get("/StructParents", -1)))
        if met != list(range(len(met))) or listed is None or len(listed) != len(met):
            yield f"7.1: pieces and parent tree differ, page {number}"
            continue
        for piece, element in enumerate(listed):
            if piece not in _pieces(element, page.obj):
                yield f"7.1: piece {piece} is not that of its element, page {number}"


def _pieces(element: Any, page: Any) -> list[int]:
    """The pieces of a page that an element says it holds."""
    kids, found = element.get("/K", []), []
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        if isinstance(kid, int):
            found += [kid] if element.Pg.objgen == page.objgen else []
        elif kid.get("/Type") == "/MCR" and kid.Pg.objgen == page.objgen:
            found.append(int(kid.MCID))
    return found


def _walked(file: pikepdf.Pdf) -> Iterator[tuple[str, str, Any]]:
    """Type, type of the parent and element, in reading order; an element names its parent."""
    tree = file.Root.StructTreeRoot
    waiting = [(tree.K, "StructTreeRoot", tree)]
    while waiting:
        element, within, parent = waiting.pop()
        kind = str(element.S).lstrip("/")
        assert element.P.objgen == parent.objgen
        yield kind, within, element
        waiting += [(kid, kind, element) for kid in reversed(_kids(element))]


def _kids(element: Any) -> list[Any]:
    kids = element.get("/K", [])
    listed = kids if isinstance(kids, pikepdf.Array) else [kids]
    return [kid for kid in listed if isinstance(kid, pikepdf.Dictionary) and "/S" in kid]


def _types(elements: list[tuple[str, str, Any]]) -> Iterator[str]:
    for kind, within, _ in elements:
        if within not in PARENTS.get(kind, ()):
            yield f"7.1-5, 7.2-3 to -20: {kind} within {within}"


def _figures(elements: list[tuple[str, str, Any]]) -> Iterator[str]:
    for kind, _, element in elements:
        if kind != "Figure":
            continue
        if len(str(element.get("/Alt", "")).strip()) < 8:
            yield "7.3-1: a figure without alternative text"
        if len(element.get("/A", {}).get("/BBox", [])) != 4:
            yield "ISO 32000-1, 14.8.5.4.3: a figure without its place"


def _headings(elements: list[tuple[str, str, Any]]) -> Iterator[str]:
    levels = [int(kind[1]) for kind, _, _ in elements if re.fullmatch(r"H\d", kind)]
    if levels and levels[0] != 1:
        yield "7.4.2-1: the first heading is not of the first level"
    if any(after > before + 1 for before, after in pairwise(levels)):
        yield "7.4.2-1: a level of headings is left out"


def _tables(elements: list[tuple[str, str, Any]]) -> Iterator[str]:
    """Rows of equal length, and every header cell says which cells it is for."""
    for kind, _, element in elements:
        if kind == "TH" and str(element.get("/A", {}).get("/Scope", "")) not in ("/Row", "/Column"):
            yield "7.5-1: a header cell without scope"
        if kind == "Table":
            lengths = {len(_kids(row)) for row in _kids(element)}
            if len(lengths) != 1 or 0 in lengths:
                yield f"7.2-42, -43: rows of {sorted(lengths)} cells"
