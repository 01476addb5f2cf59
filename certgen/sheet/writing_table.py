"""A table to write in by hand: printed columns on the left, ruled empty cells on the right, rows of a fixed height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from certgen.sheet.fonts import BASELINE, BOLD, LEADING, REGULAR, Span, width, wrap
from certgen.sheet.setting import HAIRLINE, MM, THIN, Area, Flow, RuleMark, Setting, TextMark, TooNarrow

#: Least height of a row, and least width of a cell, that a hand can write in. Common practice, no source.
LEAST_HEIGHT = 7.0 * MM
LEAST_WIDTH = 9.0 * MM
_GUTTER = 0.9
_PAD = 0.35


@dataclass(frozen=True)
class Printed:
    """A printed column: heading lines, its unit, and a text for each row; texts stand on up to two lines.

    Figures stand flush right, all with the same decimals.
    """

    heading: tuple[str, ...]
    unit: str
    cells: tuple[tuple[str, ...], ...]
    face: str = REGULAR
    figures: bool = True

    def extent(self, size: float) -> float:
        """Its width at a text size."""
        texts = [line for cell in self.cells for line in cell]
        widest = max((width(text, self.face, size) for text in texts), default=0.0)
        head = max((width(text, BOLD, size) for text in self.heading), default=0.0)
        return max(widest, head, width(self.unit, REGULAR, size))


@dataclass(frozen=True)
class Blank:
    """An empty column by its heading lines and unit; ``share`` is its part of the width."""

    heading: tuple[str, ...]
    unit: str
    share: float = 1.0


@dataclass(frozen=True)
class WritingTable:
    """Printed and empty columns; ``instead`` says for each row that is not to be written in why, at length and shorter."""

    printed: tuple[Printed, ...]
    blank: tuple[Blank, ...]
    instead: tuple[tuple[str, ...], ...]
    row_height: float  # pt


def set_writing_table(table: WritingTable, area: Area) -> Setting:
    """The table over the width of its area.

    Raises
    ------
    TooNarrow
        The empty cells would be too narrow to write in.
    """
    size = area.size
    lefts, x = [], 0.0
    for column in table.printed:
        lefts.append(x)
        x += column.extent(size) + _GUTTER * size
    edges = _edges(table, x, area)
    flow = Flow(area)
    _set_headings(table, flow, lefts, edges)
    flow.rule(THIN, "rule")
    for row, instead in enumerate(table.instead):
        _set_row(table, row, flow, lefts)
        upright = edges
        if instead:
            _set_instead(instead, flow, edges[0], table.row_height)
            upright = [edges[0], edges[-1]]
        top, flow.y = flow.y, flow.y + table.row_height
        flow.marks += [RuleMark(edge, top, edge, flow.y, HAIRLINE, "rule") for edge in upright]
        flow.marks.append(RuleMark(0.0, flow.y, area.width, flow.y, HAIRLINE, "rule"))
    flow.y += HAIRLINE
    return flow.done()


def _edges(table: WritingTable, start: float, area: Area) -> list[float]:
    """Left edge of every empty column, and the right edge of the last."""
    shares = sum(column.share for column in table.blank)
    room = area.width - start
    least = min((room * column.share / shares for column in table.blank), default=LEAST_WIDTH)
    heads = [max(width(line, BOLD, area.size) for line in (*column.heading, column.unit)) for column in table.blank]
    short = max(
        (
            head + 2 * _PAD * area.size - room * column.share / shares
            for head, column in zip(heads, table.blank, strict=True)
        ),
        default=0.0,
    )
    lacking = max(LEAST_WIDTH - least, short)
    if lacking > 1e-6:
        raise TooNarrow(lacking * len(table.blank))
    edges = [start]
    for column in table.blank:
        edges.append(edges[-1] + room * column.share / shares)
    return edges


def _set_headings(table: WritingTable, flow: Flow, lefts: Sequence[float], edges: Sequence[float]) -> None:
    size = flow.area.size
    columns = [
        (column.heading, column.unit, x, column.extent(size) if column.figures else 0.0)
        for column, x in zip(table.printed, lefts, strict=True)
    ]
    columns += [
        (column.heading, column.unit, x + _PAD * size, 0.0) for column, x in zip(table.blank, edges[:-1], strict=True)
    ]
    lines = max(len(heading) for heading, _, _, _ in columns)
    for heading, unit, x, flush in columns:
        shown = [*[("", BOLD, "ink")] * (lines - len(heading)), *((line, BOLD, "ink") for line in heading)]
        for index, (text, face, ink) in enumerate([*shown, (unit, REGULAR, "muted")]):
            if text:
                left = x + max(0.0, flush - width(text, face, size)) if flush else x
                flow.marks.append(TextMark(left, flow.y + (index * LEADING + BASELINE) * size, text, face, size, ink))
    flow.y += (lines + 1) * LEADING * size + 0.1 * size


def _set_row(table: WritingTable, row: int, flow: Flow, lefts: Sequence[float]) -> None:
    """The printed texts of a row, in the middle of its height."""
    size = flow.area.size
    for column, x in zip(table.printed, lefts, strict=True):
        lines = column.cells[row]
        top = flow.y + (table.row_height - len(lines) * LEADING * size) / 2.0
        for index, line in enumerate(lines):
            baseline = top + (index * LEADING + BASELINE) * size
            left = x + column.extent(size) - width(line, column.face, size) if column.figures else x
            flow.marks.append(TextMark(left, baseline, line, column.face, size))


def _set_instead(texts: Sequence[str], flow: Flow, x: float, height: float) -> None:
    """The first of the texts that fits across the empty cells of a row.

    Raises
    ------
    TooNarrow
        Not even the shortest does.
    """
    size = flow.area.scaled(0.92)
    pad = _PAD * flow.area.size
    room = flow.area.width - x - 2 * pad
    most = int(height // (LEADING * size))
    wrapped = (wrap([Span(text)], room, size) for text in texts)
    lines = next((one for one in wrapped if len(one) <= most), None)
    if lines is None:
        raise TooNarrow(width(texts[-1], REGULAR, size) - room)
    top = flow.y + (height - len(lines) * LEADING * size) / 2.0
    for index, line in enumerate(lines):
        for piece in line:
            baseline = top + (index * LEADING + BASELINE) * size
            flow.marks.append(TextMark(x + pad + piece.x, baseline, piece.span.text, REGULAR, size))
