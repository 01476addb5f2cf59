"""A placed page onto paper: vector PDF with embedded fonts, the same bytes for the same page."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from typing import Any

from certgen.job.pictures import Picture
from certgen.results.model import Results
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import Box, PlacedPage, compose
from certgen.sheet.engine.setting import ChartMark, FaceMark, Mark, PictureMark, RuleMark, SignMark, TextMark
from certgen.sheet.pdf import drawing
from certgen.sheet.pdf import pdf_operators as operators
from certgen.sheet.pdf.container import Enclosure, binary_streams, contained
from certgen.sheet.pdf.drawing import draw_mark
from certgen.sheet.pdf.fonts import BOLD, REGULAR, fitting_size, font_name, width
from certgen.sheet.pdf.logo import DrawnLogo, Logo
from certgen.sheet.pdf.metadata import About
from certgen.sheet.pdf.pdf_operators import black_or_paper
from certgen.sheet.pdf.structure import FIGURE, PARAGRAPH, Structure, Tag


def draw(page: PlacedPage, about: About, enclosures: Iterable[Enclosure] = (), *, across: str = "") -> bytes:
    """The page, and those that follow it, as an archive-grade PDF with files enclosed.

    ``across`` is a word in outline from corner to corner of each page, over all that stands there.
    """
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(
        io.BytesIO(),
        pagesize=(page.width, page.height),
        invariant=1,
        pageCompression=1,
        initialFontName=font_name(REGULAR),
    )
    if page.black:
        _blacken(canvas)
    structure = Structure(canvas)
    for one in page.pages:
        canvas.setPageSize((one.width, one.height))
        operators.draw_in(canvas, one.colours)
        structure.begin_page()
        for box in one.boxes:
            for mark in box.setting.marks:
                structure.draw_as(None if box.repeated else tag_of(mark), place_of(mark, box, one))
                _draw_mark(canvas, mark, box, one)
        if across:
            structure.draw_as(None)
            _draw_across(canvas, across, one)
        structure.end()
        canvas.showPage()
    return contained(canvas._doc, about, enclosures, language=page.language, structure=structure)


#: Of the word across a page: how much of the diagonal it takes, and its outline. [1, pt]
_ACROSS, _OUTLINE = 0.66, 1.4


def _draw_across(canvas: Any, word: str, page: PlacedPage) -> None:
    """A word from the lower left towards the upper right corner, in outline, so that what it crosses can be read."""
    diagonal = math.hypot(page.width, page.height)
    size = fitting_size(word, BOLD, page.height, _ACROSS * diagonal)
    canvas.saveState()
    canvas.translate(page.width / 2, page.height / 2)
    canvas.rotate(math.degrees(math.atan2(page.height, page.width)))
    operators.stroke_with(canvas, "muted", _OUTLINE)
    canvas._code.append("1 Tr")  # outline alone (ISO 32000-1, 9.3.6)
    operators.text(canvas, (-width(word, BOLD, size) / 2, -0.36 * size), word, BOLD, size)
    canvas.restoreState()


def tag_of(mark: Mark) -> Tag | None:
    """The element of the structure a mark belongs to: texts as they say, what is drawn with words for it a figure."""
    match mark:
        case TextMark():
            return mark.tag or Tag(PARAGRAPH)
        case ChartMark() | PictureMark():
            return Tag(FIGURE, alt=mark.alt) if mark.alt else None
        case _:
            return None


def place_of(mark: Mark, box: Box, page: PlacedPage) -> tuple[float, float, float, float] | None:
    """Where a chart or a picture stands: left, lower, right and upper edge from the lower left corner. [pt]"""
    if not isinstance(mark, ChartMark | PictureMark):
        return None
    left, top = box.x + mark.x, page.height - box.y - mark.y
    return left, top - mark.height, left + mark.width, top


def _blacken(canvas: Any) -> None:
    """Let a canvas draw every colour but the paper's in black."""
    operators.only_black(canvas)
    for name in ("setFillColorRGB", "setStrokeColorRGB"):
        colour = getattr(canvas, name)
        setattr(canvas, name, lambda *rgb, colour=colour: colour(*black_or_paper(*rgb)))


