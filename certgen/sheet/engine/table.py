"""Tables: columns aligned at the decimal point, texts wrapped into what room is left, rules instead of boxes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache, partial

from certgen.sheet.engine.setting import (
    HAIRLINE,
    MM,
    THIN,
    Area,
    Block,
    Flow,
    Later,
    RuleMark,
    Setting,
    TextMark,
    TooNarrow,
)
from certgen.sheet.pdf.fonts import BASELINE, BOLD, LEADING, REGULAR, Lines, Span, width, wrap
from certgen.sheet.pdf.structure import TABLE, Tag, row_of_cells

#: Figures by their decimal points, or flush right where they are of different kinds; texts flush left.
DECIMAL, RIGHT, LEFT = "decimal", "right", "left"

#: Space between two columns, between neighbouring rows, after every fifth row of a long table, and after the last
#: row, in parts of the text size.
_GUTTER = 1.1
_ROW_GAP = 0.06
_FIFTH = 0.35
_AFTER = 0.2
_LONG = 7
#: Rows from which a group is no more than a help to the eye.
_LONG_GROUP = 5
#: A line of figures without descenders may stand closer than a line of text.
_FIGURES_LEADING = 1.16
#: Before a figure that is an uncertainty.
_SPREAD = "± "
#: Widest that spare room may make the space between columns of figures.
_WIDEST_GUTTER = 12.0
#: Widest that one word may make a column of wrapped texts; longer words are broken.
_LONGEST_WORD = 7.0


@lru_cache(maxsize=512)
def split_at_point(cell: str) -> tuple[str, str]:
    """A figure before its decimal point, and from there on."""
    end = next((index for index, sign in enumerate(cell) if sign in ".,"), -1)
    if end < 0:
        start = len(_SPREAD) if cell.startswith(_SPREAD) else 0
        end = next((index for index, sign in enumerate(cell) if sign in " ±(†‡" and index >= start), len(cell))
    return cell[:end], cell[end:]


@dataclass(frozen=True)
class Column:
    """One column: heading lines, the unit under them, and a text for each row.

    ``share`` above zero marks a column of wrapped texts that takes that share of the room left over. Columns with
    a ``leave`` are left out when the table is too wide, the highest first; ``name`` says in words what went. A panel
    of a longer table is as wide as the cells ``among`` which its own stand, so that panels agree.
    """

    heading: tuple[str, ...]
    cells: tuple[str, ...]
    unit: str = ""
    align: str = DECIMAL
    share: float = 0.0
    leave: int = 0
    face: str = REGULAR
    name: str = ""
    among: tuple[str, ...] = ()

    @cached_property
    def extent(self) -> tuple[float, float, float]:
        """Natural width at text size 1, and of the figures before and after the point."""
        cells = _extent(self.among or self.cells, self.face, self.align, bool(self.share))
        head = max((width(line, BOLD, 1.0) for line in (*self.heading, self.unit)), default=0.0)
        return max(head, cells[0]), cells[1], cells[2]

    @cached_property
    def wanted(self) -> float:
        """How much wider than natural the column must be so that no text wraps, at text size 1."""
        longest = max((width(cell, self.face, 1.0) for cell in self.cells), default=0.0)
        return max(0.0, longest - self.extent[0])

    def panel(self, start: int, end: int) -> Column:
        """The same column with some of its rows."""
        return replace(self, cells=self.cells[start:end], among=self.among or self.cells)


@lru_cache(maxsize=256)
def _extent(cells: tuple[str, ...], face: str, align: str, wrapped: bool) -> tuple[float, float, float]:
    """Natural width of cells at text size 1, and of the figures before and after the point."""
    if align == LEFT:
        texts = [part for cell in cells for part in (cell.split() if wrapped else [cell])]
        longest = max((width(text, face, 1.0) for text in texts), default=0.0)
        return min(longest, _LONGEST_WORD) if wrapped else longest, 0.0, 0.0
    parts = [(cell, "") if align == RIGHT else split_at_point(cell) for cell in cells]
    before = max((width(left, face, 1.0) for left, _ in parts), default=0.0)
    after = max((width(right, face, 1.0) for _, right in parts), default=0.0)
    return before + after, before, after


@dataclass(frozen=True)
class Table:
    """Columns of equal length; a table of wrapped texts may have hairlines between its rows."""

    columns: tuple[Column, ...]
    ruled: bool = False
    group: int = 5  # rows of a long table that stand together
    _panels: dict[int, tuple[Table, ...]] = field(default_factory=dict, compare=False, repr=False)

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return len(self.columns[0].cells) if self.columns else 0

    @cached_property
    def with_long_headings(self) -> Table:
        """The same table with every heading on one line."""
        columns = tuple(replace(column, heading=(" ".join(column.heading),)) for column in self.columns)
        return Table(columns, self.ruled, self.group)

    def panels(self, count: int) -> tuple[Table, ...]:
        """The table in so many panels of as equal length as can be."""
        if count not in self._panels:
            length = -(-self.rows // count)
            starts = range(0, count * length, length) if length else ()
            self._panels[count] = tuple(self.part(start, start + length) for start in starts)
        return self._panels[count]

    def part(self, start: int, end: int) -> Table:
        """The same table with some of its rows."""
        return Table(tuple(column.panel(start, end) for column in self.columns), self.ruled, self.group)


@dataclass(frozen=True)
class _Placed:
    """A column with its place: left edge, width, and how far its figures reach to either side of the point."""

    column: Column
    x: float
    width: float
    before: float = 0.0
    after: float = 0.0


def natural_width(table: Table) -> float:
    """Width of a table at text size 1 with its columns as close as they may stand."""
    return sum(column.extent[0] for column in table.columns) + _GUTTER * max(0, len(table.columns) - 1)


def narrowed(table: Table, room: float) -> tuple[Table, tuple[Column, ...]]:
    """A table without the columns it must leave out to fit the room (given at text size 1), and those columns.

    Raises
    ------
    TooNarrow
        Even without them it does not fit.
    """
    left_out: list[Column] = []
    while natural_width(table) > room + 1e-6:
        candidates = [column for column in table.columns if column.leave]
        if not candidates:
            raise TooNarrow(natural_width(table) - room)
        worst = max(candidates, key=lambda column: column.leave)
        left_out.append(worst)
        table = Table(tuple(column for column in table.columns if column is not worst), table.ruled, table.group)
    return table, tuple(left_out)


def _with_long_headings(table: Table, room: float) -> Table:
    """The table with every heading on one line, where the room (given at text size 1) allows."""
    long = table.with_long_headings
    return long if natural_width(long) <= room else table


def _place_columns(table: Table, room: float, size: float) -> list[_Placed]:
    """Columns across the whole room: spare room goes to wrapped columns, else between the columns."""
    extents = [column.extent for column in table.columns]
    gutter = _GUTTER * size
    spare = max(0.0, room - natural_width(table) * size)
    shares = sum(column.share for column in table.columns)
    if not shares and len(extents) > 1:
        gutter = min(gutter + spare / (len(extents) - 1), _WIDEST_GUTTER * size)
    grown = _shared_out(table, spare, size)
    placed, x = [], 0.0
    for column, (natural, before, after) in zip(table.columns, extents, strict=True):
        own = natural * size + grown.get(id(column), 0.0)
        placed.append(_Placed(column, x, own, before * size, after * size))
        x += own + gutter
    return placed


def _shared_out(table: Table, spare: float, size: float) -> dict[int, float]:
    """Spare room for each column of wrapped texts: what it needs, at most its share; the last takes the rest."""
    sharing = [column for column in table.columns if column.share]
    grown: dict[int, float] = {}
    rest = sum(column.share for column in sharing)
    for column in sorted(sharing, key=lambda column: column.wanted / column.share):
        grown[id(column)] = min(column.wanted * size, spare * column.share / rest)
        spare -= grown[id(column)]
        rest -= column.share
    if sharing:
        grown[id(sharing[-1])] += spare
    return grown


def set_table(table: Table, area: Area, *, headed: bool = True) -> Setting:
    """A table in its area, at the area's text size or, where it is too wide for that, a smaller one.

    Raises
    ------
    TooNarrow
        It does not fit even at the smallest size.
    """
    table = _with_long_headings(table, area.width / area.size)
    natural = natural_width(table)
    size = min(area.size, area.width / natural) if natural else area.size
    if size < area.smallest - 1e-6:
        raise TooNarrow(natural * area.smallest - area.width)
    flow = Flow(replace(area, size=size))
    placed = _place_columns(table, area.width, size)
    edge = max(item.x + item.width for item in placed)
    within = Tag(TABLE)
    tags: tuple[Tag, ...] = ()
    if headed:
        _set_headings(placed, flow, size, row_of_cells(within, len(placed), heads=len(placed)))
        flow.rule(THIN, "rule", to_x=edge)
        flow.space(0.15)
    together = table.group if table.group < _LONG_GROUP else 1  # a value with what stands below it is one cell
    for row in range(table.rows):
        tags = tags if row % together else row_of_cells(within, len(placed))
        leading = (_FIGURES_LEADING if table.rows > _LONG else LEADING) * size
        _set_row(placed, row, flow, tags, size=size, leading=leading)
        if row + 1 < table.rows:
            _part_rows(flow, table, row, edge)
    flow.space(_AFTER)
    return flow.done()


def divided(part: Callable[[int, int], Block], rows: int, area: Area, room: float) -> tuple[Block, Block] | None:
    """A block of rows cut so that its first part is no higher than the room: ``part(start, end)`` makes one."""
    low, high = 0, rows  # low rows fit, high do not; all rows together did not fit
    while room > 0 and high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if part(0, middle).set(area).height <= room else (low, middle)
    return (part(0, low), part(low, rows)) if low else None


def table_block(title: str, table: Table, continued: str) -> Block:
    """A table under its title that may be cut between rows; what follows has the title with ``continued``."""

    def part(start: int, end: int) -> Block:
        named = f"{title} {continued}" if title and start and not title.endswith(continued) else title
        return table_block(named, table.part(start, end), continued)

    def set_block(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(title)
        flow.place(set_table(table, area))
        return flow.done()

    return Block(set_block, divide=lambda area, room: divided(part, table.rows, area, room))


def _part_rows(flow: Flow, table: Table, row: int, edge: float) -> None:
    """What stands between a row and the next."""
    if table.ruled:
        gap = _ROW_GAP if table.rows <= _LONG else 0.0
        flow.space(gap)
        flow.rule(HAIRLINE, "hair", to_x=edge)
        flow.space(gap)
    elif (table.rows > _LONG or table.group < _LONG_GROUP) and (row + 1) % table.group == 0:
        flow.space(_FIFTH)
    elif table.rows <= _LONG and table.group >= _LONG_GROUP:
        flow.space(_ROW_GAP)


def _set_headings(placed: Sequence[_Placed], flow: Flow, size: float, tags: Sequence[Tag]) -> None:
    """Headings with their feet on one line, units set apart under them."""
    lines = max((len(item.column.heading) for item in placed), default=0)
    with_units = any(item.column.unit for item in placed)
    flow.marks.append(Later(partial(_headings, placed, lines, flow.y, size, tags, with_units=with_units)))
    flow.y += (lines + with_units) * LEADING * size + 0.1 * size


def _headings(
    placed: Sequence[_Placed], lines: int, top: float, size: float, tags: Sequence[Tag], *, with_units: bool
) -> Iterator[TextMark]:
    for item, tag in zip(placed, tags, strict=True):
        shown = [("", REGULAR, "ink")] * (lines - len(item.column.heading))
        shown += [(line, BOLD, "ink") for line in item.column.heading]
        shown += [(item.column.unit, REGULAR, "ink")] if with_units else []
        for index, (text, face, ink) in enumerate(shown):
            if text:
                slack = item.width - width(text, face, size) if item.column.align != LEFT else 0.0
                y = top + index * LEADING * size + BASELINE * size
                yield TextMark(item.x + slack, y, text, face, size, ink, tag)


def _set_row(
    placed: Sequence[_Placed], row: int, flow: Flow, tags: Sequence[Tag], *, size: float, leading: float
) -> None:
    """One row: figures on its first line, texts wrapped."""
    lines = [
        wrap([Span(item.column.cells[row], item.column.face)], item.width, size) if item.column.align == LEFT else ()
        for item in placed
    ]
    flow.marks.append(Later(partial(_row, placed, row, lines, flow.y, tags, size=size, leading=leading)))
    top = flow.y
    for _ in range(max((1, *map(len, lines)))):
        top += leading
    flow.y = top


def _row(
    placed: Sequence[_Placed],
    row: int,
    lines: Sequence[Lines],
    top: float,
    tags: Sequence[Tag],
    *,
    size: float,
    leading: float,
) -> Iterator[TextMark]:
    """The texts of a row from left to right, those of texts as they were wrapped."""
    for item, wrapped, tag in zip(placed, lines, tags, strict=True):
        if item.column.align != LEFT:
            yield _figure(item, item.column.cells[row], top, size)._replace(tag=tag)
            continue
        y = top
        for line in wrapped:
            for piece in line:
                text, face = piece.span.text, item.column.face
                yield TextMark(item.x + piece.x, y + BASELINE * size, text, face, size, "ink", tag)
            y += leading


def _figure(item: _Placed, cell: str, top: float, size: float) -> TextMark:
    """A figure flush with the right edge, or with its point under the others'."""
    left = cell if item.column.align == RIGHT else split_at_point(cell)[0]
    point = item.x + item.width - item.after
    x = point - width(left, item.column.face, size)
    return TextMark(x, top + BASELINE * size, cell, item.column.face, size)


