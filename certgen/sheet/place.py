"""The engine: every block measured, then given its place, before anything is drawn.

When the page is short of room, in this order: the text shrinks step by step to the layout's smallest while stretchable
blocks go from their preferred to their minimum height, rows that the layout marks go in their order and the page says
so, and in the end the page is refused. Room left over goes to stretchable blocks, then between the rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from certgen.assessment.results import Results
from certgen.errors import PageOverflow
from certgen.sheet.blocks.registry import BLOCKS
from certgen.sheet.content import Content
from certgen.sheet.layout import PAPERS, Layout, Row
from certgen.sheet.setting import MM, Area, Block, Flow, Setting, TooNarrow

#: Steps by which the body text shrinks. [pt]
_STEP = 0.1
#: Room between rows may grow to this many times what the layout asks for; beyond it the page ends early.
_WIDEST_GAP = 2.5
#: Narrowest column a block is set in. [pt]
_NARROWEST = 24.0 * MM
OMITTED = "left-out"


@dataclass(frozen=True)
class Box:
    """A block in its place, from the top left corner of the page. [pt]"""

    name: str
    x: float
    y: float
    width: float
    height: float
    text_size: float
    setting: Setting

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.y + self.height


@dataclass(frozen=True)
class PlacedPage:
    """A page ready to be drawn. [pt]"""

    width: float
    height: float
    margin: float
    text_size: float
    boxes: tuple[Box, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True)
class _Sized:
    """A block with the heights it may have at one text size."""

    name: str
    block: Block
    area: Area
    minimum: float
    preferred: float
    maximum: float

    def height(self, stretch: float) -> float:
        """Height at a stretch from 0 (minimum) over 1 (preferred) to 2 (maximum)."""
        if stretch <= 1.0:
            return self.minimum + stretch * (self.preferred - self.minimum)
        return self.preferred + (stretch - 1.0) * (self.maximum - self.preferred)


@dataclass(frozen=True)
class _SizedRow:
    """Columns of sized blocks, with their left edges."""

    columns: tuple[tuple[_Sized, ...], ...]
    edges: tuple[float, ...]
    gap: float

    def column_height(self, column: tuple[_Sized, ...], stretch: float) -> float:
        return sum(sized.height(stretch) for sized in column) + self.gap * (len(column) - 1)

    def height(self, stretch: float) -> float:
        return max(self.column_height(column, stretch) for column in self.columns)


@dataclass(frozen=True)
class _Sheet:
    """The empty page and the blocks made for it. [pt]"""

    layout: Layout
    blocks: dict[str, Block]
    paper: str
    width: float
    height: float
    margin: float
    gap: float
    column_gap: float

    @property
    def room(self) -> float:
        return self.height - 2 * self.margin


@dataclass(frozen=True)
class _Draft:
    """The rows that are to fit, and the titles of those left out."""

    rows: tuple[Row, ...]
    left_out: tuple[str, ...]


def compose(results: Results, layout: Layout, *, paper: str, units: str) -> PlacedPage:
    """A place for every block of the layout on one page.

    Raises
    ------
    PageOverflow
        The content does not fit within the limits of the layout.
    """
    sheet = _sheet(Content(results, units), layout, paper)
    layout = sheet.layout
    order = sorted((row for row in layout.rows if row.drop is not None), key=lambda row: row.drop or 0)
    for count in range(len(order) + 1):
        draft = _Draft(_rows_without(layout.rows, order[:count]), tuple(_called(layout, row) for row in order[:count]))
        page = _fit(sheet, draft)
        if page is not None:
            return page
    raise PageOverflow(_overflow(sheet, draft))


def _sheet(content: Content, layout: Layout, paper: str) -> _Sheet:
    width, height = (side * MM for side in PAPERS[paper])
    names = [name for row in layout.rows for column in row.columns for name in column]
    made = {name: BLOCKS[name].make(content, getattr(layout.blocks, name)) for name in names}
    blocks = {name: block for name, block in made.items() if block is not None}
    layout = replace(layout, rows=tuple(_filled(layout.rows, blocks)))
    margin, gap, column_gap = (
        length * 1000.0 * MM for length in (layout.page.margin, layout.page.gap, layout.page.column_gap)
    )
    return _Sheet(layout, blocks, paper, width, height, margin, gap, column_gap)


def _filled(rows: Iterable[Row], blocks: Mapping[str, Block]) -> Iterator[Row]:
    """The rows with only the blocks that have something to show; columns and rows left without any are gone."""
    for row in rows:
        shares = row.shares or (1.0,) * len(row.columns)
        columns = [tuple(name for name in column if name in blocks) for column in row.columns]
        kept = [(column, share) for column, share in zip(columns, shares, strict=True) if column]
        if kept:
            yield replace(row, columns=tuple(column for column, _ in kept), shares=tuple(share for _, share in kept))


def _called(layout: Layout, row: Row) -> str:
    """A row by the titles of its blocks."""
    names = [name for column in row.columns for name in column]
    return ", ".join(getattr(layout.blocks, name).title or name.replace("_", " ") for name in names)


def _omission(titles: Sequence[str]) -> Block:
    """The line that names what was left out."""

    def set_omission(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(f"Left out for lack of room: {', '.join(titles)}", ink="muted")
        return flow.done()

    return Block(set_omission)


def _rows_without(rows: Iterable[Row], dropped: Sequence[Row]) -> tuple[Row, ...]:
    """The rows that stay."""
    return tuple(row for row in rows if not any(row is gone for gone in dropped))


def _fit(sheet: _Sheet, draft: _Draft) -> PlacedPage | None:
    """The page with these rows in the largest text that fits, or ``None``."""
    steps = round((sheet.layout.text.preferred - sheet.layout.text.smallest) / _STEP)
    sizes = [round(sheet.layout.text.preferred - index * _STEP, 3) for index in range(steps)]
    sizes.append(sheet.layout.text.smallest)
    found = _fitting(sheet, draft, sizes[-1])
    low, high = 0, len(sizes) - 1  # the first size that fits lies in [low, high]
    while found is not None and low < high:
        middle = (low + high) // 2
        larger = _fitting(sheet, draft, sizes[middle])
        if larger is not None:
            found, high = larger, middle
        else:
            low = middle + 1
    return None if found is None else _placed(sheet, found, sizes[high], draft.left_out)


def _fitting(sheet: _Sheet, draft: _Draft, size: float) -> list[_SizedRow] | None:
    """The rows at a text size, if they fit the page."""
    sized = _sized_rows(sheet, draft, size)
    fits = sized is not None and _height(sized, _least_stretch(sheet, size), sheet.gap) <= sheet.room
    return sized if fits else None


def _least_stretch(sheet: _Sheet, size: float) -> float:
    """How far charts must reach towards their preferred height at a text size: text and charts shrink together."""
    text = sheet.layout.text
    return (size - text.smallest) / (text.preferred - text.smallest) if text.preferred > text.smallest else 0.0


def _height(rows: list[_SizedRow], stretch: float, gap: float) -> float:
    return sum(row.height(stretch) for row in rows) + gap * (len(rows) - 1)


def _sized_rows(sheet: _Sheet, draft: _Draft, size: float) -> list[_SizedRow] | None:
    """Every row measured at a text size; ``None`` where a block is too wide for it."""
    try:
        sized = [_sized_row(sheet, row, size) for row in draft.rows]
    except TooNarrow:
        return None
    if draft.left_out:
        area = Area(sheet.width - 2 * sheet.margin, size, sheet.layout.text.smallest)
        omission = _sized(OMITTED, _omission(draft.left_out), area)
        sized.insert(len(sized) - 1, _SizedRow(((omission,),), (sheet.margin,), sheet.gap))
    return sized


def _sized_row(sheet: _Sheet, row: Row, size: float) -> _SizedRow:
    columns, edges, x = [], [], sheet.margin
    for names, column_width in zip(row.columns, _column_widths(sheet, row), strict=True):
        area = Area(column_width, size, sheet.layout.text.smallest)
        columns.append(tuple(_sized(name, sheet.blocks[name], area) for name in names))
        edges.append(x)
        x += column_width + sheet.column_gap
    return _SizedRow(tuple(columns), tuple(edges), sheet.gap)


def _column_widths(sheet: _Sheet, row: Row) -> list[float]:
    room = sheet.width - 2 * sheet.margin - sheet.column_gap * (len(row.columns) - 1)
    shares = row.shares or (1.0,) * len(row.columns)
    return [room * share / sum(shares) for share in shares]


def _sized(name: str, block: Block, area: Area) -> _Sized:
    if area.width < _NARROWEST:
        raise TooNarrow(_NARROWEST - area.width)
    height = block.set(area).height
    if block.stretch is None:
        return _Sized(name, block, area, height, height, height)
    return _Sized(name, block, area, block.stretch.minimum, block.stretch.preferred, block.stretch.maximum)


def _placed(sheet: _Sheet, rows: list[_SizedRow], size: float, left_out: tuple[str, ...]) -> PlacedPage:
    """Boxes for rows that fit, stretched as far as the room goes."""
    stretch = _stretch(rows, sheet.room, sheet.gap)
    spare = sheet.room - _height(rows, stretch, sheet.gap)
    gap = min(sheet.gap + spare / max(1, len(rows) - 1), _WIDEST_GAP * sheet.gap)
    boxes: list[Box] = []
    y = sheet.margin
    for row in rows:
        height = row.height(stretch)
        for column, x in zip(row.columns, row.edges, strict=True):
            boxes.extend(_column_boxes(row, column, stretch, (x, y, height), size))
        y += height + gap
    return PlacedPage(sheet.width, sheet.height, sheet.margin, size, tuple(boxes), left_out)


def _stretch(rows: list[_SizedRow], room: float, gap: float) -> float:
    """The most stretch at which the rows fit the room."""
    low, high = 0.0, 2.0
    if _height(rows, high, gap) <= room:
        return high
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _height(rows, middle, gap) <= room else (low, middle)
    return low


def _column_boxes(
    row: _SizedRow, column: tuple[_Sized, ...], stretch: float, corner: tuple[float, float, float], size: float
) -> list[Box]:
    """Boxes of one column from its corner (x, y, height of the row) down; charts fill a column that is shorter."""
    x, y, height = corner
    stretchable = [sized for sized in column if sized.block.stretch is not None]
    extra = (height - row.column_height(column, stretch)) / len(stretchable) if stretchable else 0.0
    boxes = []
    for sized in column:
        own = sized.height(stretch) + (extra if sized.block.stretch is not None else 0.0)
        setting = sized.block.set(replace(sized.area, height=own))
        boxes.append(Box(sized.name, x, y, sized.area.width, own, size, setting))
        y += own + row.gap
    return boxes


def _overflow(sheet: _Sheet, draft: _Draft) -> str:
    """What does not fit, by how much, and what can be changed."""
    smallest = sheet.layout.text.smallest
    narrow = _too_narrow(sheet, draft.rows)
    if narrow is not None:
        name, excess = narrow
        return (
            f"the block '{name}' is {excess / MM:.1f} mm too wide for its column, even in the smallest text "
            f"({smallest:g} pt); give its column a larger share in the layout, or {BLOCKS[name].advice}."
        )
    sized = _sized_rows(sheet, draft, smallest) or []
    excess = _height(sized, 0.0, sheet.gap) - sheet.room
    blocks = [block for row in sized for column in row.columns for block in column if block.name != OMITTED]
    tallest = max(blocks, key=lambda block: block.minimum)
    return (
        f"the sheet does not fit on one page ({sheet.paper}) by {excess / MM:.1f} mm, even in the smallest text "
        f"({smallest:g} pt); the block '{tallest.name}' takes most, {tallest.minimum / MM:.1f} mm: "
        f"{BLOCKS[tallest.name].advice}, or change text.smallest or the rows of the layout."
    )


def _too_narrow(sheet: _Sheet, rows: tuple[Row, ...]) -> tuple[str, float] | None:
    """The first block that cannot be set in its column, with its excess."""
    smallest = sheet.layout.text.smallest
    for row in rows:
        for names, width in zip(row.columns, _column_widths(sheet, row), strict=True):
            for name in names:
                try:
                    _sized(name, sheet.blocks[name], Area(width, smallest, smallest))
                except TooNarrow as cause:
                    return name, cause.excess
    return None
