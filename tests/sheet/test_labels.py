"""Labels keep clear of lines, markers, each other and the frame."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from certgen.sheet.charts.axes import Labels, Rectangle

FRAME = Rectangle(0.0, 0.0, 200.0, 100.0)


def covers(label: Rectangle, spot: tuple[float, float]) -> bool:
    return label.left < spot[0] < label.right and label.bottom < spot[1] < label.top


def apart(one: Rectangle, other: Rectangle) -> bool:
    return one.right <= other.left or other.right <= one.left or one.top <= other.bottom or other.top <= one.bottom


@given(st.floats(0.0, 200.0), st.floats(0.0, 100.0))
def test_label_of_a_lone_mark_stays_in_the_frame_and_off_the_mark(x: float, y: float) -> None:
    labels = Labels(FRAME)
    labels.avoid_mark((x, y), 2.0)
    label = labels.place([(x, y)], (40.0, 8.0), 5.0)
    assert FRAME.left <= label.left + 1e-9
    assert label.right <= FRAME.right + 1e-9
    assert FRAME.bottom <= label.bottom + 1e-9
    assert label.top <= FRAME.top + 1e-9
    assert not covers(label, (x, y))


def test_label_stands_clear_of_a_line() -> None:
    labels = Labels(FRAME)
    labels.avoid_line([(0.0, 10.0), (200.0, 90.0)])
    label = labels.place([(100.0, 50.0)], (50.0, 8.0), 5.0)
    assert not any(covers(label, spot) for spot in labels.obstacles)


def test_line_is_avoided_between_its_ends() -> None:
    labels = Labels(FRAME)
    labels.avoid_line([(0.0, 0.0), (100.0, 0.0)])
    steps = sorted(x for x, _ in labels.obstacles)
    assert max(b - a for a, b in itertools.pairwise(steps)) <= 3.0 + 1e-9


def test_labels_of_neighbours_do_not_cover_one_another() -> None:
    labels = Labels(FRAME)
    placed = [labels.place([(100.0 + shift, 50.0)], (45.0, 8.0), 5.0) for shift in (0.0, 3.0, 6.0, 9.0)]
    assert all(apart(one, other) for index, one in enumerate(placed) for other in placed[:index])


def test_the_same_labels_come_out_every_time() -> None:
    def once() -> list[Rectangle]:
        labels = Labels(FRAME)
        labels.avoid_line([(0.0, 20.0), (80.0, 60.0), (200.0, 65.0)])
        return [labels.place([(50.0, 45.0), (150.0, 63.0)], (40.0, 8.0), 4.0) for _ in range(3)]

    assert once() == once()


def test_label_stands_nearer_to_its_own_line_than_to_a_rival() -> None:
    own, rival = [(float(x), 50.0) for x in range(0, 201, 4)], [(float(x), 62.0) for x in range(0, 201, 4)]
    labels = Labels(FRAME)
    labels.avoid_line(own)
    labels.avoid_line(rival)
    label = labels.place(own, (40.0, 8.0), 3.0, rival)
    assert label.top < 50.0
