"""A shop's logo as an SVG drawing: plain shapes on the page, sharp at every size."""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from certgen.sheet.logo_refused import MOST_RATIO, LogoRefused

Matrix = tuple[float, float, float, float, float, float]
Colour = tuple[float, float, float]

#: Part of a radius at which the handles of a quarter circle stand as a cubic curve: 4/3 (sqrt 2 - 1).
_HANDLE = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)
_FARTHEST = 1e5
_MOST_STEPS = 200_000
_INSTALL = "install what draws it with pip install 'certgen[logo]', or save the logo as a PNG"
_DAMAGED = "the drawing is damaged"
#: How many numbers each step of a path takes, by reportlab's numbers for them: move, line, curve, close.
_NUMBERS = (2, 2, 6, 0)


@dataclass(frozen=True)
class Outline:
    """One shape: steps of its path, each with its numbers, and how it is painted; ``None`` for no fill or no stroke."""

    steps: tuple[tuple[int, tuple[float, ...]], ...]
    fill: Colour | None
    stroke: Colour | None
    weight: float
    dashes: tuple[float, ...] = ()
    cap: int = 0
    join: int = 0
    even_odd: bool = False


@dataclass(frozen=True)
class DrawnLogo:
    """A drawing of shapes, from its lower left corner."""

    width: float
    height: float
    outlines: tuple[Outline, ...]

    @property
    def ratio(self) -> float:
        """Width to height."""
        return self.width / self.height

    def onto(self, canvas: Any, place: tuple[float, float, float, float]) -> None:
        """Draw it into a rectangle given by its lower left corner, width and height; nothing beyond it."""
        x, y, wide, high = place
        canvas.saveState()
        canvas.translate(x, y)
        frame = canvas.beginPath()
        frame.rect(0.0, 0.0, wide, high)
        canvas.clipPath(frame, stroke=0, fill=0)
        canvas.scale(wide / self.width, high / self.height)
        for outline in self.outlines:
            _paint(canvas, outline)
        canvas.restoreState()


def _paint(canvas: Any, outline: Outline) -> None:
    path = canvas.beginPath()
    draw = (path.moveTo, path.lineTo, path.curveTo, path.close)
    for step, numbers in outline.steps:
        draw[step](*numbers)
    if outline.fill is not None:
        canvas.setFillColorRGB(*outline.fill)
    if outline.stroke is not None:
        canvas.setStrokeColorRGB(*outline.stroke)
        canvas.setLineWidth(outline.weight)
        canvas.setLineCap(outline.cap)
        canvas.setLineJoin(outline.join)
        canvas.setDash(list(outline.dashes))
    how = {"stroke": int(outline.stroke is not None), "fill": int(outline.fill is not None)}
    canvas.drawPath(path, **how, fillMode=0 if outline.even_odd else 1)


def read_svg(data: bytes) -> DrawnLogo:
    """An SVG drawing as plain shapes.

    Raises
    ------
    LogoRefused
        It holds anything else, is out of proportion or damaged, or what reads it is not installed.
    """
    try:
        import defusedxml  # noqa: F401
        from svglib.svglib import svg2rlg

        from certgen.sheet.svg_check import checked
    except ImportError as cause:
        raise LogoRefused("this is an SVG drawing", _INSTALL) from cause
    safe = checked(data)
    logging.getLogger("svglib.svglib").setLevel(logging.CRITICAL)  # what it cannot read is told by what is missing
    try:
        drawing = svg2rlg(io.BytesIO(safe))
    except Exception as cause:  # whatever a foreign reader raises on a harmful file
        raise LogoRefused(_DAMAGED) from cause
    if drawing is None:
        raise LogoRefused(_DAMAGED)
    return _logo(drawing)


def _logo(drawing: Any) -> DrawnLogo:
    width, height = float(drawing.width), float(drawing.height)
    if not (0.0 < width < _FARTHEST and 0.0 < height < _FARTHEST):
        raise LogoRefused("the drawing has no size", "give it a width, a height or a viewBox")
    if max(width / height, height / width) > MOST_RATIO:
        raise LogoRefused("the drawing is too narrow a strip", f"keep its sides within 1 to {MOST_RATIO:g}")
    outlines = tuple(outline for outline in _outlines(drawing, (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)) if outline.steps)
    if not outlines:
        raise LogoRefused("the drawing shows nothing")
    numbers = [number for outline in outlines for _, step in outline.steps for number in step]
    if len(numbers) > _MOST_STEPS or not all(abs(number) < _FARTHEST for number in numbers):
        raise LogoRefused("the drawing is too large, or has points far beyond itself")
    return DrawnLogo(width, height, outlines)


