"""Mistakes of a layout that lie between its keys."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.document.build import Reader
from certgen.document.wording import nearest
from certgen.sheet.block_settings import BLOCK_NAMES, Chart
from certgen.sheet.layout_model import Layout
from certgen.sheet.parts import DEEPEST, YES, Part, within
from certgen.sheet.subjects import SUBJECTS, Subject


def check(layout: Layout, reader: Reader) -> None:
    """Keep every mistake that lies between keys."""
    _check_page(layout, reader)
    if not layout.rows:
        reader.wrong_at("rows", "the sheet has no rows", "write at least one, for example '- columns: [[heading]]'")
    subject = SUBJECTS[layout.subject]
    for path, part in _parts(layout):
        _check_part(part, path, reader)
        _check_against_subject(part, path, subject, reader)
        _check_columns(part, path, layout, reader)
        if part.every_page == YES and (layout.pages != "many" or path.count("[") > 1):
            what = "only a row of a sheet with 'pages: many' can be repeated on every page"
            reader.wrong_at(f"{path}.every_page", what, "leave the key out")
    _check_no_block_twice(layout, reader)
    _check_drops(layout, reader)


def _parts(layout: Layout) -> Iterator[tuple[str, Part]]:
    for index, row in enumerate(layout.rows, start=1):
        yield from within(row, f"rows[{index}]")


def _check_page(layout: Layout, reader: Reader) -> None:
    if layout.text.smallest > layout.text.preferred:
        reader.wrong_at("text.smallest", "the smallest text is larger than the preferred", "make it smaller")
    for name in BLOCK_NAMES:
        block = getattr(layout.blocks, name)
        if isinstance(block, Chart) and not block.rising:
            what = "the minimum, preferred and maximum height are not in rising order"
            reader.wrong_at(f"blocks.{name}", what, "let each be at least the one before")
    if not layout.page.papers:
        reader.wrong_at("page.papers", "the list is empty", "name at least one paper, for example [a4, letter]")
    if layout.page.height is not None and layout.page.width is None:
        reader.wrong_at("page.height", "a height without a width", "give page.width too, or name page.papers")


def _check_part(part: Part, path: str, reader: Reader) -> None:
    """A part is one thing, and its columns are not empty."""
    given = [name for name in ("block", "text", "columns") if getattr(part, name)]
    if len(given) > 1:
        what = f"{' and '.join(given)} stand together in one part"
        reader.wrong_at(path, what, "make a part of each")
    elif not given and part.height is None:
        reader.wrong_at(
            path, "the part holds nothing", "give it a block, a text or columns, or a height to leave empty"
        )
    if not all(part.columns):
        reader.wrong_at(f"{path}.columns", "a column without blocks", "name at least one block in every column")
    if path.count("columns") > DEEPEST:
        reader.wrong_at(path, f"columns within columns more than {DEEPEST} deep", "write the layout flatter")


def _check_against_subject(part: Part, path: str, subject: Subject, reader: Reader) -> None:
    """Blocks, conditions and repeats that the subject of the sheet has not."""
    if part.block and part.block not in subject.blocks:
        what = f"the block '{part.block}' does not belong to a sheet of this subject"
        reader.wrong_at(path, what, f"use one of: {', '.join(subject.blocks)}")
    name, _ = part.condition
    words = part.when.split()
    if words and (name not in subject.when or len(words) > 2 or (len(words) == 2 and words[0] != "not")):
        reader.wrong_at(f"{path}.when", f"'{part.when[:40]}' is no condition known here", nearest(name, subject.when))
    if part.each and part.each not in subject.each:
        what = f"'{part.each}' is nothing this sheet can be repeated for"
        reader.wrong_at(f"{path}.each", what, nearest(part.each, subject.each))


def _check_columns(part: Part, path: str, layout: Layout, reader: Reader) -> None:
    """Widths of columns."""
    count = len(part.columns)
    for name in ("shares", "spans"):
        widths = getattr(part, name)
        if widths is not None and len(widths) != count:
            what = f"{len(widths)} {name} for {count} columns"
            reader.wrong_at(f"{path}.{name}", what, "write one number for each column")
    if part.shares is not None and part.spans is not None:
        reader.wrong_at(f"{path}.spans", "shares and spans stand together", "keep one of them")
    if part.spans is not None and layout.page.grid is None:
        reader.wrong_at(f"{path}.spans", "the page has no grid", "write for example 'page: {grid: 12}'")
    elif part.spans is not None and path.count("[") == 1 and sum(part.spans) != layout.page.grid:
        what = f"the spans add up to {sum(part.spans)}, the grid has {layout.page.grid} columns"
        reader.wrong_at(f"{path}.spans", what, "let them add up to the grid")


def _check_no_block_twice(layout: Layout, reader: Reader) -> None:
    """A block may stand twice only under different conditions."""
    seen: set[tuple[str, str]] = set()
    for index, row in enumerate(layout.rows, start=1):
        for path, name, when in _placed(row, f"rows[{index}]", ""):
            if (name, when) in seen or (name, "") in seen or (not when and any(name == one for one, _ in seen)):
                reader.wrong_at(path, f"the block '{name}' stands on the sheet twice", "keep one of them")
            seen.add((name, when))


def _placed(part: Part, path: str, when: str) -> Iterator[tuple[str, str, str]]:
    """Every block with the path to tell it by and the conditions it stands under."""
    when = f"{when} {part.when}".strip()
    if part.block:
        yield path, part.block, when
    for number, column in enumerate(part.columns, start=1):
        for index, inner in enumerate(column, start=1):
            plain = inner.block and not inner.when
            own = f"{path}.columns" if plain else f"{path}.columns[{number}][{index}]"
            yield from _placed(inner, own, when)


def _check_drops(layout: Layout, reader: Reader) -> None:
    """A number stands once, or for the same block under different conditions."""
    seen: dict[int, str] = {}
    for path, part in _parts(layout):
        if part.drop is None:
            continue
        if part.drop in seen and (not part.block or seen[part.drop] != part.block):
            what = f"two rows have the number {part.drop}"
            reader.wrong_at(f"{path}.drop", what, "give each its own number")
        seen[part.drop] = part.block
