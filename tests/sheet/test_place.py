"""The engine: nothing overlaps, nothing leaves the page, and what happens when room is short."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet.geometry import ROUNDING, assert_sound
from sheet.results_factory import CAUTIONS, make_results

from certgen.errors import PageOverflow
from certgen.results.model import Caution, Results
from certgen.sheet.engine.layout import PAPERS, USUAL, Layout
from certgen.sheet.engine.place import OMITTED, PlacedPage, compose
from certgen.sheet.engine.setting import MM, TextMark

pytestmark = pytest.mark.slow

#: A page that must give way: charts that shrink, rows that go in their order.
CROWDED = """
purpose: record
page: {margin: 8.5 mm, gap: 1.4 mm}
text: {preferred: 8.2 pt, smallest: 5.6 pt}
rows:
  - heading
  - {columns: [[identity], [verdict]], shares: [1.4, 1]}
  - findings
  - {columns: [[torque_chart], [load_chart]], drop: 5}
  - {block: load_points, drop: 1}
  - {columns: [[conditions], [all_cautions, signature]], shares: [1.4, 1]}
  - footer
blocks:
  heading: {title: Brake-test certificate}
  load_points: {title: Load points}
  torque_chart: {minimum_height: 24 mm, preferred_height: 56 mm, maximum_height: 85 mm}
  load_chart: {minimum_height: 24 mm, preferred_height: 56 mm, maximum_height: 85 mm}
