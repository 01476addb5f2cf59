"""A table to write in: heights and widths a hand needs, or a refusal."""

from __future__ import annotations

import pytest

from certgen.sheet.engine.setting import MM, Area, RuleMark, TextMark, TooNarrow
from certgen.sheet.engine.table import LEAST_WIDTH, Blank, Printed, WritingTable, set_writing_table

NAMES = Printed(("Load",), "", (("100 %",), ("50 %", "half")), figures=False)
FIGURES = Printed(("Scale",), "kg", (("2.054",), ("0.9",)))


def table(instead=((), ()), blanks=3):
    blank = tuple(Blank(("Speed",), "rpm") for _ in range(blanks))
    return WritingTable((NAMES, FIGURES), blank, instead, 7.2 * MM)


def test_rows_have_their_height_whatever_the_text_size():
    for size in (5.6, 8.2):
        marks = set_writing_table(table(), Area(300.0, size, 5.6)).marks
        upright = [mark for mark in marks if isinstance(mark, RuleMark) and mark.x == mark.to_x]
        assert {round(mark.to_y - mark.y, 6) for mark in upright} == {round(7.2 * MM, 6)}
        assert len(upright) == 2 * 4


def test_figures_stand_flush_right():
    marks = [mark for mark in set_writing_table(table(), Area(300.0, 8.0, 5.6)).marks if isinstance(mark, TextMark)]
    long, short = (next(mark for mark in marks if mark.text == text) for text in ("2.054", "0.9"))
    assert short.x > long.x


def test_cells_too_narrow_to_write_in_are_refused():
    with pytest.raises(TooNarrow):
        set_writing_table(table(blanks=8), Area(8 * LEAST_WIDTH, 8.0, 5.6))


def test_the_longest_reason_that_fits_is_printed():
    said = ("a reason " * 40, "shorter")
    marks = set_writing_table(table((said, ())), Area(300.0, 8.0, 5.6)).marks
    assert "shorter" in [mark.text for mark in marks if isinstance(mark, TextMark)]
    with pytest.raises(TooNarrow):
        set_writing_table(table((said[:1], ())), Area(300.0, 8.0, 5.6))
