"""Layouts of any shape: rows in columns in rows, spans, captions, conditions, repeats, several pages."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet.geometry import ROUNDING, assert_sound
from sheet.results_factory import CAUTIONS, make_results, with_uncertainties
from sheet.wider_results import with_everything

from certgen.errors import PageOverflow
from certgen.sheet.engine.layout import PAPERS, Layout, Page, Part, TextSizes
from certgen.sheet.engine.place import OMITTED, Box, PlacedPage, compose
from certgen.sheet.engine.setting import MM, TextMark
from certgen.sheet.engine.subjects import SUBJECTS, TEST
from certgen.sheet.pdf.fonts import width
from certgen.sheet.pdf.pdf_operators import BLACK, INKS, PAPER, black_or_paper

pytestmark = pytest.mark.slow

Read = Callable[[str], tuple[Layout, list[str]]]

CONTENTS = (
    make_results(1),
    make_results(8),
    make_results(40, rich=True, flagged=True),
    with_uncertainties(make_results(12, rich=True)),
    with_everything(make_results(12, rich=True)),
)


def texts(box: Box) -> str:
    return " ".join(mark.text for mark in box.setting.marks if isinstance(mark, TextMark))


def boxes_of(page: PlacedPage, name: str) -> list[Box]:
    return [box for box in page.boxes if box.name == name]


#: What a refusal says: the excess in mm, the block by its name, and what to change.
REFUSAL = re.compile(
    r"^(the sheet does not fit on one page \(\w+\) by \d+\.\d mm, even in the smallest text \([\d.]+ pt\); "
    r"the block '[\w-]+' takes most, |the block '[\w-]+' is \d+\.\d mm too (wide|high) for )"
)

plain = st.builds(
    Part,
    block=st.sampled_from(SUBJECTS[TEST].blocks),
    caption=st.sampled_from(("", "Both at 21 °C, taken one after the other.")),
    when=st.sampled_from(("", "", "not losses", "curve")),
    height=st.sampled_from((None, None, 0.012)),
    drop=st.sampled_from((None, None, 1, 2)),
)
own_text = st.builds(Part, text=st.text(st.sampled_from("abc Wörter "), min_size=1, max_size=300))


def joined(columns: list[list[Part]], widths: tuple[int, ...], spanned: bool, **stands: str) -> Part:
    """Columns with as many widths, as spans or as shares."""
    own = widths[: len(columns)]
    spans, shares = (own, None) if spanned else (None, tuple(float(one) for one in own))
    return Part(columns=tuple(tuple(column) for column in columns), spans=spans, shares=shares, **stands)


def columns_of(inner: st.SearchStrategy[Part]) -> st.SearchStrategy[Part]:
    return st.builds(
        joined,
        st.lists(st.lists(inner, min_size=1, max_size=3), min_size=1, max_size=3),
        st.tuples(*[st.integers(1, 4)] * 3),
        st.booleans(),
        align=st.sampled_from(("top", "middle", "bottom", "spread")),
        keep_with_next=st.sampled_from(("yes", "no")),
        each=st.sampled_from(("", "", "caution")),
    )


parts = st.recursive(plain | own_text, columns_of, max_leaves=8)


@settings(max_examples=80, deadline=None)
@given(
    rows=st.lists(parts, min_size=1, max_size=7).map(tuple),
    content=st.integers(0, len(CONTENTS) - 1),
    paper=st.sampled_from(tuple(PAPERS)),
    units=st.sampled_from(("si", "us", "both")),
    pages=st.sampled_from(("one", "many")),
    smallest=st.sampled_from((4.5, 6.0)),
)
def test_no_layout_of_any_shape_overlaps_or_leaves_the_margins(
    *, rows: tuple[Part, ...], content: int, paper: str, units: str, pages: str, smallest: float
) -> None:
    layout = Layout(
        rows=rows,
        pages=pages,
        page=Page(margin=0.004, gap=0.001, column_gap=0.003, grid=12, papers=(paper,)),
        text=TextSizes(8.0, smallest),
    )
    try:
        first = compose(CONTENTS[content], layout, paper=paper, units=units)
    except PageOverflow as overflow:
        refusal = str(overflow)
    else:
        refusal = ""
        for page in first.pages:
            assert_sound(page, layout)
    assert not refusal or REFUSAL.search(refusal), refusal


def test_columns_nest_and_each_has_its_share(layout_from: Read) -> None:
    layout, mistakes = layout_from(
        "page: {margin: 10 mm, column_gap: 6 mm}\n"
        "rows:\n  - columns: [[identity], [nameplate, {columns: [[signature], [all_cautions]], shares: [1, 2]}]]\n"
        "    shares: [1, 2]\n"
    )
    assert mistakes == []
    page = compose(make_results(), layout, paper="a4", units="si")
    (plate,), (signed,), (warned,) = (boxes_of(page, name) for name in ("nameplate", "signature", "all_cautions"))
    assert plate.width / MM == pytest.approx((190 - 6) * 2 / 3)
    assert signed.x == plate.x
    assert signed.width * 2 == pytest.approx(warned.width)
    assert warned.x + warned.width == pytest.approx(plate.x + plate.width)
    assert signed.y == warned.y >= plate.bottom


def test_spans_stand_on_the_grid_of_the_page(layout_from: Read) -> None:
    layout, _ = layout_from(
        "page: {margin: 10 mm, column_gap: 5 mm, grid: 4}\n"
        "rows:\n  - {columns: [[identity], [nameplate]], spans: [1, 3]}\n"
        "  - {columns: [[signature], [all_cautions]], spans: [2, 2]}\n"
    )
    page = compose(make_results(), layout, paper="a4", units="si")
    unit = (190 - 3 * 5) / 4
    assert boxes_of(page, "nameplate")[0].x / MM == pytest.approx(10 + unit + 5)
    assert boxes_of(page, "all_cautions")[0].x / MM == pytest.approx(10 + 2 * (unit + 5))


@pytest.mark.parametrize(("align", "part"), [("top", 0.0), ("middle", 0.5), ("bottom", 1.0)])
def test_a_short_column_stands_as_its_row_aligns_it(layout_from: Read, align: str, part: float) -> None:
    layout, _ = layout_from(f"rows:\n  - {{columns: [[conditions], [signature]], align: {align}}}\n")
    page = compose(make_results(), layout, paper="a4", units="si")
    (tall,), (short,) = boxes_of(page, "conditions"), boxes_of(page, "signature")
    assert short.y - tall.y == pytest.approx(part * (tall.height - short.height))


def test_spread_puts_the_spare_room_between_the_parts(layout_from: Read) -> None:
    layout, _ = layout_from("rows:\n  - {columns: [[conditions], [identity, signature]], align: spread}\n")
    page = compose(make_results(), layout, paper="a4", units="si")
    (tall,), (last,) = boxes_of(page, "conditions"), boxes_of(page, "signature")
    assert max(tall.bottom, last.bottom) == pytest.approx(last.bottom)


def test_a_condition_lets_a_part_stand_or_not(layout_from: Read) -> None:
    layout, mistakes = layout_from(
        "rows:\n  - {text: Warm, when: thermal}\n  - {text: Cold, when: not thermal}\n  - heading\n"
    )
    assert mistakes == []
    cold = compose(make_results(), layout, paper="a4", units="si")
    warm = compose(with_everything(make_results()), layout, paper="a4", units="si")
    assert (texts(cold.boxes[0]), texts(warm.boxes[0])) == ("Cold", "Warm")


def test_a_block_may_stand_twice_under_conditions_that_exclude_each_other(layout_from: Read) -> None:
    text = "rows:\n  - columns: [[{block: heat, when: thermal}], [{block: heat, when: %s}]]\n"
    assert layout_from(text % "not thermal")[1] == []
    assert "stands on the sheet twice" in layout_from(text % "thermal")[1][0]


def test_a_part_is_repeated_for_each_entry(layout_from: Read) -> None:
    layout, _ = layout_from("rows:\n  - {block: all_cautions, each: caution, caption: Sign here.}\n")
    page = compose(make_results(), layout, paper="a4", units="si")
    found = [texts(box) for box in boxes_of(page, "all_cautions")]
    assert [caution.text in text for caution, text in zip(CAUTIONS, found, strict=True)] == [True, True]
    assert len(boxes_of(page, "caption")) == 2


def test_a_part_of_a_given_height_leaves_room_to_write(layout_from: Read) -> None:
    layout, mistakes = layout_from("page: {gap: 2 mm}\nrows:\n  - heading\n  - {height: 30 mm}\n  - footer\n")
    assert mistakes == []
    page = compose(make_results(), layout, paper="a4", units="si")
    assert boxes_of(page, "blank")[0].height / MM == pytest.approx(30)
    assert boxes_of(page, "footer")[0].y - boxes_of(page, "blank")[0].bottom >= 2 * MM - ROUNDING


def test_what_is_kept_with_the_next_goes_with_it(layout_from: Read) -> None:
    layout, _ = layout_from(
        "text: {preferred: 8 pt, smallest: 8 pt}\nrows:\n  - heading\n"
        "  - {text: Before the points, keep_with_next: yes}\n  - {block: load_points, drop: 1}\n  - conditions\n"
    )
    long = replace(make_results(), cautions=CAUTIONS)
    whole = compose(long, layout, paper="a4", units="si")
    assert [box.name for box in whole.boxes] == ["heading", "text", "load_points", "conditions"]
    remarks = replace(long.certificate, remarks="word " * 1440)
    short = compose(replace(long, certificate=remarks), layout, paper="a4", units="si")
    assert [box.name for box in short.boxes] == ["heading", OMITTED, "conditions"]


def test_parts_within_columns_can_be_dropped(layout_from: Read) -> None:
    layout, _ = layout_from(
        "text: {preferred: 8 pt, smallest: 8 pt}\nblocks: {losses: {title: Losses}}\n"
        "rows:\n  - columns: [[conditions, {block: all_cautions, drop: 1}], [identity]]\n  - footer\n"
    )
    results = replace(make_results(), cautions=CAUTIONS * 60)
    page = compose(results, layout, paper="a4", units="si")
    assert page.left_out == ("all cautions",)
    assert {"conditions", "identity", "footer"} <= {box.name for box in page.boxes}


def test_a_strip_ends_with_its_content(layout_from: Read) -> None:
    layout, _ = layout_from("page: {margin: 2 mm, papers: [strip60]}\nrows: [identity, all_cautions]\n")
    page = compose(make_results(), layout, paper="a4", units="si")
    assert page.width / MM == pytest.approx(60)
    assert page.height == pytest.approx(page.boxes[-1].bottom + 2 * MM)
    assert_sound(page, layout)


def test_a_paper_of_its_own(layout_from: Read) -> None:
    layout, mistakes = layout_from("page: {margin: 2 mm, width: 90 mm, height: 120 mm}\nrows: [identity]\n")
    assert mistakes == []
    page = compose(make_results(), layout, paper="letter", units="si")
    assert (page.width / MM, page.height / MM) == (pytest.approx(90), pytest.approx(120))


MANY = (
    "pages: many\ntext: {preferred: 9 pt, smallest: 6 pt}\nblocks: {findings: {title: Findings}}\nrows:\n"
    "  - {block: heading, every_page: yes}\n  - {block: all_cautions, each: caution}\n  - {block: footer, every_page: yes}\n"
)


def test_many_pages_repeat_head_and_foot_and_count_themselves(layout_from: Read) -> None:
    layout, mistakes = layout_from(MANY)
    assert mistakes == []
    results = replace(make_results(), cautions=CAUTIONS * 40)
    first = compose(results, layout, paper="a4", units="si")
    count = len(first.pages)
    assert count > 1
    for number, page in enumerate(first.pages, start=1):
        names = [box.name for box in page.boxes]
        assert (names[0], names[-1]) == ("heading", "footer")
        assert f"Page {number} of {count}" in texts(page.boxes[0])
        assert page.boxes[-1].bottom == pytest.approx(page.height - page.margin)
        assert_sound(page, layout)
    assert sum(len(boxes_of(page, "all_cautions")) for page in first.pages) == 80


def test_no_page_ends_between_what_is_kept_together(layout_from: Read) -> None:
    layout, _ = layout_from("pages: many\nrows:\n" + "  - {text: Head, keep_with_next: yes}\n  - {height: 70 mm}\n" * 9)
    first = compose(make_results(), layout, paper="a4", units="si")
    assert len(first.pages) > 2
    assert all(page.boxes[-1].name == "blank" for page in first.pages)


def test_a_part_too_high_for_any_page_is_refused_in_words(layout_from: Read) -> None:
    layout, _ = layout_from("pages: many\nrows: [{height: 300 mm}]\n")
    with pytest.raises(PageOverflow, match=r"the block 'blank' is 27\.0 mm too high for a page \(a4\); "):
        compose(make_results(), layout, paper="a4", units="si")


def test_a_long_table_is_cut_between_rows_and_its_head_repeated(layout_from: Read) -> None:
    layout, mistakes = layout_from(
        "pages: many\npage: {margin: 6 mm, papers: [a6]}\ntext: {preferred: 7 pt, smallest: 6 pt}\n"
        "blocks: {load_points: {title: Load points}}\n"
        "rows:\n  - {text: Head, every_page: yes}\n  - load_points\n"
    )
    assert mistakes == []
    first = compose(make_results(120), layout, paper="a4", units="si")
    tables = [box for page in first.pages for box in boxes_of(page, "load_points")]
    assert len(tables) == len(first.pages) > 2
    told = [texts(box) for box in tables]
    assert [text.startswith("Load points (continued)") for text in told] == [False] + [True] * (len(tables) - 1)
    assert all("Speed" in text and "rpm" in text for text in told)
    lefts = [
        [mark.text for mark in box.setting.marks if isinstance(mark, TextMark) and mark.text.isdigit() and mark.x < 9]
        for box in tables
    ]
    assert [int(number) for page in lefts for number in page] == list(range(1, 121))
    for page in first.pages:
        assert_sound(page, layout)


@pytest.mark.parametrize(("free", "cut"), [(0.10, False), (0.15, False), (0.35, True)])
def test_a_low_table_goes_over_whole_and_a_high_one_is_cut(layout_from: Read, *, free: float, cut: bool) -> None:
    """A table of a fifth of the page is not worth a second heading; one of half the page is cut where the page ends."""
    room = 297.0 - 2 * 8.0
    layout, mistakes = layout_from(
        "pages: many\npage: {margin: 8 mm, gap: 0 mm}\ntext: {preferred: 8 pt, smallest: 8 pt}\n"
        "blocks: {load_points: {title: Load points}}\n"
        f"rows:\n  - {{height: {(1.0 - free) * room:.1f} mm}}\n  - load_points\n"
    )
    assert mistakes == []
    count = 26 if cut else 4
    first = compose(make_results(count), layout, paper="a4", units="si")
    tables = [boxes_of(page, "load_points") for page in first.pages]
    high = sum(box.height for found in tables for box in found) / (first.height - 2 * first.margin)
    assert high > 0.4 if cut else free < high < 0.22, high  # it does not fit into what is free
    assert [len(found) for found in tables] == ([1, 1] if cut else [0, 1])


@pytest.mark.parametrize("rows", [1, 7, 40])
def test_a_cut_table_holds_every_row_once_and_fits(rows: int) -> None:
    from certgen.sheet.engine.setting import Area
    from certgen.sheet.engine.table import Column, Table, table_block

    cells = tuple(f"{index}.5" for index in range(rows))
    block = table_block("Title", Table((Column(("Figure",), cells),)), "(continued)")
    area, found, room = Area(200.0, 8.0, 6.0), [], 60.0
    assert block.divide is not None
    assert block.divide(area, 10.0) is None
    while block.divide is not None and block.set(area).height > room:
        cut = block.divide(area, room)
        assert cut is not None
        assert cut[0].set(area).height <= room
        found.append(cut[0])
        block = cut[1]
    found.append(block)
    marks = [mark.text for one in found for mark in one.set(area).marks if isinstance(mark, TextMark)]
    assert [text for text in marks if text.endswith(".5")] == list(cells)
    assert marks.count("Title (continued)") == len(found) - 1


@pytest.mark.parametrize(("side", "part"), [("left", 0.0), ("centre", 0.5), ("right", 1.0)])
def test_a_text_of_the_layout_stands_on_its_side(layout_from: Read, side: str, part: float) -> None:
    layout, mistakes = layout_from(f"rows:\n  - {{text: Open on Monday, text_align: {side}}}\n")
    assert mistakes == []
    (box,) = compose(make_results(), layout, paper="a4", units="si").boxes
    (mark,) = [one for one in box.setting.marks if isinstance(one, TextMark)]
    assert mark.x == pytest.approx(part * (box.width - width(mark.text, mark.face, mark.size)))


@pytest.mark.parametrize(
    ("below", "beside"), [("", True), ("stack_below: 80 mm, ", True), ("stack_below: 300 mm, ", False)]
)
def test_columns_stand_one_below_the_other_on_a_narrow_page(layout_from: Read, below: str, beside: bool) -> None:
    layout, mistakes = layout_from(f"rows:\n  - {{{below}columns: [[identity], [nameplate]], shares: [1, 2]}}\n")
    assert mistakes == []
    page = compose(make_results(), layout, paper="a4", units="si")
    assert_sound(page, layout)
    one, other = page.boxes
    assert (one.y == other.y) is beside
    assert beside or other.y >= one.bottom
    assert beside or one.width == other.width == pytest.approx(page.width - 2 * page.margin)


def test_only_black_is_printed_where_the_layout_says_so() -> None:
    assert {black_or_paper(*ink) for name, ink in INKS.items() if name not in ("paper", "pale")} == {BLACK}
    assert black_or_paper(*INKS["pale"]) == PAPER  # a pale field has a black outline
    assert black_or_paper(*INKS["paper"]) == PAPER
