"""A drawing as plain shapes, [pt] from its lower left corner, and its way onto a reportlab canvas."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from certgen.sheet.fonts import REGULAR
from certgen.sheet.inks import INKS
from certgen.sheet.lettering import draw_text

Spot = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A line through spots, solid or dashed."""

    spots: tuple[Spot, ...]
    weight: float
    ink: str
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Mark:
    """A marker of a shape ('o', '^', 's', 'D', 'x', '_'), filled or with an edge; ``size`` is its width."""

    spot: Spot
    shape: str
    size: float
    fill: str = ""
    edge: str = ""
    weight: float = 0.0


@dataclass(frozen=True)
class Letters:
    """A text from its left end on the baseline, or turned to read upward."""

    spot: Spot
    text: str
    size: float
    ink: str
    upward: bool = False


Shape = Line | Mark | Letters


@dataclass
class Drawing:
    """Shapes in the order in which they are drawn."""

    width: float
    height: float
    shapes: list[Shape] = field(default_factory=list)

    def onto(self, canvas: Any, x: float, y: float) -> None:
        """Draw it with its lower left corner here."""
        canvas.saveState()
        canvas.translate(x, y)
        for shape in self.shapes:
            match shape:
                case Line():
                    _line(canvas, shape)
                case Mark():
                    _mark(canvas, shape)
                case Letters():
                    _letters(canvas, shape)
        canvas.restoreState()


#: Corners of each shape of marker, in parts of its width.
OUTLINES: dict[str, tuple[Spot, ...]] = {
    "^": ((-0.5, -0.5), (0.5, -0.5), (0.0, 0.5)),
    "s": ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)),
    "D": ((0.0, -0.707), (0.707, 0.0), (0.0, 0.707), (-0.707, 0.0)),
}
#: Ends of the strokes of markers without a face, in parts of their width.
STROKES: dict[str, tuple[tuple[Spot, Spot], ...]] = {
    "x": (((-0.5, -0.5), (0.5, 0.5)), ((-0.5, 0.5), (0.5, -0.5))),
    "_": (((-0.5, 0.0), (0.5, 0.0)),),
}


def _stroke(canvas: Any, ink: str, weight: float, dashes: tuple[float, ...] = ()) -> None:
    canvas.setStrokeColorRGB(*INKS[ink])
    canvas.setLineWidth(weight)
    canvas.setDash(list(dashes))


def _line(canvas: Any, line: Line) -> None:
    _stroke(canvas, line.ink, line.weight, line.dashes)
    canvas.setLineJoin(1)
    outline = canvas.beginPath()
    outline.moveTo(*line.spots[0])
    for spot in line.spots[1:]:
        outline.lineTo(*spot)
    canvas.drawPath(outline, stroke=1, fill=0)


def _mark(canvas: Any, mark: Mark) -> None:
    if mark.edge:
        _stroke(canvas, mark.edge, mark.weight)
    if mark.fill:
        canvas.setFillColorRGB(*INKS[mark.fill])
    how = {"stroke": int(bool(mark.edge)), "fill": int(bool(mark.fill))}
    (x, y), half = mark.spot, mark.size / 2
    if mark.shape == "o":
        canvas.circle(x, y, half, **how)
        return
    outline = canvas.beginPath()
    if mark.shape in STROKES:
        for (from_x, from_y), (to_x, to_y) in STROKES[mark.shape]:
            outline.moveTo(x + from_x * mark.size, y + from_y * mark.size)
            outline.lineTo(x + to_x * mark.size, y + to_y * mark.size)
    else:
        corners = [(x + across * mark.size, y + up * mark.size) for across, up in OUTLINES[mark.shape]]
        outline.moveTo(*corners[0])
        for corner in corners[1:]:
            outline.lineTo(*corner)
        outline.close()
    canvas.drawPath(outline, **how)


def _letters(canvas: Any, letters: Letters) -> None:
    canvas.setFillColorRGB(*INKS[letters.ink])
    if not letters.upward:
        draw_text(canvas, letters.spot, letters.text, REGULAR, letters.size)
        return
    canvas.saveState()
    canvas.translate(*letters.spot)
    canvas.rotate(90)
    draw_text(canvas, (0.0, 0.0), letters.text, REGULAR, letters.size)
    canvas.restoreState()
