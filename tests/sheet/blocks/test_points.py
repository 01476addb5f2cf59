"""Tables of load points, tested and read off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from scipy import constants
from sheet.results_factory import make_results

from certgen.sheet.blocks.points import load_points, point_columns
from certgen.sheet.blocks.points import rated_points_block as rated_points
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, TextMark
from certgen.sheet.pdf.fonts import width

Read = Callable[..., str]


def texts(block: Block, width: float = 530.0, size: float = 7.0) -> list[TextMark]:
    return [mark for mark in block.set(Area(width, size, 5.6)).marks if isinstance(mark, TextMark)]


def test_columns_only_for_what_was_measured_somewhere() -> None:
    points = make_results(3).points
    bare = [replace(point, torque=None, temperature=None) for point in points]
    names = [column.name for column in point_columns(bare, "si")]
    assert "torque" not in names
    assert "temperature" not in names
    mixed = [*bare[:2], points[2]]
    (torque,) = [column for column in point_columns(mixed, "si") if column.name == "torque"]
    assert torque.cells[0::2] == ("—", "—", "12.20")  # below each its uncertainty


def test_second_system_has_columns_of_its_own() -> None:
    columns = {(column.name, column.unit): column for column in point_columns(make_results(3).points, "both")}
    si, us = columns[("torque", "N·m")], columns[("torque in lbf·ft", "lbf·ft")]
    for metric, customary in zip(si.cells[0::2], us.cells[0::2], strict=True):
        assert float(customary) == pytest.approx(float(metric) / (constants.foot * constants.pound_force), abs=0.005)


def test_forty_points_are_all_there_and_may_be_cut_between_two_of_them() -> None:
    block = load_points(Content(make_results(40)), Titled("Load points"))
    numbers = [mark.text for mark in texts(block) if mark.x == 0.0 and mark.text.isdigit()]
    assert numbers == [str(number) for number in range(1, 41)]
    assert block.divide is not None
    first, rest = block.divide(Area(530.0, 8.0, 7.5), 300.0) or (None, None)
    assert first is not None
    assert rest is not None
    upper, lower = (
        [mark.text for mark in texts(one) if mark.x == 0.0 and mark.text.isdigit()] for one in (first, rest)
    )
    assert upper + lower == numbers
    assert "Load points (continued)" in [mark.text for mark in texts(rest)]
    assert first.set(Area(530.0, 8.0, 7.5)).height <= 300.0


def test_columns_without_room_stand_in_a_table_below() -> None:
    marks = texts(load_points(Content(make_results(8, rich=True), "both"), Titled("")), width=300.0)
    assert [mark.text for mark in marks].count("No.") > 1
    for name in ("Speed", "Current", "Efficiency", "°F", "kVA"):
        assert name in [mark.text for mark in marks]
    assert max(mark.x + width(mark.text, mark.face, mark.size) for mark in marks) <= 300.0 + 1e-6


def test_flags_and_remarks_are_explained_under_the_table(words_of: Read) -> None:
    found = words_of(load_points(Content(make_results(8, flagged=True)), Titled("")))
    assert "2‡" in found
    assert "‡ physically impossible reading: kept as read" in found
    assert "Remarks at the bench – 2: wattmeter lead loose" in found
    assert "†" not in found


def test_rated_points_carry_their_names_and_flags(words_of: Read) -> None:
    found = words_of(rated_points(Content(make_results(8, flagged=True)), Titled("")))
    for name in ("Rated current†", "Rated power†", "Service-factor load†", "Rated speed†"):
        assert name in found
    assert "† beyond the tested points: extrapolated" in found


def test_nothing_to_read_off_is_said(words_of: Read) -> None:
    assert "None: this takes a load curve" in words_of(rated_points(Content(make_results(1)), Titled("")))
    assert (
        words_of(load_points(Content(replace(make_results(1), points=())), Titled(""))) == "No load point was measured."
    )