# A table to write in by hand: printed columns on the left, ruled empty cells on the right, rows of a fixed height.


#: Least height of a row, and least width of a cell, that a hand can write in. Common practice, no source.
LEAST_HEIGHT = 8.0 * MM
LEAST_WIDTH = 9.0 * MM
_WRITING_GUTTER = 0.9
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
        x += column.extent(size) + _WRITING_GUTTER * size
    edges = _edges(table, x, area)
    flow, within, count = Flow(area), Tag(TABLE), len(table.printed) + len(table.blank)
    _set_writing_headings(table, flow, lefts, edges, row_of_cells(within, count, heads=count))
    flow.rule(THIN, "rule")
    for row, instead in enumerate(table.instead):
        cells = row_of_cells(within, count, first=True)
        _set_writing_row(table, row, flow, lefts, cells)
        upright = edges
        if instead:
            _set_instead(instead, flow, edges[0], table.row_height, cells[len(table.printed)])
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
    missing = max(LEAST_WIDTH - least, short)
    if missing > 1e-6:
        raise TooNarrow(missing * len(table.blank))
    edges = [start]
    for column in table.blank:
        edges.append(edges[-1] + room * column.share / shares)
    return edges


def _set_writing_headings(
    table: WritingTable, flow: Flow, lefts: Sequence[float], edges: Sequence[float], tags: Sequence[Tag]
) -> None:
    size = flow.area.size
    columns = [
        (column.heading, column.unit, x, column.extent(size) if column.figures else 0.0)
        for column, x in zip(table.printed, lefts, strict=True)
    ]
    columns += [
        (column.heading, column.unit, x + _PAD * size, 0.0) for column, x in zip(table.blank, edges[:-1], strict=True)
    ]
    lines = max(len(heading) for heading, _, _, _ in columns)
    for (heading, unit, x, flush), tag in zip(columns, tags, strict=True):
        shown = [*[("", BOLD, "ink")] * (lines - len(heading)), *((line, BOLD, "ink") for line in heading)]
        for index, (text, face, ink) in enumerate([*shown, (unit, REGULAR, "ink")]):
            if text:
                left = x + max(0.0, flush - width(text, face, size)) if flush else x
                base = flow.y + (index * LEADING + BASELINE) * size
                flow.marks.append(TextMark(left, base, text, face, size, ink, tag))
    flow.y += (lines + 1) * LEADING * size + 0.1 * size


