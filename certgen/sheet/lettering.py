"""Text onto the paper, run by run in the fonts that hold its characters."""

from __future__ import annotations

from typing import Any

from certgen.sheet.fonts import runs, width


def draw_text(canvas: Any, at: tuple[float, float], text: str, face: str, size: float) -> None:
    """A text on one line from its left end on the baseline, changing font where it must."""
    x, y = at
    for run in runs(text, face):
        canvas.setFont(run.font, size)
        canvas.drawString(x, y, run.text)
        x += width(run.text, face, size)
