"""Layout files: the shipped ones and a shop's own, read with every mistake reported."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.schema import key_schemas
from certgen.document.source import Problems, decode, parse, read_bounded
from certgen.document.vocabulary import Choice, Custom, Each, Group, Measure, Text, Whole, key
from certgen.document.wording import nearest
from certgen.errors import Problem
from certgen.messages.languages import Language, shipped
from certgen.sheet.engine.appearance import Colours, Numbers, TextSizes
from certgen.sheet.engine.block_settings import BLOCK_NAMES, Blocks, Chart, Titled, length
from certgen.sheet.engine.subjects import CONDITIONS, REPEATS, SUBJECTS, TEST, Subject
from certgen.sheet.language_file import LANGUAGE_TAG
from certgen.sheet.words import PHRASES, TEXTS, Words

# Papers a sheet may be printed on.


_INCH = 25.4


@dataclass(frozen=True)
class Paper:
    """Width and height [mm]; a strip has no height of its own and is cut where its content ends, at most ``most``."""

    width: float
    height: float | None
    most: float = 400.0


#: Sources: ISO 216:2007 (A4, A5, A6); ANSI/ASME Y14.1 size A, 8.5 in by 11 in (Letter). Labels of 4 in by 6 in and tape
#: 60 mm wide: common practice, no source.
PAPERS = {
    "a4": Paper(210.0, 297.0),
    "letter": Paper(8.5 * _INCH, 11.0 * _INCH),
    "a5": Paper(148.0, 210.0),
    "a6": Paper(105.0, 148.0),
    "4x6in": Paper(4.0 * _INCH, 6.0 * _INCH),
    "strip60": Paper(60.0, None),
}

#: Papers of a layout that names none.
USUAL = ("a4", "letter")


# Parts of a layout: a block, a text of the layout's own, or columns of further parts, nested as deep as needed.


TOP, MIDDLE, BOTTOM, SPREAD = "top", "middle", "bottom", "spread"
YES = "yes"
SIDES = ("left", "centre", "right")
#: Columns side by side, and parts in one column or row.
_MOST_COLUMNS, _MOST_PARTS = 12, 12
#: Deepest nesting of columns within columns.
DEEPEST = 6


def _read_part(node: yaml.Node, reader: Reader, path: str) -> Part | None:
    """A part from the name of a block, or from keys of its own."""
    if isinstance(node, yaml.ScalarNode):
        name = reader.value(Choice(BLOCK_NAMES), node, path)
        return None if name is None else Part(block=name)
    return reader.group(Part, node, path)


def _schema() -> dict[str, Any]:
    spelt_out = {"type": "object", "properties": key_schemas(Part), "additionalProperties": False}
    return {"anyOf": [{"enum": list(BLOCK_NAMES)}, spelt_out]}


_SAYS = "the name of a block, or a part with keys of its own"
_INNER = Custom(_read_part, lambda: {"$ref": "#/properties/rows/items"}, _SAYS)
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
ROW = Custom(_read_part, _schema, _SAYS, of=Part)


# What a layout holds: which parts stand where, how large, in which words, and what may go when room is short.


ONE, MANY = "one", "many"
CERTIFICATE, RECORD, TAG = "certificate", "record", "tag"
#: What a certificate must hold, in words, each with the blocks of which one must stand there.
MANDATORY = {
    "title, number and shop": ("heading",),
    "the motor": ("identity",),
    "the verdict with its scope": ("verdict",),
    "the cautions": ("cautions", "all_cautions"),
    "who authorises it": ("signature",),
    "what the results relate to": ("scope", "footer"),
}
COLOUR, BLACK = "colour", "black"
#: Whose fonts the page is set in first: its own, or the shop's.
PAGE, OF_THE_SHOP = "page", "shop"
#: The name of a paper whose size the layout gives itself.
OWN = "own"

_SAYS_LANGUAGE = "a language tag, for example 'en', 'de' or 'pt-BR'"


def _language() -> Custom:
    """A language tag. Source: BCP 47 (RFC 5646), its usual forms."""

    def read(node: yaml.Node, reader: Reader, path: str) -> str | None:
        text = reader.scalar(node, path, f"write {_SAYS_LANGUAGE}")
        if text is None or LANGUAGE_TAG.fullmatch(text):
            return text
        reader.wrong(node, path, f"'{text[:40]}' is no language tag", f"write {_SAYS_LANGUAGE}")
        return None

    return Custom(read, lambda: {"type": "string", "pattern": f"^{LANGUAGE_TAG.pattern}$"}, _SAYS_LANGUAGE)


@dataclass(frozen=True)
class Page:
    """The page around the blocks. [m]"""

    margin: float = key(length("12 mm", 0.04, 0.001), "Margin on every side.", default=0.012)
    gap: float = key(length("3 mm", 0.02), "Least space between rows.", default=0.003)
    column_gap: float = key(length("6 mm", 0.03), "Space between columns.", default=0.006)
    grid: int | None = key(Whole(2, 24), "Columns of the page's grid, for rows with 'spans'.")
    papers: tuple[str, ...] = key(
        Each(Choice(tuple(PAPERS)), 6), "Papers the layout is made for, the usual one first.", default=USUAL
    )
    width: float | None = key(length("90 mm", 1.0, 0.03), "Width of a paper of its own, in place of 'papers'.")
    height: float | None = key(
        length("55 mm", 2.0, 0.02), "Height of a paper of its own; left out, the page ends with its content."
    )


@dataclass(frozen=True)
class Layout:
    """One sheet."""

    rows: tuple[Part, ...] = key(Each(ROW, 40), "Parts from top to bottom.", required=True, default=())
    subject: str = key(Choice(tuple(SUBJECTS)), "What the sheet is about.", default=TEST)
    purpose: str = key(
        Choice((CERTIFICATE, RECORD, TAG)),
        "A record is the evidence behind a certificate; a tag is a label beside it. Both take the certificate's number "
        "and are kept in no archive of their own.",
        default=CERTIFICATE,
    )
    inks: str = key(
        Choice((COLOUR, BLACK)), "'black' prints everything in full black, as thermal printers need.", default=COLOUR
    )
    colours: Colours = key(Group(Colours), "Colours of the shop; all else is black.", default=Colours())
    typeface: str = key(
        Choice((PAGE, OF_THE_SHOP)),
        "'shop' sets the page in the fonts of the shop file, as far as they have the characters.",
        default=PAGE,
    )
    pages: str = key(Choice((ONE, MANY)), "One page, or as many as it takes in the preferred text size.", default=ONE)
    language: str | None = key(
        _language(), "Language of the page, for screen readers and search; left out, the one the page is printed in."
    )
    page: Page = key(Group(Page), "Margin, gaps and paper.", default=Page())
    text: TextSizes = key(Group(TextSizes), "Text sizes.", default=TextSizes())
    numbers: Numbers = key(Group(Numbers), "How figures are written.", default=Numbers())
    blocks: Blocks = key(Group(Blocks), "Titles and heights, block by block.", default=Blocks())
    texts: Mapping[str, str] | None = key(TEXTS, "Fixed words of the page in other words, by key.")
    phrases: Mapping[str, str] | None = key(PHRASES, "Sentences and names out of the results in other words.")

    @property
    def spoken(self) -> Language:
        """The language of the page."""
        return shipped()

    @property
    def tag(self) -> str:
        """The tag of the page's language, as the layout states it or else the one it is printed in."""
        return self.language or self.spoken.tag

    @property
    def words(self) -> Words:
        """The words of the page."""
        return Words(self.texts or {}, self.phrases or {}, self.spoken)

    @property
    def papers(self) -> dict[str, Paper]:
        """The papers the layout can be printed on, by name, the usual one first."""
        if self.page.width is not None:
            height = None if self.page.height is None else self.page.height * 1000.0
            return {OWN: Paper(self.page.width * 1000.0, height)}
        return {name: PAPERS[name] for name in self.page.papers}