def _set_writing_row(table: WritingTable, row: int, flow: Flow, lefts: Sequence[float], tags: Sequence[Tag]) -> None:
    """The printed texts of a row, in the middle of its height."""
    size = flow.area.size
    for column, x, tag in zip(table.printed, lefts, tags, strict=False):
        lines = column.cells[row]
        top = flow.y + (table.row_height - len(lines) * LEADING * size) / 2.0
        for index, line in enumerate(lines):
            baseline = top + (index * LEADING + BASELINE) * size
            left = x + column.extent(size) - width(line, column.face, size) if column.figures else x
            flow.marks.append(TextMark(left, baseline, line, column.face, size, "ink", tag))


def _set_instead(texts: Sequence[str], flow: Flow, x: float, height: float, tag: Tag) -> None:
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
            flow.marks.append(TextMark(x + pad + piece.x, baseline, piece.span.text, REGULAR, size, "ink", tag))


# A list of labels with texts beside them, as several blocks need it.


_GAP = 0.9
_WIDEST_LABEL = 0.45


def set_pairs(
    pairs: Sequence[tuple[str, str]], area: Area, *, face: str = REGULAR, labels: float | None = None
) -> Setting:
    """Labels in one column, their texts wrapped in another; as wide as the labels are, or as given. [pt]"""
    flow = Flow(area)
    if labels is None:
        labels = max((width(label, face, area.size) for label, _ in pairs), default=0.0)
    labels = min(labels, _WIDEST_LABEL * area.width)
    x, within = labels + _GAP * area.size, Tag(TABLE)
    for label, text in pairs:
        top, (head, cell) = flow.y, row_of_cells(within, 2, first=True)
        flow.text(label, face=face, room=labels, tag=head)
        after_label, flow.y = flow.y, top
        flow.text(text, x=x, tag=cell)
        flow.y = max(flow.y, after_label)
    return flow.done()


def pairs_block(title: str, pairs: Sequence[tuple[str, str]]) -> Block:
    """Labels and their texts under a title."""

    def set_list(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_list)
