"""A placed page onto paper: vector PDF with embedded fonts, the same bytes for the same page."""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import Any

from certgen.sheet import operators
from certgen.sheet.about import About
from certgen.sheet.container import Enclosure, contained
from certgen.sheet.fonts import REGULAR, font_name
from certgen.sheet.inks import black_or_paper
from certgen.sheet.logo import Logo
from certgen.sheet.place import Box, PlacedPage
from certgen.sheet.setting import ChartMark, Mark, PictureMark, RuleMark, TextMark
from certgen.sheet.svg_logo import DrawnLogo


def draw(page: PlacedPage, about: About, enclosures: Iterable[Enclosure] = ()) -> bytes:
    """The page, and those that follow it, as an archive-grade PDF with files enclosed."""
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
    for one in page.pages:
        canvas.setPageSize((one.width, one.height))
        for box in one.boxes:
            for mark in box.setting.marks:
                _draw_mark(canvas, mark, box, one)
        canvas.showPage()
    return contained(canvas._doc, about, enclosures, language=page.language)


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
            operators.text(canvas, (box.x + mark.x, top - box.y - mark.y), mark.text, mark.face, mark.size)
        case RuleMark():
            operators.stroke_with(canvas, mark.ink, mark.weight)
            y = top - box.y
            operators.outline(canvas, [(box.x + mark.x, y - mark.y), (box.x + mark.to_x, y - mark.to_y)], "S")
        case PictureMark():
            low = top - box.y - mark.y - mark.height
            _draw_picture(canvas, mark.picture, (box.x + mark.x, low, mark.width, mark.height), black=page.black)
        case ChartMark():
            below = top - box.y - mark.y - mark.height
            mark.paint(canvas, box.x + mark.x, below, mark.width, mark.height)


def _draw_picture(
    canvas: Any, logo: Logo | DrawnLogo, place: tuple[float, float, float, float], *, black: bool
) -> None:
    """A picture into a rectangle given by its lower left corner, width and height."""
    if isinstance(logo, DrawnLogo):
        logo.onto(canvas, place)
        return
    from PIL import Image
    from reportlab.lib.utils import ImageReader

    picture = Image.frombytes("RGB", (logo.width, logo.height), logo.pixels)
    if black:
        picture = picture.convert("L").point(lambda level: 255 * (level > 127)).convert("RGB")
    canvas.drawImage(ImageReader(picture), *place)