@dataclass(frozen=True)
class LayoutInLanguage(Layout):
    """A layout whose page speaks another language than English."""

    speech: Language = field(default_factory=shipped)

    @property
    def spoken(self) -> Language:
        """The language of the page."""
        return self.speech


def in_language(layout: Layout, language: Language) -> Layout:
    """The same sheet in a language: its words, how it writes figures, and the titles that the program ships.

    A title or a text that a shop wrote into a layout of its own stays.
    """
    if language == layout.spoken:
        return layout
    given = {one.name: getattr(layout, one.name) for one in fields(Layout)}
    titles = {
        name: replace(block, title=language.known(block.title))
        for name in BLOCK_NAMES
        if (block := getattr(layout.blocks, name)).title
    }
    return LayoutInLanguage(**{**given, "blocks": replace(layout.blocks, **titles)}, speech=language)


def missing_of_certificate(layout: Layout) -> tuple[str, ...]:
    """What a certificate must hold and this layout does not, in words; nothing for a layout of another purpose."""
    if layout.purpose != CERTIFICATE or layout.subject != TEST:
        return ()
    held = {part.block for _, part in _parts(layout) if not part.when and part.drop is None}
    missing = [said for said, names in MANDATORY.items() if not held & set(names)]
    if not layout.blocks.heading.title:
        missing.append("a title for 'heading'")
    return tuple(missing)


def untitled(layout: Layout) -> str:
    """The heading of a sheet that has no title, or nothing where it has one."""
    headings = [name for _, part in _parts(layout) if (name := part.block).endswith("heading")]
    if not headings:
        return next(name for name in SUBJECTS[layout.subject].blocks if name.endswith("heading"))
    return next((name for name in headings if not getattr(layout.blocks, name).title), "")


# Mistakes of a layout that lie between its keys.


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


# Layout files: the shipped ones and a shop's own, read with every mistake reported.


__all__ = ["BLOCK_NAMES", "PAPERS", "Blocks", "Chart", "Layout", "Part", "Titled", "load_layout"]


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
    if data is None:
        return None
    layout, mistakes = _read_layout(data, shown, path.parent)
    problems.found.extend(mistakes)
    return layout


@lru_cache(maxsize=16)
def _read_layout(data: bytes, shown: str, folder: Path) -> tuple[Layout | None, tuple[Problem, ...]]:
    """A layout and the mistakes in its file; many jobs use one layout."""
    problems = Problems()
    text = decode(data, shown, problems)
    root = None if text is None else parse(text, shown, problems)
    reader = Reader(shown, folder, problems)
    layout = None if root is None else reader.group(Layout, root)
    if layout is not None and not problems.found:
        check(layout, reader)
    return (None if problems.found else layout), tuple(problems.found)
