"""What holds of every placed page: nothing overlaps, nothing leaves its box, no box leaves the margins."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import Box, PlacedPage
from certgen.sheet.engine.setting import ChartMark, FaceMark, PictureMark, RuleMark, SignMark, TextMark
from certgen.sheet.pdf.fonts import width

ROUNDING = 0.01  # sums of widths and heights [pt]


def assert_inside_margins(page: PlacedPage) -> None:
    for box in page.boxes:
        assert box.x >= page.margin - ROUNDING
        assert box.y >= page.margin - ROUNDING
        assert box.x + box.width <= page.width - page.margin + ROUNDING
        assert box.bottom <= page.height - page.margin + ROUNDING


def assert_disjoint(boxes: tuple[Box, ...]) -> None:
    for one, other in combinations(boxes, 2):
        apart_x = one.x + one.width <= other.x + ROUNDING or other.x + other.width <= one.x + ROUNDING
        apart_y = one.bottom <= other.y + ROUNDING or other.bottom <= one.y + ROUNDING
        assert apart_x or apart_y, (one.name, other.name)


def assert_marks_keep_their_box(page: PlacedPage, smallest: float) -> None:
    for box in page.boxes:
        for mark in box.setting.marks:
            match mark:
                case TextMark():
                    right, top, low = mark.x + width(mark.text, mark.face, mark.size), mark.y - 0.72 * mark.size, mark.y
                    assert mark.size >= smallest - 1e-6, mark
                case RuleMark():
                    right, top, low = max(mark.x, mark.to_x), min(mark.y, mark.to_y), max(mark.y, mark.to_y)
                case SignMark():
                    half = mark.size * (0.75 if mark.shape == "D" else 0.5)
                    right, top, low = mark.x + half, mark.y - half, mark.y + half
                case ChartMark() | PictureMark() | FaceMark():
                    right, top, low = mark.x + mark.width, mark.y, mark.y + mark.height
            assert mark.x >= -ROUNDING, (box.name, mark)
            assert right <= box.width + ROUNDING, (box.name, mark)
            assert top >= -ROUNDING, (box.name, mark)
            assert low <= box.height + ROUNDING, (box.name, mark)


def assert_no_text_on_another(page: PlacedPage) -> None:
    """Texts by the ink of their capitals: from the baseline to the height of a capital."""
    rows = [
        (box.x + m.x, box.x + m.x + width(m.text, m.face, m.size), box.y + m.y - 0.71 * m.size, box.y + m.y)
        for box in page.boxes
        for m in box.setting.marks
        if isinstance(m, TextMark)
    ]
    left, right, top, low = np.array(rows).reshape(-1, 4).T
    across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    down = np.minimum(low[:, None], low) - np.maximum(top[:, None], top)
    both = (across > ROUNDING) & (down > ROUNDING)
    np.fill_diagonal(both, False)
    assert not both.any(), np.argwhere(both)[:3]


def assert_sound(page: PlacedPage, layout: Layout) -> None:
    assert_inside_margins(page)
    assert_disjoint(page.boxes)
    assert_marks_keep_their_box(page, layout.text.smallest)
    assert_no_text_on_another(page)
