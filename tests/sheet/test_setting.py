"""What is set: parts placed within parts, and marks made only where a page is drawn."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.sheet.engine.setting import Area, Flow, Later, RuleMark, Setting, TextMark, side_by_side

AREA = Area(200.0, 8.0, 5.6)


def test_marks_are_made_when_they_are_asked_for_and_once() -> None:
    made = []

    def make() -> Iterator[TextMark]:
        made.append("a mark")
        yield TextMark(1.0, 2.0, "text", "regular", 8.0)

    setting = Setting(10.0, (Later(make, 3.0, 4.0),))
    assert made == []
    assert [(mark.x, mark.y) for mark in (*setting.marks, *setting.marks)] == [(4.0, 6.0)] * 2
    assert made == ["a mark"]


def test_marks_keep_the_order_in_which_they_were_set() -> None:
    flow = Flow(AREA)
    flow.text("first")
    flow.rule()
    flow.text("last")
    texts = [mark.text if isinstance(mark, TextMark) else type(mark) for mark in flow.done().marks]
    assert texts == ["first", RuleMark, "last"]


def test_a_part_within_a_part_is_moved_by_both() -> None:
    inner = Flow(AREA)
    inner.text("inner")
    middle = Flow(AREA)
    middle.space(1.0)
    middle.place(inner.done(), 5.0)
    outer = Flow(AREA)
    outer.space(2.0)
    outer.place(middle.done(), 7.0)
    (alone,), (mark,) = inner.done().marks, outer.done().marks
    assert (mark.x - alone.x, mark.y - alone.y) == (12.0, 24.0)
    assert outer.y == 24.0 + inner.y


def test_what_is_set_does_not_change_with_what_is_set_after_it() -> None:
    flow = Flow(AREA)
    flow.text("first")
    before = flow.done()
    flow.text("second")
    assert len(before.marks) == 1
    assert len(flow.done().marks) == 2


def test_parts_beside_one_another_share_the_width() -> None:
    def part(text: str) -> Flow:
        flow = Flow(AREA)
        flow.text(text)
        return flow

    setting = side_by_side(AREA, ((1.0, lambda _: part("left").done()), (3.0, lambda _: part("right").done())), 20.0)
    left, right = setting.marks
    assert right.x - left.x == 180.0 / 4 + 20.0
