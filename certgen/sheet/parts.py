"""Parts of a layout: a block, a text of the layout's own, or columns of further parts, nested as deep as needed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.schema import key_schemas
from certgen.document.vocabulary import Choice, Custom, Each, Measure, Text, Whole, key
from certgen.sheet.block_settings import BLOCK_NAMES, length
from certgen.sheet.subjects import CONDITIONS, REPEATS

TOP, MIDDLE, BOTTOM, SPREAD = "top", "middle", "bottom", "spread"
YES = "yes"
SIDES = ("left", "centre", "right")
#: Columns side by side, and parts in one column or row.
_MOST_COLUMNS, _MOST_PARTS = 12, 12
#: Deepest nesting of columns within columns.
DEEPEST = 6


def _read(node: yaml.Node, reader: Reader, path: str) -> Part | None:
    """A part from the name of a block, or from keys of its own."""
    if isinstance(node, yaml.ScalarNode):
        name = reader.value(Choice(BLOCK_NAMES), node, path)
        return None if name is None else Part(block=name)
    return reader.group(Part, node, path)


def _schema() -> dict[str, Any]:
    spelt_out = {"type": "object", "properties": key_schemas(Part), "additionalProperties": False}
    return {"anyOf": [{"enum": list(BLOCK_NAMES)}, spelt_out]}


_SAYS = "the name of a block, or a part with keys of its own"
_INNER = Custom(_read, lambda: {"$ref": "#/properties/rows/items"}, _SAYS)
_SIDES = Measure("ratio", above=0.0, high=100.0, example="2", bounds="more than zero")


@dataclass(frozen=True)
class Part:
    """One part of a sheet: ``block``, ``text`` or ``columns``, and how it stands."""

    block: str = key(Choice(BLOCK_NAMES), "The block that stands here.", default="")
    text: str = key(Text(2000, "Ask us about a rewind."), "A text of the layout's own.", default="")
    text_align: str = key(Choice(SIDES), "Where the lines of 'text' stand in their column.", default="left")
    columns: tuple[tuple[Part, ...], ...] = key(
        Each(Each(_INNER, _MOST_PARTS), _MOST_COLUMNS),
        "Columns side by side, each a list of parts, one below the other: names of blocks, or parts as these.",
        default=(),
    )
    shares: tuple[float, ...] | None = key(
        Each(_SIDES, _MOST_COLUMNS), "Share of the width, a number for each column; equal shares where left out."
    )
    spans: tuple[int, ...] | None = key(
        Each(Whole(1, 24), _MOST_COLUMNS),
        "In place of shares: how many columns of the page's grid each column covers, gaps between them included.",
    )
    stack_below: float | None = key(
        length("80 mm", 1.0),
        "On a page that is narrower than this between its margins the columns stand one below the other.",
    )
    align: str = key(
        Choice((TOP, MIDDLE, BOTTOM, SPREAD)),
        "Where a column shorter than its neighbours stands; 'spread' puts the spare room between its parts.",
        default=TOP,
    )
    when: str = key(
        Text(60, "thermal"),
        f"Only where this holds, or not: {', '.join(CONDITIONS)}; 'not' may stand before it.",
        default="",
    )
    each: str = key(Choice(REPEATS), "Repeated for each of these, one below the other.", default="")
    caption: str = key(Text(300, "Both at 21 °C."), "A line of small text under the part.", default="")
    height: float | None = key(length("12 mm", 0.4), "At least this high, for example to leave room to write.")
    drop: int | None = key(Whole(1, 99), "May be left out for lack of room, the lowest number first.")
    keep_with_next: str = key(
        Choice((YES, "no")),
        "Never parted from the part below: not by a page break, and left out together with it.",
        default="no",
    )
    every_page: str = key(
        Choice((YES, "no")), "With 'pages: many': repeated at the head or foot of every page.", default="no"
    )

    @property
    def condition(self) -> tuple[str, bool]:
        """The name of the condition, and whether it must hold."""
        words = self.when.split()
        return (words[-1] if words else "", not (len(words) == 2 and words[0] == "not"))

    @property
    def names(self) -> tuple[str, ...]:
        """The blocks of the part and of all parts within it."""
        return tuple(part.block for _, part in within(self, "") if part.block)


def within(part: Part, path: str) -> Iterator[tuple[str, Part]]:
    """A part and every part within it, each with its path."""
    yield path, part
    for number, column in enumerate(part.columns, start=1):
        for index, inner in enumerate(column, start=1):
            yield from within(inner, f"{path}.columns[{number}][{index}]")


#: A part among the rows of a layout.
ROW = Custom(_read, _schema, _SAYS, of=Part)
