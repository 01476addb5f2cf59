"""Why a sheet does not fit: which block, by how much, and what can be changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from certgen.sheet.blocks.registry import BLOCKS
from certgen.sheet.measure import Sized, column_widths, leaves, size_of, total_height
from certgen.sheet.page import Draft, Sheet
from certgen.sheet.setting import MM, Area, TooNarrow
from certgen.sheet.tree import OMITTED, Node


def too_long(sheet: Sheet, draft: Draft, sized: Sequence[Sized] | None) -> str:
    """What does not fit, by how much, and what can be changed."""
    smallest = sheet.layout.text.smallest
    narrow = _too_narrow(sheet, draft.rows)
    if narrow is not None:
        name, excess = narrow
        return (
            f"the block '{name}' is {excess / MM:.1f} mm too wide for its column, even in the smallest text "
            f"({smallest:g} pt); give its column a larger share in the layout, or {advice(name)}."
        )
    excess = total_height(sized or [], 0.0, sheet.gap) - sheet.room
    tallest = max(_blocks(sized or []), key=lambda block: block.height(0.0))
    return (
        f"the sheet does not fit on one page ({sheet.paper}) by {excess / MM:.1f} mm, even in the smallest text "
        f"({smallest:g} pt); the block '{tallest.node.name}' takes most, {tallest.height(0.0) / MM:.1f} mm: "
        f"{advice(tallest.node.name)}, or change text.smallest or the rows of the layout."
    )


def too_high_for_a_page(sheet: Sheet, sized: Sized, excess: float) -> str:
    """A part that no page is high enough for."""
    tallest = max(_blocks([sized]), key=lambda block: block.height(1.0))
    return (
        f"the block '{tallest.node.name}' is {excess / MM:.1f} mm too high for a page ({sheet.paper}); "
        f"{advice(tallest.node.name)}, or change text.preferred or the rows of the layout."
    )


def advice(name: str) -> str:
    """What shortens a block."""
    return BLOCKS[name].advice if name in BLOCKS else "shorten the texts of the layout"


def _blocks(sized: Sequence[Sized]) -> list[Sized]:
    return [leaf for leaf in leaves(sized) if leaf.node.name != OMITTED]


def _too_narrow(sheet: Sheet, rows: Sequence[Node]) -> tuple[str, float] | None:
    """The first block that cannot be set in its column, with its excess."""
    smallest = sheet.layout.text.smallest
    for leaf, width in _leaf_widths(rows, sheet.breadth, sheet.spacing.column_gap):
        try:
            size_of(leaf, Area(width, smallest, smallest), sheet.spacing)
        except TooNarrow as cause:
            return leaf.name, cause.excess
    return None


def _leaf_widths(nodes: Sequence[Node], width: float, gap: float) -> Iterator[tuple[Node, float]]:
    for node in nodes:
        if node.block is not None:
            yield node, width
        else:
            for column, own in zip(node.columns, column_widths(node, width, gap), strict=True):
                yield from _leaf_widths(column, own, gap)
