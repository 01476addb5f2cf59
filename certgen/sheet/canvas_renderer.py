"""Draws matplotlib artists straight onto a reportlab canvas: vector paths, and text in the sheet's own typeface.

At 72 dots an inch one matplotlib pixel is one point, so coordinates pass through unchanged.
"""

from __future__ import annotations

from typing import Any

from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.path import Path
from matplotlib.transforms import Transform

from certgen.sheet.fonts import BOLD, REGULAR, width
from certgen.sheet.lettering import draw_text

DPI = 72.0

#: Height of a line of text above and below the baseline, in parts of the text size.
_ASCENT, _DESCENT = 0.75, 0.21
_CAPS = {"butt": 0, "round": 1, "projecting": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2}


class CanvasRenderer(RendererBase):
    """Draws within a rectangle of the page, given by its lower left corner and size in points."""

    def __init__(self, canvas: Any, corner: tuple[float, float], size: tuple[float, float]) -> None:
        super().__init__()
        self._canvas = canvas
        self._corner = corner
        self._size = size

    def draw_path(
        self,
        gc: GraphicsContextBase,
        path: Path,
        transform: Transform,
        rgbFace: Any = None,  # noqa: N803
    ) -> None:
        """A path, stroked with the context's line and filled where a face colour is given."""
        stroke = gc.get_linewidth() > 0.0 and gc.get_rgb()[3] > 0.0
        fill = rgbFace is not None and (len(rgbFace) < 4 or rgbFace[3] > 0.0)
        if not stroke and not fill:
            return
        self._canvas.saveState()
        self._clip(gc)
        if stroke:
            self._set_line(gc)
        if fill:
            self._canvas.setFillColorRGB(*(float(part) for part in rgbFace[:3]))
        self._canvas.drawPath(self._outline(path, transform), stroke=int(stroke), fill=int(fill))
        self._canvas.restoreState()

    def _outline(self, path: Path, transform: Transform) -> Any:
        """The path as the canvas knows it."""
        dx, dy = self._corner
        outline = self._canvas.beginPath()
        here = (0.0, 0.0)
        for vertices, code in path.iter_segments(transform, remove_nans=True, simplify=False):
            points = [float(value) + (dy if index % 2 else dx) for index, value in enumerate(vertices)]
            if code == Path.MOVETO:
                outline.moveTo(*points)
            elif code == Path.LINETO:
                outline.lineTo(*points)
            elif code == Path.CURVE3:
                outline.curveTo(*_as_cubic(here, points))
            elif code == Path.CURVE4:
                outline.curveTo(*points)
            elif code == Path.CLOSEPOLY:
                outline.close()
                continue
            here = (points[-2], points[-1])
        return outline

    def _clip(self, gc: GraphicsContextBase) -> None:
        rectangle: Any = gc.get_clip_rectangle()
        if rectangle is None:
            return
        dx, dy = self._corner
        outline = self._canvas.beginPath()
        outline.rect(rectangle.x0 + dx, rectangle.y0 + dy, rectangle.width, rectangle.height)
        self._canvas.clipPath(outline, stroke=0, fill=0)

    def _set_line(self, gc: GraphicsContextBase) -> None:
        self._canvas.setStrokeColorRGB(*(float(part) for part in gc.get_rgb()[:3]))
        self._canvas.setLineWidth(float(gc.get_linewidth()))
        self._canvas.setLineCap(_CAPS[str(gc.get_capstyle())])
        self._canvas.setLineJoin(_JOINS[str(gc.get_joinstyle())])
        dashing: Any = gc.get_dashes()
        offset, dashes = dashing
        if dashes is not None:
            self._canvas.setDash([float(dash) for dash in dashes], float(offset or 0.0))

    def draw_text(  # noqa: PLR0917 - matplotlib's own signature
        self,
        gc: GraphicsContextBase,
        x: float,
        y: float,
        s: str,
        prop: Any,
        angle: float,
        ismath: Any = False,
        mtext: Any = None,
    ) -> None:
        """A text from its left end on the baseline, turned by an angle in degrees."""
        dx, dy = self._corner
        self._canvas.saveState()
        self._canvas.setFillColorRGB(*(float(part) for part in gc.get_rgb()[:3]))
        self._canvas.translate(x + dx, y + dy)
        if angle:
            self._canvas.rotate(angle)
        draw_text(self._canvas, (0.0, 0.0), s, _face(prop), prop.get_size_in_points())
        self._canvas.restoreState()

    def get_text_width_height_descent(self, s: str, prop: Any, ismath: Any) -> tuple[float, float, float]:
        """Width, height and descent of a text in the sheet's typeface."""
        size = prop.get_size_in_points()
        return width(s, _face(prop), size), (_ASCENT + _DESCENT) * size, _DESCENT * size

    def get_canvas_width_height(self) -> tuple[float, float]:
        """Size of the rectangle drawn into."""
        return self._size

    def points_to_pixels(self, points: Any) -> Any:
        """One pixel is one point."""
        return points

    def flipy(self) -> bool:
        """The y axis of the page points upward."""
        return False

    def draw_image(self, gc: GraphicsContextBase, x: float, y: float, im: Any, transform: Any = None) -> None:
        """Refused: the page is vector throughout."""
        raise NotImplementedError("the sheet draws no images")


def _face(prop: Any) -> str:
    return BOLD if prop.get_weight() in ("bold", 700) else REGULAR


def _as_cubic(start: tuple[float, float], points: list[float]) -> tuple[float, ...]:
    """The cubic curve that runs as a quadratic one from a start, given its control point and end."""
    (x0, y0), (x1, y1, x2, y2) = start, points
    return (
        x0 + 2.0 / 3.0 * (x1 - x0),
        y0 + 2.0 / 3.0 * (y1 - y0),
        x2 + 2.0 / 3.0 * (x1 - x2),
        y2 + 2.0 / 3.0 * (y1 - y2),
        x2,
        y2,
    )
