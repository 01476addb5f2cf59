"""Layout files: which blocks stand where, how large, under which titles, and what may go when room is short."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.source import Problems, decode, parse, read_bounded
from certgen.document.vocabulary import Choice, Custom, Each, Group, Measure, Text, Whole, key

#: Papers: width and height. [mm] Sources: ISO 216:2007 (A4); ANSI/ASME Y14.1 size A, 8.5 in by 11 in (Letter).
PAPERS = {"a4": (210.0, 297.0), "letter": (8.5 * 25.4, 11.0 * 25.4)}

_POINTS = re.compile(r"(\d{1,2}(?:\.\d{1,3})?)\s*pt")
_SAYS_POINTS = "a text size from 4 to 20 points, for example '8.2 pt'"


def _text_size() -> Custom:
    """A text size in typographic points; the unit belongs to sheets alone, not to the units of the bench."""

    def read(node: yaml.Node, reader: Reader, path: str) -> float | None:
        text = reader.scalar(node, path, f"write {_SAYS_POINTS}")
        if text is None:
            return None
        match = _POINTS.fullmatch(text.strip())
        if match is None or not 4.0 <= float(match[1]) <= 20.0:
            reader.wrong(node, path, f"'{text[:40]}' is not possible for a text size", f"write {_SAYS_POINTS}")
            return None
        return float(match[1])

    return Custom(read, lambda: {"type": "string", "pattern": "pt$", "examples": ["8.2 pt"]}, _SAYS_POINTS)


def _length(example: str, high: float, low: float = 0.0) -> Measure:
    bounds = f"from {low * 1000:g} to {high * 1000:g} mm"
    return Measure("length", low=low, high=high, example=example, bounds=bounds)


def _title(default: str) -> Any:
    return key(Text(80, default or "a title"), "Title above the block; write '' for none.", default=default)


@dataclass(frozen=True)
class Titled:
    """A block of text."""

    title: str = _title("")


@dataclass(frozen=True)
class PointTable:
    """A table of load points."""

    title: str = _title("")
    rows_in_one_panel: int = key(
        Whole(5, 200), "With more rows than this the table stands in two panels side by side.", default=14
    )


@dataclass(frozen=True)
class Chart:
    """A chart; the only kind of block that stretches."""

    title: str = _title("")
    minimum_height: float = key(_length("34 mm", 0.4, 0.02), "Least height, title included.", default=0.034)
    preferred_height: float = key(_length("58 mm", 0.4, 0.02), "Height where room allows.", default=0.058)
    maximum_height: float = key(_length("95 mm", 0.4, 0.02), "Most height where room is left over.", default=0.095)

    @property
    def rising(self) -> bool:
        """Whether the heights are in order."""
        return self.minimum_height <= self.preferred_height <= self.maximum_height


@dataclass(frozen=True)
class Blocks:
    """The settings of every kind of block, by its name."""

    heading: Titled = key(Group(Titled), "Title of the sheet, shop, number, page.", default=Titled())
    verdict: Titled = key(Group(Titled), "The outcome with its reasons, and the headline figures.", default=Titled())
    identity: Titled = key(Group(Titled), "Customer and motor.", default=Titled())
    nameplate: Titled = key(Group(Titled), "The plate, declared against measured.", default=Titled())
    findings: Titled = key(Group(Titled), "What was judged, by which rule.", default=Titled())
    rated_points: Titled = key(Group(Titled), "The points read off the load curve.", default=Titled())
    budget: Titled = key(Group(Titled), "How sure the rated figures are, and what that rests on.", default=Titled())
    load_points: PointTable = key(Group(PointTable), "The points tested.", default=PointTable())
    characteristic: Titled = key(Group(Titled), "Single figures of the machine.", default=Titled())
    losses: Titled = key(Group(Titled), "Input power taken apart.", default=Titled())
    heat: Titled = key(Group(Titled), "Temperature rise and insulation.", default=Titled())
    rating: Titled = key(Group(Titled), "The rating assessed for a motor without one.", default=Titled())
    comparisons: Titled = key(Group(Titled), "Two tests of one motor.", default=Titled())
    torque_chart: Chart = key(Group(Chart), "Torque against speed.", default=Chart())
    load_chart: Chart = key(Group(Chart), "Current, power factor and efficiency against shaft power.", default=Chart())
    conditions: Titled = key(Group(Titled), "How the test was made, and what is missing.", default=Titled())
    cautions: Titled = key(Group(Titled), "Warnings, each with what raised it.", default=Titled())
    signature: Titled = key(Group(Titled), "Who answers for the test.", default=Titled())
    footer: Titled = key(Group(Titled), "Scope, program, digests of the input files.", default=Titled())


BLOCK_NAMES = tuple(Blocks.__dataclass_fields__)


@dataclass(frozen=True)
class Page:
    """The page around the blocks. [m]"""

    margin: float = key(_length("12 mm", 0.04, 0.003), "Margin on every side.", default=0.012)
    gap: float = key(_length("3 mm", 0.02), "Least space between rows.", default=0.003)
    column_gap: float = key(_length("6 mm", 0.03), "Space between columns.", default=0.006)


@dataclass(frozen=True)
class TextSizes:
    """Sizes of the body text. [pt]"""

    preferred: float = key(_text_size(), "Where room allows.", default=8.2)
    smallest: float = key(_text_size(), "Nothing on the page is smaller.", default=5.6)


@dataclass(frozen=True)
class Row:
    """Columns of blocks side by side."""

    columns: tuple[tuple[str, ...], ...] = key(
        Each(Each(Choice(BLOCK_NAMES), 8), 4), "A list of blocks for each column.", required=True, default=()
    )
    shares: tuple[float, ...] | None = key(
        Each(Measure("ratio", above=0.0, high=100.0, example="2", bounds="more than zero"), 4),
        "Share of the width, a number for each column; equal shares where left out.",
    )
    drop: int | None = key(Whole(1, 99), "May be left out for lack of room, the lowest number first.")


@dataclass(frozen=True)
class Layout:
    """One sheet."""

    rows: tuple[Row, ...] = key(Each(Group(Row), 40), "Rows from top to bottom.", required=True, default=())
    page: Page = key(Group(Page), "Margin and gaps.", default=Page())
    text: TextSizes = key(Group(TextSizes), "Text sizes.", default=TextSizes())
    blocks: Blocks = key(Group(Blocks), "Titles and heights, block by block.", default=Blocks())


def layout_folder() -> Path:
    """Where the shipped layouts are: inside an installed package, or beside it in a checkout."""
    package = Path(str(resources.files("certgen")))
    inside = package / "layouts"
    return inside if inside.is_dir() else package.parent / "layouts"


def shipped_layouts() -> tuple[str, ...]:
    """Names of the shipped layouts."""
    return tuple(sorted(path.stem for path in layout_folder().glob("*.yaml")))


def find_layout(name: str) -> Path | None:
    """The file of a shipped layout, or ``None`` where none has that name."""
    return layout_folder() / f"{name}.yaml" if name in shipped_layouts() else None


def load_layout(path: Path, shown: str, problems: Problems) -> Layout | None:
    """A layout file as a layout, or ``None`` with every mistake kept."""
    data = read_bounded(path, shown, problems)
    text = None if data is None else decode(data, shown, problems)
    root = None if text is None else parse(text, shown, problems)
    if root is None:
        return None
    before = len(problems.found)
    reader = Reader(shown, path.parent, problems)
    layout = reader.group(Layout, root)
    if layout is None or len(problems.found) > before:
        return None
    _check(layout, reader)
    return layout if len(problems.found) == before else None


def _check(layout: Layout, reader: Reader) -> None:
    """Mistakes that lie between keys."""
    _check_sizes(layout, reader)
    _check_rows(layout, reader)


def _check_sizes(layout: Layout, reader: Reader) -> None:
    if layout.text.smallest > layout.text.preferred:
        reader.wrong_at("text.smallest", "the smallest text is larger than the preferred", "make it smaller")
    for name in BLOCK_NAMES:
        block = getattr(layout.blocks, name)
        if isinstance(block, Chart) and not block.rising:
            what = "the minimum, preferred and maximum height are not in rising order"
            reader.wrong_at(f"blocks.{name}", what, "let each be at least the one before")


def _check_rows(layout: Layout, reader: Reader) -> None:
    seen: set[str] = set()
    dropped: set[int] = set()
    if not layout.rows:
        reader.wrong_at("rows", "the sheet has no rows", "write at least one, for example '- columns: [[heading]]'")
    for index, row in enumerate(layout.rows):
        path = f"rows[{index}]"
        names = [name for column in row.columns for name in column]
        if not names or not all(row.columns):
            reader.wrong_at(f"{path}.columns", "a column without blocks", "name at least one block in every column")
        for name in names:
            if name in seen:
                reader.wrong_at(f"{path}.columns", f"the block '{name}' stands on the sheet twice", "keep one of them")
            seen.add(name)
        if row.shares is not None and len(row.shares) != len(row.columns):
            what = f"{len(row.shares)} shares for {len(row.columns)} columns"
            reader.wrong_at(f"{path}.shares", what, "write one number for each column")
        if row.drop is not None and row.drop in dropped:
            reader.wrong_at(f"{path}.drop", f"two rows have the number {row.drop}", "give each its own number")
        dropped.add(row.drop or 0)