"""


@pytest.fixture
def crowded(layout_from: Callable[[str], tuple[Layout, list[str]]]) -> Layout:
    layout, mistakes = layout_from(CROWDED)
    assert mistakes == []
    return layout


def with_texts(results: Results, remarks: str, cautions: int) -> Results:
    listed = tuple(
        Caution(f"c{index}", "Keep hair and sleeves away from the shaft.", "it turns") for index in range(cautions)
    )
    return replace(results, certificate=replace(results.certificate, remarks=remarks), cautions=listed)


@settings(max_examples=25, deadline=None)
@given(
    remarks=st.text(st.sampled_from("abc dW<&Ωß漢\n"), max_size=1000),
    count=st.integers(1, 40),
    cautions=st.integers(0, 12),
    rich=st.booleans(),
    units=st.sampled_from(("si", "us", "both")),
    paper=st.sampled_from(USUAL),
)
def test_boxes_are_disjoint_and_inside_the_margins(
    certificate_layout: Layout, *, remarks: str, count: int, cautions: int, rich: bool, units: str, paper: str
) -> None:
    results = with_texts(make_results(count, rich=rich, flagged=count % 2 == 0), remarks, cautions)
    assert_sound(compose(results, certificate_layout, paper=paper, units=units), certificate_layout)


@pytest.mark.parametrize("paper", USUAL)
def test_page_has_the_size_of_its_paper(certificate_layout: Layout, paper: str) -> None:
    page = compose(make_results(), certificate_layout, paper=paper, units="si")
    assert (page.width / MM, page.height / MM) == pytest.approx((PAPERS[paper].width, PAPERS[paper].height))


@pytest.mark.parametrize(("count", "paper"), [(3, "a4"), (40, "a4"), (3, "letter"), (40, "letter")])
def test_usual_tests_lose_nothing(certificate_layout: Layout, count: int, paper: str) -> None:
    page = compose(make_results(count, rich=True), certificate_layout, paper=paper, units="both")
    assert page.left_out == ()
    named = {name for row in certificate_layout.rows for name in row.names}
    assert {box.name for box in page.boxes} == named - {"picture"}  # these tests have none


def heights(page: PlacedPage) -> dict[str, float]:
    return {box.name: box.height for box in page.boxes}


def test_room_left_over_goes_to_the_charts(certificate_layout: Layout) -> None:
    chart = certificate_layout.blocks.torque_chart
    fewer = tuple(row for row in certificate_layout.rows if row.names[0] not in ("checks", "cautions"))
    page = compose(make_results(3), replace(certificate_layout, rows=fewer), paper="a4", units="si")
    assert page.text_size == certificate_layout.text.preferred
    assert heights(page)["torque_chart"] > chart.preferred_height * 1000 * MM
    assert heights(page)["torque_chart"] <= chart.maximum_height * 1000 * MM + ROUNDING


def share_kept(layout: Layout, size: float) -> float:
    """How much of the way from minimum to preferred height charts keep at a text size, as the text does."""
    return (size - layout.text.smallest) / (layout.text.preferred - layout.text.smallest)


def test_charts_and_text_shrink_together(crowded: Layout) -> None:
    results, found = make_results(8), []
    for cautions in range(0, 40, 3):
        page = compose(with_texts(results, "", cautions), crowded, paper="a4", units="si")
        found.append((page.text_size, heights(page)["torque_chart"]))
    sizes = [size for size, _ in found]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[-1] < sizes[0]
    least = crowded.blocks.torque_chart.minimum_height * 1000 * MM
    preferred = crowded.blocks.torque_chart.preferred_height * 1000 * MM
    for size, height in found:
        assert height >= least + share_kept(crowded, size) * (preferred - least) - ROUNDING


def test_the_text_is_as_large_as_fits(crowded: Layout) -> None:
    page = compose(with_texts(make_results(40), "", 12), crowded, paper="a4", units="si")
    larger = page.text_size + 0.1
    kept = share_kept(crowded, larger)
    blocks = crowded.blocks
    chart = blocks.torque_chart
    least = chart.minimum_height + kept * (chart.preferred_height - chart.minimum_height)
    fixed = replace(chart, minimum_height=least)
    one_size = replace(
        crowded,
        text=replace(crowded.text, preferred=larger, smallest=larger),
        blocks=replace(blocks, torque_chart=fixed, load_chart=replace(fixed, title=blocks.load_chart.title)),
    )
    again = compose(with_texts(make_results(40), "", 12), one_size, paper="a4", units="si")
    assert again.left_out != ()  # one step larger and something would have to go


def overfull(results: Results, times: int) -> Results:
    long = tuple(replace(CAUTIONS[0], id=str(index)) for index in range(times))
    return replace(results, cautions=long)


def test_rows_go_in_their_order_and_the_page_says_which(crowded: Layout) -> None:
    for times in range(10, 80, 5):
        page = compose(overfull(make_results(12), times), crowded, paper="letter", units="si")
        if page.left_out:
            break
    assert page.left_out == ("Load points",)
    assert page.text_size <= crowded.text.preferred
    said = [m.text for box in page.boxes if box.name == OMITTED for m in box.setting.marks if isinstance(m, TextMark)]
    assert said == ["Left out for lack of room: Load points"]
    assert "load_points" not in heights(page)
    assert_sound(page, crowded)


def test_second_droppable_row_goes_after_the_first(crowded: Layout) -> None:
    for times in range(10, 120, 4):
        page = compose(overfull(make_results(12), times), crowded, paper="letter", units="si")
        if len(page.left_out) > 1:
            break
    assert page.left_out == ("Load points", "torque chart, load chart")


def test_page_that_cannot_fit_is_refused_in_words(crowded: Layout) -> None:
    with pytest.raises(PageOverflow) as caught:
        compose(overfull(make_results(8), 300), crowded, paper="a4", units="si")
    match = re.fullmatch(
        r"the sheet does not fit on one page \(a4\) by (\d+\.\d) mm, even in the smallest text \(5\.6 pt\); "
        r"the block 'all_cautions' takes most, (\d+\.\d) mm: give it more of the width, "
        r"or change text\.smallest or the rows of the layout\.",
        str(caught.value),
    )
    assert match is not None, str(caught.value)
    assert 0.0 < float(match[1]) < float(match[2])


def test_the_excess_named_is_the_room_that_lacks(layout_from: Callable[[str], tuple[Layout, list[str]]]) -> None:
    layout, _ = layout_from(
        "text: {preferred: 8 pt, smallest: 8 pt}\npage: {margin: 20 mm}\nrows:\n  - columns: [[all_cautions]]\n"
    )

    def height(cautions: int) -> float:
        (box,) = compose(overfull(make_results(3), cautions), layout, paper="a4", units="si").boxes
        return box.height / MM

    with pytest.raises(PageOverflow) as caught:
        compose(overfull(make_results(3), 62), layout, paper="a4", units="si")
    found = re.search(r"by (\d+\.\d) mm", str(caught.value))
    assert found is not None
    one = (height(20) - height(10)) / 10
    assert float(found[1]) == pytest.approx(height(20) + 42 * one - (297 - 2 * 20), abs=0.051)


def test_column_too_narrow_for_a_table_is_named(layout_from: Callable[[str], tuple[Layout, list[str]]]) -> None:
    layout, _ = layout_from("rows:\n  - columns: [[load_points], [findings]]\n    shares: [1, 4]\n")
    with pytest.raises(PageOverflow) as caught:
        compose(make_results(8), layout, paper="a4", units="si")
    message = str(caught.value)
    assert message.startswith("the block 'load_points' is ")
    assert "mm too wide for its column" in message
    assert "give its column a larger share in the layout" in message


def test_blocks_stand_in_the_order_of_the_layout(certificate_layout: Layout) -> None:
    page = compose(make_results(), certificate_layout, paper="a4", units="si")
    order = list(dict.fromkeys(name for row in certificate_layout.rows for name in row.names))
    assert [box.name for box in page.boxes] == [name for name in order if name != "picture"]  # it has none
    tops = {box.name: box.y for box in page.boxes}
    firsts = [row.names[0] for row in certificate_layout.rows]
    assert [tops[name] for name in firsts] == sorted(tops[name] for name in firsts)


def test_shares_set_the_widths(certificate_layout: Layout) -> None:
    page = compose(make_results(), certificate_layout, paper="a4", units="si")
    widths = {box.name: box.width for box in page.boxes}
    assert widths["identity"] / widths["verdict"] == pytest.approx(1.6)
    assert widths["condition"] == widths["signature"]
    assert widths["torque_chart"] == widths["load_chart"]


def test_blocks_of_a_column_stand_a_gap_apart(certificate_layout: Layout) -> None:
    page = compose(make_results(), certificate_layout, paper="a4", units="si")
    boxes = {box.name: box for box in page.boxes}
    gap = certificate_layout.page.gap * 1000 * MM
    assert boxes["remarks"].y - boxes["condition"].bottom == pytest.approx(gap)


def test_a_record_follows_its_certificate_and_the_pages_are_counted_together(
    certificate_layout: Layout, record_layout: Layout
) -> None:
    results = make_results(40, rich=True)
    page = compose(results, certificate_layout, paper="a4", units="si", record=record_layout)
    count = len(page.pages)
    assert count > 2
    for number, one in enumerate(page.pages, start=1):
        said = [mark.text for mark in one.boxes[0].setting.marks if isinstance(mark, TextMark)]
        assert any(text.endswith(f"Page {number} of {count}") for text in said), said
        assert_sound(one, certificate_layout if number == 1 else record_layout)
    alone = compose(results, certificate_layout, paper="a4", units="si")
    assert len(alone.pages) == 1