def _outlines(node: Any, matrix: Matrix) -> Iterator[Outline]:
    """Every shape within a node, its points in the drawing's own measure."""
    if hasattr(node, "contents"):
        inner = _times(matrix, tuple(map(float, node.transform)))
        for one in node.contents:
            yield from _outlines(one, inner)
        return
    fill, stroke = _colour(node, "fill"), _colour(node, "stroke")
    if type(node).__name__ == "NoStrokePath":
        stroke = None
    if (fill is None and stroke is None) or getattr(node, "isClipPath", False):
        return
    scale = math.sqrt(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]))
    yield Outline(
        steps=tuple((step, _moved(numbers, matrix)) for step, numbers in _steps(node)),
        fill=fill,
        stroke=stroke,
        weight=float(node.strokeWidth or 0.0) * scale,
        dashes=tuple(float(length) * scale for length in node.strokeDashArray or ()),
        cap=int(node.strokeLineCap or 0),
        join=int(node.strokeLineJoin or 0),
        even_odd=getattr(node, "fillMode", None) == 0,
    )


def _colour(node: Any, kind: str) -> Colour | None:
    """The colour of fill or stroke; ``None`` for none."""
    from reportlab.lib.colors import CMYKColor

    colour, opacity = getattr(node, f"{kind}Color", None), getattr(node, f"{kind}Opacity", None)
    if colour is None:
        return None
    if (opacity is not None and opacity < 1.0) or colour.alpha < 1.0:
        raise LogoRefused("the drawing is transparent in parts", "make every shape opaque")
    if isinstance(colour, CMYKColor):
        raise LogoRefused("the drawing has colours for printing plates", "use colours of red, green and blue")
    return float(colour.red), float(colour.green), float(colour.blue)


def _steps(node: Any) -> Iterator[tuple[int, tuple[float, ...]]]:
    """The steps of a shape's path: 0 move, 1 line, 2 curve, 3 close."""
    match type(node).__name__:
        case "Path" | "NoStrokePath":
            yield from _path_steps(node)
        case "Rect":
            yield from _rectangle(node)
        case "Circle":
            yield from _oval((node.cx, node.cy), (node.r, node.r))
        case "Ellipse":
            yield from _oval((node.cx, node.cy), (node.rx, node.ry))
        case "Line":
            yield from _corners((node.x1, node.y1, node.x2, node.y2), closed=False)
        case "PolyLine":
            yield from _corners(node.points, closed=False)
        case "Polygon":
            yield from _corners(node.points, closed=True)
        case other:
            raise LogoRefused(f"the drawing holds a {other.lower()}, which a logo may not", "save it as filled paths")


def _path_steps(node: Any) -> Iterator[tuple[int, tuple[float, ...]]]:
    at = 0
    for step in node.operators:
        yield step, tuple(node.points[at : at + _NUMBERS[step]])
        at += _NUMBERS[step]


def _corners(points: Sequence[float], *, closed: bool) -> Iterator[tuple[int, tuple[float, ...]]]:
    for index in range(0, len(points) - 1, 2):
        yield (1 if index else 0), (points[index], points[index + 1])
    if closed:
        yield 3, ()


def _rectangle(node: Any) -> Iterator[tuple[int, tuple[float, ...]]]:
    """A rectangle, its corners rounded where it says so."""
    left, low, right, top = node.x, node.y, node.x + node.width, node.y + node.height
    rx, ry = min(node.rx or 0.0, node.width / 2.0), min(node.ry or 0.0, node.height / 2.0)
    if not (rx > 0.0 and ry > 0.0):
        yield from _corners((left, low, right, low, right, top, left, top), closed=True)
        return
    bx, by = rx * (1.0 - _HANDLE), ry * (1.0 - _HANDLE)
    yield 0, (left + rx, low)
    yield 1, (right - rx, low)
    yield 2, (right - bx, low, right, low + by, right, low + ry)
    yield 1, (right, top - ry)
    yield 2, (right, top - by, right - bx, top, right - rx, top)
    yield 1, (left + rx, top)
    yield 2, (left + bx, top, left, top - by, left, top - ry)
    yield 1, (left, low + ry)
    yield 2, (left, low + by, left + bx, low, left + rx, low)
    yield 3, ()


def _oval(middle: tuple[float, float], radii: tuple[float, float]) -> Iterator[tuple[int, tuple[float, ...]]]:
    (x, y), (rx, ry) = middle, radii
    hx, hy = rx * _HANDLE, ry * _HANDLE
    yield 0, (x + rx, y)
    yield 2, (x + rx, y + hy, x + hx, y + ry, x, y + ry)
    yield 2, (x - hx, y + ry, x - rx, y + hy, x - rx, y)
    yield 2, (x - rx, y - hy, x - hx, y - ry, x, y - ry)
    yield 2, (x + hx, y - ry, x + rx, y - hy, x + rx, y)
    yield 3, ()


def _times(outer: Matrix, inner: Sequence[float]) -> Matrix:
    """The matrix that does the inner first, then the outer."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f


def _moved(numbers: Sequence[float], matrix: Matrix) -> tuple[float, ...]:
    """Points, two numbers each, through a matrix."""
    a, b, c, d, e, f = matrix
    moved: list[float] = []
    for x, y in zip(numbers[::2], numbers[1::2], strict=True):
        moved += (a * x + c * y + e, b * x + d * y + f)
    return tuple(moved)
