"""A shop's own logo from an untrusted file: a PNG, bounded before it is decoded and opaque afterwards, or an SVG."""

from __future__ import annotations

import io
import logging
import math
import re
import struct
import warnings
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from certgen.document.references import find, shown_name
from certgen.document.source import read_bounded
from certgen.errors import InputError
from certgen.job.load import LoadedJob

# Why a file cannot be a logo, and the bounds that pictures and drawings share.


#: Longest side to the shortest.
MOST_RATIO = 12.0
SAVE_AS_PNG = "save the logo as a PNG of at most 3000 pixels a side"


class LogoRefused(ValueError):
    """The file cannot be used as a logo: what is wrong, and what to do instead."""

    def __init__(self, what: str, instead: str = SAVE_AS_PNG) -> None:
        self.what, self.instead = what, instead
        super().__init__(f"{what}; {instead}")


# An SVG drawing from an untrusted file, cut down to plain shapes before anything else reads it.
#
# What is not known to be harmless is refused: nothing is fetched, run or expanded. SVG: W3C SVG 1.1 (Second Edition).


_SVG = "{http://www.w3.org/2000/svg}"
#: Elements that draw, hold others, or style them.
_SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
_KNOWN = frozenset(("svg", "g", "defs", "style", *_SHAPES))
#: Elements that draw nothing: taken out.
_SILENT = frozenset(("title", "desc", "metadata"))
#: What other elements would take instead.
_INSTEAD = {
    "text": "turn texts into paths",
    "tspan": "turn texts into paths",
    "use": "write every copy out",
    "linearGradient": "fill with plain colours",
    "radialGradient": "fill with plain colours",
}
_PLAIN = "save the logo as a plain SVG of filled paths, or as a PNG"
#: Bounds: elements, depth, text of style sheets.
_MOST_ELEMENTS, _DEEPEST, _MOST_STYLE = 3000, 40, 20_000
#: Properties that make transparent or cut out.
_EFFECTS = ("filter", "mask", "clip-path", "mix-blend-mode", "clip")
_EFFECT = re.compile(rf"(?:^|[;{{\s])({'|'.join(_EFFECTS)})\s*:\s*(?!none\b)", re.IGNORECASE)
_OPACITY = re.compile(r"opacity\s*:\s*([^;}\s]*)", re.IGNORECASE)


def checked(data: bytes) -> bytes:
    """The same drawing with nothing in it but plain, opaque shapes.

    Raises
    ------
    LogoRefused
        It is no SVG, is too large, or holds anything else.
    """
    root = _parsed(data)
    if root.tag != f"{_SVG}svg":
        raise LogoRefused("the drawing does not begin with <svg> in the vocabulary of SVG", _PLAIN)
    _strip(root)
    for element in root.iter():
        _check_attributes(element)
    safe: bytes = ElementTree.tostring(root, encoding="utf-8")
    return safe


def _parsed(data: bytes) -> Any:
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    try:
        return fromstring(data, forbid_dtd=True)
    except DefusedXmlException as cause:
        raise LogoRefused("the drawing has a document type or entities", _PLAIN) from cause
    except (ElementTree.ParseError, ValueError, LookupError) as cause:
        raise LogoRefused("the drawing is no well-formed XML", _PLAIN) from cause


def _strip(root: Any) -> None:
    """Take out what draws nothing; refuse every element that is not known, too many, and too deep."""
    waiting, count = [(root, 1)], 0
    while waiting:
        element, depth = waiting.pop()
        count += 1
        if count > _MOST_ELEMENTS or depth > _DEEPEST:
            raise LogoRefused(
                f"the drawing has more than {_MOST_ELEMENTS} parts, or {_DEEPEST} within one another", _PLAIN
            )
        for inner in list(element):
            if not isinstance(inner.tag, str) or not inner.tag.startswith(_SVG) or _name(inner) in _SILENT:
                element.remove(inner)
                continue
            if _name(inner) not in _KNOWN:
                instead = _INSTEAD.get(_name(inner), _PLAIN)
                raise LogoRefused(f"the drawing holds <{_name(inner)[:40]}>, which a logo may not", instead)
            waiting.append((inner, depth + 1))
        _check_style_sheet(element)


def _name(element: Any) -> str:
    return str(element.tag).removeprefix(_SVG)


def _check_style_sheet(element: Any) -> None:
    if _name(element) == "style":
        if len(element.text or "") > _MOST_STYLE or len(element):
            raise LogoRefused("the drawing's style sheet is too long", _PLAIN)
        _check_style(element.text or "")
        if "@" in (element.text or ""):
            raise LogoRefused("the drawing's style sheet has a rule that begins with @", _PLAIN)
    elif (element.text or "").strip():
        element.text = None


def _check_style(text: str) -> None:
    """Declarations without references, escapes, effects or transparency."""
    lowered = text.lower()
    if "\\" in text or "url" in lowered or "/*" in text or "expression" in lowered:
        raise LogoRefused("the drawing's styles hold references, escapes or comments", "fill with plain colours")
    if _EFFECT.search(text):
        raise LogoRefused("the drawing cuts out or blends shapes", "draw each shape as it is to be seen")
    for value in _OPACITY.findall(text):
        _check_opacity(value)


