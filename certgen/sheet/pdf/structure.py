"""The structure of a document beside its drawing: headings, paragraphs, tables, lists and figures in reading order.

What a page draws stands between marks that name an element of the structure, or is marked as an artifact: rules,
shading, and what is repeated on every page. Readers that speak or reflow a page follow the elements.

Source: ISO 32000-1:2008, 14.6 to 14.8; what it must hold: ISO 14289-1:2014, 7.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

#: Roles, as ISO 32000-1, 14.8.4 has them.
DOCUMENT, PARAGRAPH, TITLE, HEADING = "Document", "P", "H1", "H2"
TABLE, ROW, HEAD_CELL, CELL = "Table", "TR", "TH", "TD"
LIST, ITEM, ITEM_BODY = "L", "LI", "LBody"
FIGURE = "Figure"
#: The cells that a header cell is for. ISO 32000-1, table 349.
OF_COLUMN, OF_ROW = "Column", "Row"

#: How repeated heads and feet, and whatever only decorates, are marked. ISO 32000-1, 14.8.2.2.
_ARTIFACT = "/Artifact BMC"
#: Longest alternative text: a string of a file has bounds (ISO 19005-3, 6.1.13).
_LONGEST = 8000

Spot = tuple[float, float, float, float]


@dataclass(eq=False)
class Tag:
    """One element: its role, the element it stands in, and what only some have. Two tags are never the same one."""

    role: str
    within: Tag | None = None
    scope: str = ""  # of a header cell
    parts: tuple[Tag, ...] = ()  # what it holds in this order, also where nothing of it is drawn: the cells of a row
    alt: str | Callable[[], str] = ""  # what stands for a figure where it cannot be seen


def row_of_cells(within: Tag, count: int, *, heads: int = 0, first: bool = False) -> tuple[Tag, ...]:
    """The cells of a new row of a table: so many headers of columns, then data; ``first`` is a header of its row."""
    row = Tag(ROW, within)
    row.parts = tuple(
        Tag(HEAD_CELL, row, OF_COLUMN)
        if index < heads
        else Tag(HEAD_CELL, row, OF_ROW)
        if first and not index
        else Tag(CELL, row)
        for index in range(count)
    )
    return row.parts


@dataclass(eq=False)
class _Element:
    """An element with what it holds in order: other elements, and pieces of pages by page and number."""

    tag: Tag
    role: str
    kids: list[_Element | tuple[int, int]] = field(default_factory=list)
    box: Spot | None = None


class Structure:
    """The structure of a document while its pages are drawn."""

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._root = _Element(Tag(DOCUMENT), DOCUMENT)
        self._titled = False
        self._known: dict[Tag, _Element] = {}
        self._pages: list[list[_Element]] = []
        self._open: Tag | None = None
        self._marked = False
        self._scopes: dict[str, Any] = {}  # what header cells share

    def begin_page(self) -> None:
        """From here on a new page is drawn."""
        self._pages.append([])

    def draw_as(self, tag: Tag | None, box: Spot | None = None) -> None:
        """What is drawn from here on belongs to an element, or to none; ``box`` is its place on the page. [pt]"""
        if self._marked and tag is self._open:
            return
        self.end()
        self._open, self._marked = tag, True
        if tag is None:
            self._canvas._code.append(_ARTIFACT)
            return
        element, page = self._element(tag), self._pages[-1]
        element.kids.append((len(self._pages) - 1, len(page)))
        element.box = element.box or box
        self._canvas._code.append(f"/{element.role} <</MCID {len(page)}>> BDC")
        page.append(element)

    def end(self) -> None:
        """The piece that is open ends here."""
        if self._marked:
            self._canvas._code.append("EMC")
        self._open, self._marked = None, False

    def _element(self, tag: Tag) -> _Element:
        """The element of a tag, put where it belongs when it is first met."""
        if tag not in self._known:
            parent = self._root if tag.within is None else self._element(tag.within)
            if tag not in self._known:  # it was not brought along by its parent
                self._known[tag] = element = _Element(tag, self._role(tag))
                parent.kids.append(element)
                for part in tag.parts:
                    self._element(part)
        return self._known[tag]

    def _role(self, tag: Tag) -> str:
        """Its role; the first heading of a document is one of the first level (ISO 14289-1, 7.4.2)."""
        self._titled = self._titled or tag.role == TITLE
        return TITLE if tag.role == HEADING and not self._titled else tag.role

    # Into the file.

    def entries(self, document: Any) -> dict[str, Any]:
        """What the catalog says of the structure; the pages of the document point to it."""
        from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary

        pages = document.Pages.pages
        root = PDFDictionary({"Type": "/StructTreeRoot"})
        reference = document.Reference(root)
        references: dict[_Element, Any] = {}
        root.dict["K"] = self._written(self._root, reference, document, references)
        numbers: list[Any] = []
        for index, (page, elements) in enumerate(zip(pages, self._pages, strict=True)):
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents"]
            page.StructParents = index
            numbers += [index, document.Reference(PDFArray([references[element] for element in elements]))]
        root.dict["ParentTree"] = document.Reference(PDFDictionary({"Nums": PDFArray(numbers)}))
        root.dict["ParentTreeNextKey"] = len(self._pages)
        return {"MarkInfo": PDFDictionary({"Marked": "true"}), "StructTreeRoot": reference}

    def _written(self, element: _Element, parent: Any, document: Any, references: dict[_Element, Any]) -> Any:
        """An element and all it holds as objects; its own reference."""
        from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFString

        entries: dict[str, Any] = {"S": f"/{element.role}", "P": parent}
        made = PDFDictionary(entries)
        references[element] = reference = document.Reference(made)
        alt = element.tag.alt() if callable(element.tag.alt) else element.tag.alt
        if alt:
            made.dict["Alt"] = PDFString(alt if len(alt) <= _LONGEST else f"{alt[:_LONGEST]} ..")
        attributes = self._attributes(element, document)
        if attributes is not None:
            made.dict["A"] = attributes
        if element.kids:
            kids = [self._kid(kid, element, reference, document, references) for kid in element.kids]
            made.dict["K"] = PDFArray(kids) if len(kids) > 1 else kids[0]
        first = next((kid for kid in element.kids if isinstance(kid, tuple)), None)
        if first is not None:
            made.dict["Pg"] = _page(document, first[0])
        return reference

    def _attributes(self, element: _Element, document: Any) -> Any:
        """The cells a header cell is for; where a figure stands. ISO 32000-1, 14.8.5.7 and 14.8.5.4.3."""
        from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary

        scope = element.tag.scope
        if scope:
            if scope not in self._scopes:
                self._scopes[scope] = document.Reference(PDFDictionary({"O": "/Table", "Scope": f"/{scope}"}))
            return self._scopes[scope]
        if element.role == FIGURE and element.box is not None:
            box = PDFArray([round(edge, 2) for edge in element.box])
            return PDFDictionary({"O": "/Layout", "BBox": box, "Placement": "/Block"})
        return None

    def _kid(
        self,
        kid: _Element | tuple[int, int],
        element: _Element,
        reference: Any,
        document: Any,
        references: dict[_Element, Any],
    ) -> Any:
        """An inner element, or a piece of a page: by its number alone where the page is the element's own."""
        from reportlab.pdfbase.pdfdoc import PDFDictionary

        if isinstance(kid, _Element):
            return self._written(kid, reference, document, references)
        page, number = kid
        first = next(one for one in element.kids if isinstance(one, tuple))
        if page == first[0]:
            return number
        return PDFDictionary({"Type": "/MCR", "Pg": _page(document, page), "MCID": number})


def _page(document: Any, index: int) -> Any:
    return document.Reference(document.Pages.pages[index])
