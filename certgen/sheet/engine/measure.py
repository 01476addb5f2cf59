"""Every node measured for a width and a text size: the heights it may have, and where its columns stand. [pt]"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from certgen.sheet.engine.layout import BOTTOM, MIDDLE, SPREAD
from certgen.sheet.engine.setting import MM, Area, Setting, TooNarrow
from certgen.sheet.engine.tree import Node, caption

#: Narrowest column a block is set in. [pt]
NARROWEST = 24.0 * MM


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
    repeated: bool = False  # stands on every page, and was read on the first

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.y + self.height


@dataclass(frozen=True)
class Spacing:
    """Gaps of the page. [pt]"""

    gap: float
    column_gap: float


@dataclass(frozen=True, eq=False)
class Sized:
    """A node with the heights it may have at one text size."""

    node: Node
    area: Area
    minimum: float = 0.0
    preferred: float = 0.0
    maximum: float = 0.0
    columns: tuple[tuple[Sized, ...], ...] = ()
    edges: tuple[float, ...] = ()
    gap: float = 0.0
    caption: Setting = field(default_factory=lambda: Setting(0.0, ()))
    setting: Setting | None = None  # of a block whose marks do not depend on its height

    def height(self, stretch: float) -> float:
        """Height at a stretch from 0 (minimum) over 1 (preferred) to 2 (maximum)."""
        if self.columns:
            inner = max(self.column_height(column, stretch) for column in self.columns)
        elif stretch <= 1.0:
            inner = self.minimum + stretch * (self.preferred - self.minimum)
        else:
            inner = self.preferred + (stretch - 1.0) * (self.maximum - self.preferred)
        return max(inner + self.caption.height, self.node.height)

    def column_height(self, column: Sequence[Sized], stretch: float) -> float:
        """Height of one column."""
        return sum(part.height(stretch) for part in column) + self.gap * (len(column) - 1)

    @property
    def stretches(self) -> bool:
        """Whether something in it can take up room."""
        if self.node.block is not None:
            return self.node.block.stretch is not None
        return any(part.stretches for column in self.columns for part in column)


def size_of(node: Node, area: Area, spacing: Spacing) -> Sized:
    """A node measured.

    Raises
    ------
    TooNarrow
        A block cannot be set in its column.
    """
    below = caption(node.caption, area)
    if node.block is None:
        widths = column_widths(node, area.width, spacing.column_gap)
        columns = tuple(
            tuple(size_of(inner, replace(area, width=width), spacing) for inner in column)
            for column, width in zip(node.columns, widths, strict=True)
        )
        edges = tuple(sum(widths[:index]) + index * spacing.column_gap for index in range(len(widths)))
        return Sized(node, area, columns=columns, edges=edges, gap=spacing.gap, caption=below)
    if area.width < NARROWEST:
        raise TooNarrow(NARROWEST - area.width)
    size = area.scaled(node.scale)
    scaled = area if size == area.size else replace(area, size=size)
    if node.block.stretch is None:
        setting = node.block.set(scaled)
        return Sized(node, scaled, *(setting.height,) * 3, caption=below, setting=setting)
    stretch = node.block.stretch
    return Sized(node, scaled, stretch.minimum, stretch.preferred, stretch.maximum, caption=below)


def column_widths(node: Node, width: float, gap: float) -> list[float]:
    """Widths of the columns of a node; spans cover the gaps between the columns of the grid."""
    if node.spanned:
        unit = (width + gap) / sum(node.shares)
        return [share * unit - gap for share in node.shares]
    room = width - gap * (len(node.shares) - 1)
    return [room * share / sum(node.shares) for share in node.shares]


def total_height(rows: Sequence[Sized], stretch: float, gap: float) -> float:
    """Height of rows one below the other."""
    return sum(row.height(stretch) for row in rows) + gap * max(0, len(rows) - 1)


def greatest_stretch(rows: Sequence[Sized], room: float, gap: float, most: float = 2.0) -> float:
    """The most stretch at which the rows fit the room."""
    low, high = 0.0, most
    if total_height(rows, high, gap) <= room:
        return high
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if total_height(rows, middle, gap) <= room else (low, middle)
    return low


def boxes(sized: Sized, x: float, y: float, height: float, stretch: float) -> Iterator[Box]:
    """The boxes of a node placed with its top left corner here, as high as it is given."""
    inner = height - sized.caption.height
    if sized.node.block is not None:
        marks = sized.setting or sized.node.block.set(replace(sized.area, height=inner))
        least = max(marks.height, sized.node.height - sized.caption.height)
        own = inner if sized.node.block.stretch is not None else least
        yield Box(sized.node.name, x, y, sized.area.width, own, sized.area.size, marks)
        bottom = y + own
    else:
        for column, edge in zip(sized.columns, sized.edges, strict=True):
            yield from _column_boxes(sized, column, (x + edge, y, inner), stretch)
        bottom = y + inner
    if sized.caption.marks:
        area = sized.area
        yield Box("caption", x, bottom, area.width, sized.caption.height, area.size, sized.caption)


def _column_boxes(
    sized: Sized, column: Sequence[Sized], corner: tuple[float, float, float], stretch: float
) -> Iterator[Box]:
    """A column from its corner (x, y, height) down; spare room goes to what stretches, else as the row aligns it."""
    x, y, height = corner
    spare = max(0.0, height - sized.column_height(column, stretch))
    stretching = [part for part in column if part.stretches]
    extra = spare / len(stretching) if stretching else 0.0
    gap = sized.gap
    if not stretching and sized.node.align in (MIDDLE, BOTTOM):
        y += spare / (2.0 if sized.node.align == MIDDLE else 1.0)
    elif not stretching and sized.node.align == SPREAD and len(column) > 1:
        gap += spare / (len(column) - 1)
    for part in column:
        own = part.height(stretch) + (extra if part.stretches else 0.0)
        yield from boxes(part, x, y, own, stretch)
        y += own + gap


def leaves(rows: Iterable[Sized]) -> Iterator[Sized]:
    """The measured blocks in the rows."""
    for row in rows:
        if row.node.block is not None:
            yield row
        for column in row.columns:
            yield from leaves(column)