def _check_opacity(value: str) -> None:
    if value.strip() not in ("1", "1.0", "100%"):
        raise LogoRefused("the drawing is transparent in parts", "make every shape opaque")


def _check_attributes(element: Any) -> None:
    """Attributes of other vocabularies taken out; no script, no reference, no effect, no transparency."""
    for name, value in list(element.attrib.items()):
        plain = name.rpartition("}")[2].lower()
        if plain == "href" or plain.startswith("on") or plain == "src":
            raise LogoRefused(f"the drawing holds the attribute {plain[:40]}, which a logo may not", _PLAIN)
        if name.startswith("{"):
            del element.attrib[name]
        elif plain.endswith("opacity"):
            _check_opacity(value)
        elif plain in _EFFECTS and value.strip().lower() != "none":
            raise LogoRefused("the drawing cuts out or blends shapes", "draw each shape as it is to be seen")
        elif plain == "style" or "url" in value.lower() or "\\" in value:
            _check_style(value)


# A shop's logo as an SVG drawing: plain shapes on the page, sharp at every size.


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

    except ImportError as cause:
        raise LogoRefused("this is an SVG drawing", _INSTALL) from cause
    safe = checked(data)
    logging.getLogger("svglib.svglib").setLevel(logging.CRITICAL)  # what it cannot read shows by what is missing
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


# A shop's own logo from an untrusted file: a PNG, bounded before it is decoded and opaque afterwards, or an SVG.


#: Bounds on the file and the picture. A logo of 30 mm at 600 dots an inch has 709 pixels across.
MOST_BYTES = 512_000
MOST_SIDE = 3000
MOST_PIXELS = 4_000_000

_PNG = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True)
class Logo:
    """A picture in red, green and blue, row by row, a byte each."""

    width: int
    height: int
    pixels: bytes

    @property
    def ratio(self) -> float:
        """Width to height."""
        return self.width / self.height


def logo_of(loaded: LoadedJob) -> Logo | DrawnLogo | None:
    """The shop's logo, where the job names one.

    Raises
    ------
    InputError
        The file is absent, or cannot be used as a logo.
    """
    reference, problems = loaded.job.sheet.logo, loaded.reader.problems
    if reference is None:
        return None
    path = find(reference, loaded.reader, loaded.folder, "sheet.logo")
    shown = shown_name(loaded.reader, reference)
    try:
        if path is not None and path.is_file() and path.stat().st_size > MOST_BYTES:
            raise LogoRefused(f"the file is larger than {MOST_BYTES // 1000} kB")
        data = None if path is None else read_bounded(path, shown, problems)
        logo = None if data is None else read_logo(data)
    except LogoRefused as refused:
        problems.add(shown, (0, 0), f"sheet.logo: {refused.what}", refused.instead)
        logo = None
    if logo is None:
        raise InputError(problems.found)
    return logo


def read_logo(data: bytes) -> Logo | DrawnLogo:
    """A PNG as a picture on white, an SVG as plain shapes.

    Raises
    ------
    LogoRefused
        It is neither, too large, out of proportion, or damaged.
    """
    if len(data) > MOST_BYTES:
        raise LogoRefused(f"the file is larger than {MOST_BYTES // 1000} kB")
    if not data.startswith(_PNG):
        if b"<svg" not in data.lower():
            raise LogoRefused("this is neither a PNG picture nor an SVG drawing")
        return read_svg(data)
    if len(data) < 33 or data[12:16] != b"IHDR":
        raise LogoRefused("the picture is damaged at its beginning")
    width, height = struct.unpack(">II", data[16:24])
    _check_size(width, height)
    return _decoded(data)


def _check_size(width: int, height: int) -> None:
    if not (0 < width <= MOST_SIDE and 0 < height <= MOST_SIDE and width * height <= MOST_PIXELS):
        raise LogoRefused(f"the picture has {width} by {height} pixels", f"make it at most {MOST_SIDE} a side")
    if max(width / height, height / width) > MOST_RATIO:
        what = f"the picture has {width} by {height} pixels, too narrow a strip"
        raise LogoRefused(what, f"keep its sides within 1 to {MOST_RATIO:g}")


def _decoded(data: bytes) -> Logo:
    """The whole picture decoded, its transparent parts white."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            Image.open(io.BytesIO(data), formats=["PNG"]).verify()
            picture = Image.open(io.BytesIO(data), formats=["PNG"]).convert("RGBA")
            on_white = Image.new("RGBA", picture.size, "white")
            on_white.alpha_composite(picture)
            plain = on_white.convert("RGB")
    except (
        UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError, EOFError, IndexError,
        KeyError, TypeError, OverflowError, MemoryError, struct.error, zlib.error, Warning,
    ) as cause:  # fmt: skip
        raise LogoRefused("the picture is damaged") from cause
    return Logo(plain.width, plain.height, plain.tobytes())
