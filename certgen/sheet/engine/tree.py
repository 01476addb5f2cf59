"""The parts of a layout with their blocks made: conditions decided, repeats written out, what is empty gone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from certgen.sheet.blocks.registry import block_kind
from certgen.sheet.engine.layout import TOP, YES, Layout, Part
from certgen.sheet.engine.setting import MM, Area, Block, Flow, Setting
from certgen.sheet.engine.subjects import SUBJECTS
from certgen.sheet.pdf.fonts import BASELINE, LEADING

OMITTED = "left-out"
#: Names of boxes that hold the layout's own text, and room to write in.
OWN_TEXT, BLANK = "text", "blank"


@dataclass(frozen=True, eq=False)
class Node:
    """A block, or columns of nodes; two nodes are the same only if they are one."""

    name: str = ""
    block: Block | None = None
    columns: tuple[tuple[Node, ...], ...] = ()
    shares: tuple[float, ...] = ()
    spanned: bool = False  # the shares are columns of the grid, gaps between them included
    align: str = TOP
    caption: str = ""
    height: float = 0.0
    scale: float = 1.0
    title: str = ""
    drop: int | None = None
    keep_with_next: bool = False
    every_page: bool = False

    def leaves(self) -> Iterator[Node]:
        """The blocks within, from left to right and top to bottom."""
        if self.block is not None:
            yield self
        for column in self.columns:
            for node in column:
                yield from node.leaves()

    def within(self) -> Iterator[Node]:
        """The node and all nodes within."""
        yield self
        for column in self.columns:
            for node in column:
                yield from node.within()


@dataclass(frozen=True)
class _Ground:
    """What the parts grow on: the layout, and the width between the margins of the page. [pt]"""

    layout: Layout
    breadth: float


def grown(layout: Layout, content: Any, breadth: float) -> tuple[Node, ...]:
    """The rows of a layout for a content, on a page this wide between its margins. [pt]"""
    ground = _Ground(layout, breadth)
    return tuple(node for row in layout.rows for node in _nodes(row, ground, content))


def _nodes(part: Part, ground: _Ground, content: Any) -> Iterator[Node]:
    """One node for a part, none where it has nothing to show, several where it is repeated."""
    layout = ground.layout
    subject = SUBJECTS[layout.subject]
    name, wanted = part.condition
    if name and subject.when[name](content) is not wanted:
        return
    for one in subject.each[part.each](content) if part.each else (content,):
        node = _node(part, ground, one)
        if node is not None:
            yield node


def _node(part: Part, ground: _Ground, content: Any) -> Node | None:
    stands = Node(
        caption=part.caption,
        height=(part.height or 0.0) * 1000.0 * MM,
        align=part.align,
        drop=part.drop,
        keep_with_next=part.keep_with_next == YES,
        every_page=part.every_page == YES,
    )
    if part.block:
        settings = getattr(ground.layout.blocks, part.block)
        block = block_kind(part.block).make(content, settings)
        title = settings.title or _called(part.block, content)
        named = replace(stands, name=part.block, block=block, scale=settings.scale, title=title)
        return named if block is not None else None
    if part.columns:
        return _with_columns(part, stands, ground, content)
    name = OWN_TEXT if part.text else BLANK
    return replace(stands, name=name, block=_own_text(part.text, part.text_align), title=part.text[:40])


#: What blocks that a certificate may leave out, and that stand on it without a title, are called where they are missing.
_UNTITLED = {"condition": "block.condition", "remarks": "block.remarks"}


def _called(block: str, content: Any) -> str:
    """The name of a block without a title."""
    return str(content.words(_UNTITLED[block])) if block in _UNTITLED else block.replace("_", " ")


def _with_columns(part: Part, stands: Node, ground: _Ground, content: Any) -> Node | None:
    """The columns that have something to show, which share the width."""
    shares = part.shares or part.spans or (1.0,) * len(part.columns)
    columns = [tuple(node for inner in column for node in _nodes(inner, ground, content)) for column in part.columns]
    if part.stack_below is not None and ground.breadth < part.stack_below * 1000.0 * MM:
        columns, shares = [tuple(node for column in columns for node in column)], (1.0,)
    kept = [(column, float(share)) for column, share in zip(columns, shares, strict=True) if column]
    if not kept:
        return None
    whole = part.spans is not None and len(kept) == len(columns)
    return replace(
        stands, columns=tuple(one for one, _ in kept), shares=tuple(share for _, share in kept), spanned=whole
    )


def _own_text(text: str, align: str) -> Block:
    """A text of the layout's own; without text, nothing but the room asked for."""

    def set_text(area: Area) -> Setting:
        flow = Flow(area)
        if text:
            flow.text(text, align=align)
        return flow.done()

    return Block(set_text)


def caption(text: str, area: Area) -> Setting:
    """The line under a part."""
    flow = Flow(area)
    if text:
        flow.space(LEADING - BASELINE)
        flow.text(text, size=area.scaled(0.92))
    return flow.done()


def without(rows: Iterable[Node], numbers: Sequence[int]) -> tuple[Node, ...]:
    """The rows without the parts that have these numbers, nor what is kept with them."""
    kept = [_thinned(row, set(numbers)) for row in rows]
    return tuple(_unless_alone(kept))


def _unless_alone(nodes: Sequence[Node | None]) -> Iterator[Node]:
    """The nodes that are left, but for those whose next, with which they stand, is gone."""
    following: Node | None = Node()
    staying: list[Node] = []
    for node in reversed(nodes):
        gone = node is None or (node.keep_with_next and following is None)
        if not gone and node is not None:
            staying.append(node)
        following = None if gone else node
    return reversed(staying)


def _thinned(node: Node, numbers: set[int]) -> Node | None:
    if node.drop in numbers:
        return None
    if not node.columns or not any(inner.drop in numbers for inner in node.within()):
        return node
    columns = [tuple(_unless_alone([_thinned(inner, numbers) for inner in column])) for column in node.columns]
    kept = [(column, share) for column, share in zip(columns, node.shares, strict=True) if column]
    if not kept:
        return None
    return replace(
        node,
        columns=tuple(one for one, _ in kept),
        shares=tuple(share for _, share in kept),
        spanned=node.spanned and len(kept) == len(columns),
    )


def dropping_order(rows: Iterable[Node]) -> list[int]:
    """The numbers of the parts that may go, the first to go first."""
    return sorted({node.drop for row in rows for node in row.within() if node.drop is not None})


def titles_of(rows: Iterable[Node], number: int) -> str:
    """What goes with a number, by the titles of its blocks."""
    dropped = [node for row in rows for node in row.within() if node.drop == number]
    return ", ".join(dict.fromkeys(leaf.title for node in dropped for leaf in node.leaves()))
