from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.readings.recording.port import CUT_AT_GAP, CUT_AT_OPENING, MOST_IN_LINE, TOO_LONG, Line, LineCutter

pytestmark = pytest.mark.slow

_ENDINGS = {"any": b"\n", "lf": b"\n", "crlf": b"\r\n", "cr": b"\r"}


def fed(cutter: LineCutter, data: bytes, cuts: list[int]) -> list[Line]:
    places = [0, *sorted(cut % (len(data) + 1) for cut in cuts), len(data)]
    return [line for low, high in itertools.pairwise(places) for line in cutter.feed(data[low:high])]


@pytest.mark.parametrize("ending", _ENDINGS)
@given(
    lines=st.lists(st.binary(min_size=1, max_size=30).filter(lambda line: not set(line) & set(b"\r\n")), max_size=8),
    cuts=st.lists(st.integers(0, 500), max_size=6),
)
def test_lines_come_out_whole_however_the_bytes_arrive(ending: str, lines: list[bytes], cuts: list[int]) -> None:
    cutter = LineCutter(ending, opened_midway=False)
    data = b"".join(line + _ENDINGS[ending] for line in lines)
    assert fed(cutter, data, cuts) == [Line(line) for line in lines]
    assert cutter.broken_off() == []


@given(data=st.binary(max_size=4000), cuts=st.lists(st.integers(0, 4000), max_size=6))
def test_any_bytes_give_lines_of_bounded_length(data: bytes, cuts: list[int]) -> None:
    cutter = LineCutter("any", opened_midway=False)
    for line in [*fed(cutter, data, cuts), *cutter.broken_off()]:
        assert 0 < len(line.data) <= MOST_IN_LINE


def test_a_line_under_way_at_the_opening_is_never_taken_for_a_whole_one() -> None:
    """'1420,2.06' may begin as '420,2.06', which looks as whole as any."""
    cutter = LineCutter("any", opened_midway=True)
    assert cutter.feed(b"420,2.06\r\n1421,2.07\r\n") == [Line(b"420,2.06", CUT_AT_OPENING), Line(b"1421,2.07")]


def test_a_line_without_end_does_not_fill_the_memory() -> None:
    cutter = LineCutter("lf", opened_midway=False)
    for _ in range(100):
        assert cutter.feed(b"x" * 1000) == []
    assert cutter.feed(b"\n1,2\n") == [Line(b"x" * MOST_IN_LINE, TOO_LONG), Line(b"1,2")]


def test_what_was_under_way_at_a_gap_is_given_up() -> None:
    cutter = LineCutter("lf", opened_midway=False)
    assert cutter.feed(b"1,2\n3,") == [Line(b"1,2")]
    assert cutter.broken_off() == [Line(b"3,", CUT_AT_GAP)]
    assert cutter.feed(b"4,5\n") == [Line(b"4,5")]