def _draw_mark(canvas: Any, mark: Mark, box: Box, page: PlacedPage) -> None:
    top = page.height
    match mark:
        case TextMark():
            operators.fill_with(canvas, mark.ink)
            # The blank behind it parts it from the next text, for readers that only put texts together.
            at = (box.x + mark.x, top - box.y - mark.y)
            operators.text(canvas, at, f"{mark.text} ", mark.face, mark.size)
        case RuleMark():
            operators.stroke_with(canvas, mark.ink, mark.weight, mark.dashes)
            y = top - box.y
            operators.outline(canvas, [(box.x + mark.x, y - mark.y), (box.x + mark.to_x, y - mark.to_y)], "S")
        case FaceMark():
            left, upper = box.x + mark.x, top - box.y - mark.y
            right, lower = left + mark.width, upper - mark.height
            operators.fill_with(canvas, mark.ink)
            operators.outline(canvas, [(left, upper), (right, upper), (right, lower), (left, lower)], "f")
        case SignMark():
            spot = (box.x + mark.x, top - box.y - mark.y)
            draw_mark(canvas, drawing.Mark(spot, mark.shape, mark.size, mark.fill, mark.edge, mark.weight))
        case PictureMark():
            low = top - box.y - mark.y - mark.height
            _draw_picture(canvas, mark.picture, (box.x + mark.x, low, mark.width, mark.height), black=page.black)
        case ChartMark():
            below = top - box.y - mark.y - mark.height
            mark.paint(canvas, box.x + mark.x, below, mark.width, mark.height)


def _draw_picture(
    canvas: Any, drawn: Logo | DrawnLogo | Picture, place: tuple[float, float, float, float], *, black: bool
) -> None:
    """A picture into a rectangle given by its lower left corner, width and height; a JPEG as it is, byte for byte."""
    if isinstance(drawn, DrawnLogo):
        drawn.onto(canvas, place)
        return
    from PIL import Image
    from reportlab.lib.utils import ImageReader

    source: Any
    if isinstance(drawn, Picture):
        source = io.BytesIO(drawn.data)
    else:
        source = Image.frombytes("RGB", (drawn.width, drawn.height), drawn.pixels)
    if black:
        grey = (Image.open(source) if isinstance(drawn, Picture) else source).convert("L")
        source = grey.point(lambda level: 255 * (level > 127)).convert("RGB")
    with binary_streams():
        canvas.drawImage(ImageReader(source), *place)


# Results and a layout in, the bytes of a one-page PDF out.


__all__ = ["PlacedPage", "about", "compose", "draw", "render"]


def render(results: Results, layout: Layout, *, paper: str, units: str) -> bytes:
    """The sheet as PDF: ``paper`` is a4 or letter, ``units`` si, us or both.

    Raises
    ------
    PageOverflow
        The content does not fit one page within the limits of the layout.
    """
    return draw(compose(results, layout, paper=paper, units=units), about(results, layout))


def about(results: Results, layout: Layout) -> About:
    """What the file says about itself: title with number, author, subject, verdict, program."""
    certificate, motor, made = results.certificate, results.motor, results.traceability
    kind = layout.blocks.heading.title or "Sheet"
    described = [part for part in (motor.maker, motor.model, motor.serial) if part]
    author = f"{certificate.tested_by}, {certificate.shop.name}" if certificate.shop else certificate.tested_by
    revision = f" revision {certificate.revision}" if certificate.revision > 1 else ""
    number = f"{certificate.number or ''}{revision}"
    return About(
        title=f"{kind} {number}".rstrip(),
        author=author,
        subject=", ".join([f"{motor.type} motor", *described]),
        number=number,
        verdict=results.verdict.outcome,
        program=f"{made.program} {made.version}",
        tested_on=certificate.tested_on,
    )
