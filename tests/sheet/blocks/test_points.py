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
from certgen.sheet.engine.layout import PointTable, Titled
from certgen.sheet.engine.setting import Area, Block, TextMark

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
    assert torque.cells == ("—", "—", "12.20")


def test_second_system_has_columns_of_its_own() -> None:
    columns = {(column.name, column.unit): column for column in point_columns(make_results(3).points, "both")}
    si, us = columns[("torque", "N·m")], columns[("torque in lbf·ft", "lbf·ft")]
    for metric, customary in zip(si.cells, us.cells, strict=True):
        assert float(customary) == pytest.approx(float(metric) / (constants.foot * constants.pound_force), abs=0.005)


def test_few_points_stand_in_one_panel_and_many_in_two() -> None:
    few, many = (load_points(Content(make_results(count)), PointTable("")) for count in (14, 15))
    assert [mark.text for mark in texts(few)].count("No.") == 1
    assert [mark.text for mark in texts(many)].count("No.") == 2


def test_forty_rows_are_all_there_at_their_places() -> None:
    marks = texts(load_points(Content(make_results(40)), PointTable("")))
    where = {mark.text: mark for mark in marks if mark.text.isdigit() and int(mark.text) <= 40 and len(mark.text) <= 2}
    assert {str(number) for number in range(1, 41)} <= set(where)
    assert where["1"].y == where["21"].y
    assert where["20"].y == where["40"].y
    assert where["1"].x < where["21"].x


def test_columns_without_room_are_named() -> None:
    marks = texts(load_points(Content(make_results(40, rich=True), "both"), PointTable("")))
    note = " ".join(mark.text for mark in marks).partition("Not printed for lack of width: ")[2]
    assert note.startswith("apparent power")
    assert "temperature in °F" in note
    for kept in ("speed", "current", "efficiency", "input power"):
        assert f"{kept}," not in f" {note}".replace("current unbalance", "")


def test_flags_and_remarks_are_explained_under_the_table(words_of: Read) -> None:
    found = words_of(load_points(Content(make_results(8, flagged=True)), PointTable("")))
    assert "2‡" in found
    assert "‡ physically impossible reading: kept as read" in found
    assert "Remarks at the bench – 2: wattmeter lead loose" in found
    assert "†" not in found


def test_rated_points_carry_their_names_and_flags(words_of: Read) -> None:
    found = words_of(rated_points(Content(make_results(8, flagged=True)), Titled("")))
    for name in ("Rated current†", "Rated power†", "Service-factor load†", "Rated speed†"):
        assert name in found
    assert "† beyond the tested points: extrapolated" in found


def test_both_tables_stand_on_one_grid() -> None:
    content = Content(make_results(8))
    upper, lower = texts(rated_points(content, Titled(""))), texts(load_points(content, PointTable("")))
    places = [{mark.text: mark.x for mark in marks} for marks in (upper, lower)]
    for heading in ("Speed", "Torque", "Shaft power", "Efficiency", "Losses"):
        assert places[0][heading] == pytest.approx(places[1][heading])


def test_nothing_to_read_off_is_said(words_of: Read) -> None:
    assert "None: reading one off takes a load curve" in words_of(rated_points(Content(make_results(1)), Titled("")))
    assert (
        words_of(load_points(Content(replace(make_results(1), points=())), PointTable("")))
        == "No load point was measured."
    )
