"""The checks drawn: places on the scale worked out beside them, and which rows stand on the certificate."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheet.results_factory import make_results

from certgen.messages.format import MISSING
from certgen.results.model import Finding, Limits
from certgen.sheet.blocks.checks import END, MOST_ROWS, check_of, checks, place, shown
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import MM, Area, FaceMark, Mark, RuleMark, SignMark, TextMark

AREA = Area(186.0 * MM, 9.0, 8.0)


def finding(measured: float, low: float | None, high: float | None, **more: object) -> Finding:
    given = {
        "id": "x",
        "title": "Slip",
        "quantity": "slip",
        "outcome": "pass",
        "unit": "1",
        "declared": 0.04,
        "measured": measured,
    }
    return Finding(**{**given, "required": Limits(low, high), **more})


def drawn(*findings: Finding) -> tuple[Mark, ...]:
    block = checks(Content(replace(make_results(), findings=findings)), Titled("Checks"))
    assert block is not None
    return block.set(AREA).marks


@pytest.mark.parametrize(
    ("value", "low", "plate", "high", "at"),
    [
        (4.0, 3.0, 4.0, 6.0, 0.0),  # at the plate
        (3.0, 3.0, 4.0, 6.0, -1.0),  # at the lower limit
        (6.0, 3.0, 4.0, 6.0, 1.0),  # at the upper
        (5.0, 3.0, 4.0, 6.0, 0.5),  # half way up: (5 - 4) / (6 - 4)
        (3.5, 3.0, 4.0, 6.0, -0.5),  # half way down: (3.5 - 4) / (4 - 3)
        (8.0, 3.0, 4.0, 6.0, 2.0),  # as far again beyond it
        (3.7, None, 3.4, 3.74, 0.3 / 0.34),  # (3.7 - 3.4) / (3.74 - 3.4)
        (3.2, None, 3.4, 3.74, -0.2 / 0.34),  # the side without a limit has the scale of the other
        (0.9, 0.8, 0.85, None, 1.0),
        (59.0, None, None, 105.0, 2.0 * 59.0 / 105.0 - 1.0),  # no plate: zero at -1, the limit at +1
        (10e6, 5e6, None, None, 0.0),  # a doubling above the lower limit is one step
        (40e6, 5e6, None, None, 2.0),
    ],
)
def test_place_on_the_scale(
    value: float, low: float | None, plate: float | None, high: float | None, at: float
) -> None:
    assert place(value, low, plate, high) == pytest.approx(at)


@given(
    st.floats(0.1, 100.0), st.floats(0.01, 0.5), st.floats(0.01, 0.5), st.floats(0.01, 200.0), st.floats(0.01, 200.0)
)
def test_the_scale_rises_and_its_limits_are_where_all_limits_are(
    plate: float, down: float, up: float, one: float, other: float
) -> None:
    low, high = plate * (1.0 - down), plate * (1.0 + up)
    assert place(low, low, plate, high) == pytest.approx(-1.0)
    assert place(high, low, plate, high) == pytest.approx(1.0)
    least, most = sorted((one, other))
    assert place(least, low, plate, high) <= place(most, low, plate, high)


def test_dot_and_bar_stand_at_their_places_and_limits_line_up() -> None:
    """Two rows of other quantities: 5 of 3 to 6 with the plate at 4 is half way between plate and upper limit."""
    marks = drawn(
        finding(5.0, 3.0, 6.0, declared=4.0, expanded_uncertainty=0.4),
        finding(3.4, None, 3.74, declared=3.4, unit="A", title="Current"),
    )
    limits = sorted(
        mark.x for mark in marks if isinstance(mark, RuleMark) and mark.x == mark.to_x and mark.weight == 1.3
    )
    low, high, again = limits
    assert high == pytest.approx(again)  # both upper limits
    plate = 0.5 * (low + high)
    first, second = [mark for mark in marks if isinstance(mark, SignMark)]
    assert first.x == pytest.approx(plate + 0.5 * (high - plate))
    assert second.x == pytest.approx(plate)
    ends = sorted(mark.x for mark in marks if isinstance(mark, RuleMark) and mark.weight == 0.8)
    assert ends == pytest.approx([plate + 0.3 * (high - plate), plate + 0.7 * (high - plate)])  # 5 -+ 0.4
    bars = [mark for mark in marks if isinstance(mark, FaceMark)]
    assert [bar.x for bar in bars] == pytest.approx([low, plate - END * (high - plate)])
    assert [bar.x + bar.width for bar in bars] == pytest.approx([high, high])


def test_inside_is_a_dot_outside_a_square_and_off_the_scale_has_an_arrow() -> None:
    inside, outside, far = (finding(value, 3.0, 6.0, declared=4.0) for value in (5.0, 6.5, 60.0))
    shapes = [mark.shape for mark in drawn(inside, outside, far) if isinstance(mark, SignMark)]
    assert shapes == ["o", "s", "s"]
    assert [check_of(one, Content(make_results())).beyond for one in (inside, outside, far)] == [False, False, True]
    arrow = [mark for mark in drawn(far) if isinstance(mark, RuleMark) and mark.x != mark.to_x and mark.y != mark.to_y]
    assert len(arrow) == 2


def test_rows_are_a_little_over_four_millimetres_high_with_figures_and_word_beside() -> None:
    marks = drawn(finding(0.05, 0.03, 0.06), finding(0.07, 0.03, 0.06, outcome="fail"))
    words = [mark for mark in marks if isinstance(mark, TextMark) and mark.text in ("pass", "fail")]
    assert [mark.text for mark in words] == ["pass", "fail"]
    assert 4.2 <= (words[1].y - words[0].y) / MM <= 5.0
    texts = [mark.text for mark in marks if isinstance(mark, TextMark)]
    assert "5.00 %" in texts
    assert texts.count("3.00 to 6.00") == 2


def test_fails_and_conditionals_never_leave_and_the_widest_passes_are_counted() -> None:
    passes = [finding(0.04, 0.03, 0.06 + index * 0.01, id=f"p{index}") for index in range(9)]
    fails = [finding(0.07, 0.03, 0.06, outcome=outcome, id=outcome) for outcome in ("fail", "conditional pass")]
    listed, more = shown([*passes, *fails])
    assert len(listed) == MOST_ROWS
    assert more == 3
    assert {"fail", "conditional pass"} <= {one.id for one in listed}
    many = [finding(0.07, 0.03, 0.06, outcome="fail", id=str(index)) for index in range(12)]
    assert len(shown(many)[0]) == 12
    counted = " ".join(mark.text for mark in drawn(*passes, *fails) if isinstance(mark, TextMark))
    assert "And 3 more passed, on the record." in counted


def test_a_row_for_information_stands_in_brackets_where_it_fails_and_is_counted_where_it_passes() -> None:
    marks = drawn(finding(0.05, 0.03, 0.06), finding(0.07, 0.03, 0.06, outcome="fail", decides=False))
    assert "(fail)" in [mark.text for mark in marks if isinstance(mark, TextMark)]
    assert shown([finding(0.05, 0.03, 0.06, decides=False)]) == ((), 1)


def test_an_untested_check_has_its_range_and_neither_figure_nor_sign() -> None:
    """A figure inside its range beside 'not tested' reads as one that keeps its limit."""
    marks = drawn(finding(0.05, 0.03, 0.06, outcome="not tested", expanded_uncertainty=0.002))
    assert [mark for mark in marks if isinstance(mark, SignMark)] == []
    assert len([mark for mark in marks if isinstance(mark, FaceMark)]) == 1
    texts = [mark.text for mark in marks if isinstance(mark, TextMark)]
    assert not any("5.00" in text for text in texts)
    assert {MISSING, "3.00 to 6.00", "not tested"} <= set(texts)


def test_what_lies_outside_is_joined_to_its_limit() -> None:
    inside, below, above = (finding(value, 3.0, 6.0, declared=4.0) for value in (5.0, 2.6, 6.8))

    def joined(one: Finding) -> list[RuleMark]:
        return [mark for mark in drawn(one) if isinstance(mark, RuleMark) and mark.dashes and mark.y == mark.to_y]

    assert joined(inside) == []
    for one, end in ((below, min), (above, max)):
        (line,) = joined(one)
        (bar,) = [mark for mark in drawn(one) if isinstance(mark, FaceMark)]
        (square,) = [mark for mark in drawn(one) if isinstance(mark, SignMark)]
        assert line.x == pytest.approx(end(bar.x, bar.x + bar.width))
        assert line.to_x == pytest.approx(square.x)
