"""A drawing as plain shapes, [pt] from its lower left corner, and its way onto a reportlab canvas."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from certgen.sheet.pdf import pdf_operators as operators
from certgen.sheet.pdf.fonts import REGULAR

Spot = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A line through spots, solid or dashed."""

    spots: tuple[Spot, ...]
    weight: float
    ink: str
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Area:
    """A filled area within corners."""

    corners: tuple[Spot, ...]
    ink: str


@dataclass(frozen=True)
class Mark:
    """A marker of a shape ('o', '^', 'v', 's', 'D', 'x', '_'), filled or with an edge; ``size`` is its width."""

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
    face: str = REGULAR


Shape = Line | Area | Mark | Letters


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
        canvas.setLineJoin(1)
        for shape in self.shapes:
            match shape:
                case Line():
                    _line(canvas, shape)
                case Area():
                    operators.fill_with(canvas, shape.ink)
                    operators.outline(canvas, shape.corners, "f")
                case Mark():
                    draw_mark(canvas, shape)
                case Letters():
                    _letters(canvas, shape)
        canvas.restoreState()


#: Corners of each shape of marker, in parts of its width.
OUTLINES: dict[str, tuple[Spot, ...]] = {
    "^": ((-0.5, -0.5), (0.5, -0.5), (0.0, 0.5)),
    "v": ((-0.5, 0.5), (0.5, 0.5), (0.0, -0.5)),
    "s": ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)),
    "D": ((0.0, -0.707), (0.707, 0.0), (0.0, 0.707), (-0.707, 0.0)),
}
#: Ends of the strokes of markers without a face, in parts of their width.
STROKES: dict[str, tuple[tuple[Spot, Spot], ...]] = {
    "x": (((-0.5, -0.5), (0.5, 0.5)), ((-0.5, 0.5), (0.5, -0.5))),
    "_": (((-0.5, 0.0), (0.5, 0.0)),),
}


def _line(canvas: Any, line: Line) -> None:
    operators.stroke_with(canvas, line.ink, line.weight, line.dashes)
    operators.outline(canvas, line.spots, "S")


def draw_mark(canvas: Any, mark: Mark) -> None:
    """A marker onto a canvas."""
    if mark.edge:
        operators.stroke_with(canvas, mark.edge, mark.weight)
    if mark.fill:
        operators.fill_with(canvas, mark.fill)
    painted = "b" if mark.edge and mark.fill else "s" if mark.edge else "f"
    x, y = mark.spot
    if mark.shape == "o":
        operators.circle(canvas, mark.spot, mark.size / 2, painted)
    elif mark.shape in STROKES:
        for ends in STROKES[mark.shape]:
            operators.outline(canvas, [(x + across * mark.size, y + up * mark.size) for across, up in ends], "S")
    else:
        corners = [(x + across * mark.size, y + up * mark.size) for across, up in OUTLINES[mark.shape]]
        operators.outline(canvas, corners, painted)


def _letters(canvas: Any, letters: Letters) -> None:
    operators.fill_with(canvas, letters.ink)
    if not letters.upward:
        operators.text(canvas, letters.spot, f"{letters.text} ", letters.face, letters.size)
        return
    canvas.saveState()
    canvas.translate(*letters.spot)
    canvas.rotate(90)
    operators.text(canvas, (0.0, 0.0), letters.text, letters.face, letters.size)
    canvas.restoreState()
