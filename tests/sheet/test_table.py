"""Tables: alignment, columns that go, panels."""

from __future__ import annotations

import itertools

import pytest

from certgen.sheet.engine.setting import Area, Setting, TextMark, TooNarrow
from certgen.sheet.engine.table import LEFT, RIGHT, Column, Table, narrowed, natural_width, set_table, split_at_point
from certgen.sheet.pdf.fonts import BOLD, REGULAR, width

FIGURES = ("0.00", "12.20", "—", "345", "7.5 ± 0.2")


def cells(setting: Setting, texts: tuple[str, ...]) -> list[TextMark]:
    return [mark for mark in setting.marks if isinstance(mark, TextMark) and mark.text in texts]


def test_decimal_points_stand_under_one_another() -> None:
    setting = set_table(
        Table((Column(("Torque",), FIGURES, "N·m"), Column(("Speed",), ("1",) * 5))), Area(300.0, 8.0, 5.6)
    )
    points = [mark.x + width(split_at_point(mark.text)[0], REGULAR, 8.0) for mark in cells(setting, FIGURES)]
    assert len(points) == len(FIGURES)
    assert points == pytest.approx([points[0]] * len(FIGURES))


def test_heading_and_unit_stand_flush_right_over_their_figures() -> None:
    setting = set_table(Table((Column(("Torque",), ("9.87", "0.12"), "N·m"),)), Area(300.0, 8.0, 5.6))
    faces = {"Torque": BOLD}
    edges = {
        mark.text: mark.x + width(mark.text, faces.get(mark.text, REGULAR), 8.0)
        for mark in setting.marks
        if isinstance(mark, TextMark)
    }
    assert len({round(edge, 6) for edge in edges.values()}) == 1


def test_figures_of_different_kinds_stand_flush_right() -> None:
    texts = ("1.5", "1420", "≥ 80.2")
    setting = set_table(Table((Column(("Declared",), texts, align=RIGHT),)), Area(300.0, 8.0, 5.6))
    edges = [mark.x + width(mark.text, REGULAR, 8.0) for mark in cells(setting, texts)]
    assert edges == pytest.approx([edges[0]] * 3)


def test_texts_wrap_inside_their_column() -> None:
    long = "a rule with a long source and a remark that goes on for a while"
    columns = (Column(("Quantity",), ("Speed",), align=LEFT), Column(("Rule",), (long,), align=LEFT, share=1.0))
    setting = set_table(Table(columns), Area(150.0, 8.0, 5.6))
    lines = [mark for mark in setting.marks if isinstance(mark, TextMark) and mark.text in long]
    assert len(lines) > 1
    assert max(mark.x + width(mark.text, REGULAR, 8.0) for mark in lines) <= 150.0 + 1e-6


def test_wide_table_is_set_smaller_down_to_the_smallest_text() -> None:
    table = Table(tuple(Column(("Heading",), ("123.45",)) for _ in range(9)))
    wide = natural_width(table)
    setting = set_table(table, Area(wide * 6.5, 8.0, 5.6))
    assert [mark.size for mark in setting.marks if isinstance(mark, TextMark)] == pytest.approx([6.5] * 18)
    with pytest.raises(TooNarrow) as caught:
        set_table(table, Area(wide * 5.0, 8.0, 5.6))
    assert caught.value.excess == pytest.approx(wide * 0.6)


def test_columns_go_by_their_number_until_the_table_fits() -> None:
    columns = tuple(Column((name,), ("123",), leave=leave, name=name) for name, leave in (("a", 0), ("b", 2), ("c", 1)))
    table = Table(columns)
    assert narrowed(table, natural_width(table))[1] == ()
    kept, gone = narrowed(table, natural_width(table) - 0.1)
    assert [column.name for column in kept.columns] == ["a", "c"]
    assert [column.name for column in gone] == ["b"]
    with pytest.raises(TooNarrow):
        narrowed(table, 0.5)


def test_panels_of_one_table_agree_in_width() -> None:
    column = Column(("n",), ("1", "2", "1000.25", "3"))
    first, second = column.panel(0, 2), column.panel(2, 4)
    assert first.cells == ("1", "2")
    assert first.extent == second.extent == column.extent


def test_long_headings_take_two_lines_only_where_the_table_is_narrow() -> None:
    table = Table((Column(("Shaft", "power"), ("1",)), Column(("Power", "factor"), ("2",))))
    broad, narrow = (set_table(table, Area(room, 8.0, 5.6)) for room in (300.0, natural_width(table) * 8.0))
    assert "Shaft power" in [mark.text for mark in broad.marks if isinstance(mark, TextMark)]
    assert "Shaft" in [mark.text for mark in narrow.marks if isinstance(mark, TextMark)]
    assert broad.height < narrow.height


def test_every_fifth_row_of_a_long_table_stands_off() -> None:
    texts = tuple(str(index) for index in range(20))
    setting = set_table(Table((Column(("n",), texts),)), Area(100.0, 8.0, 5.6))
    ys = [mark.y for mark in cells(setting, texts)]
    steps = [round(b - a, 4) for a, b in itertools.pairwise(ys)]
    assert {index % 5 for index, step in enumerate(steps, start=1) if step > min(steps)} == {0}
