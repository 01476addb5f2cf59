"""How sure the rated figures are, on the page: the block of the budget, and uncertainties in the tables."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from sheet.results_factory import BUDGET, budget_line, make_results, with_uncertainties

from certgen.results.model import BudgetLine
from certgen.sheet.blocks.budget_table import budget_table
from certgen.sheet.blocks.losses import budget, budget_sentences
from certgen.sheet.blocks.points import load_points
from certgen.sheet.blocks.points import rated_points_block as rated_points
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, TextMark
from certgen.sheet.pdf.fonts import width

Read = Callable[[Block], str]


def test_each_figure_has_its_three_largest_parts_and_the_last_sentence_what_to_improve() -> None:
    place, power, efficiency, improve = budget_sentences(Content(with_uncertainties(make_results())))
    assert place == "At rated current."
    assert power == (
        "Shaft power 1.494 ± 0.012 kW, k = 2.00; main uncertainty: "
        "scale calibration 62 %; arm length 24 %; scale zero 9 %."
    )
    assert efficiency.startswith("Efficiency 86.18 ± 0.95 %, k = 2.00; main uncertainty: input power meter, part of")
    assert improve == "Improve first: scale calibration; then input power meter, part of reading."


def test_parts_are_told_the_largest_first_and_one_cause_once() -> None:
    lines = tuple(budget_line(*line) for line in (BUDGET[1], BUDGET[0], ("efficiency", "scale calibration", 1.0)))
    sentences = budget_sentences(Content(replace(with_uncertainties(make_results()), budget=lines)))
    assert "main uncertainty: scale calibration 62 %; arm length 24 %." in sentences[1]
    assert sentences[-1] == "Improve first: scale calibration."


def test_where_power_defines_the_point_current_stands_in() -> None:
    lines = (budget_line("current", "ammeter", 1.0, "at_rated_power"),)
    place, current, _ = budget_sentences(Content(replace(with_uncertainties(make_results()), budget=lines)))
    assert place == "At rated power."
    assert current.startswith("Current 3.417 ± 0.031 A, k = 2.00; main uncertainty: ammeter 100 %.")


def test_a_budget_of_a_tested_point_names_the_point() -> None:
    place, power, *_ = budget_sentences(Content(with_uncertainties(make_results(2)), "both"))
    assert place == "At load point 2."
    assert "kW (" in power
    assert "hp), k = 2.00" in power


@pytest.mark.parametrize("lines", [(), (budget_line("torque", "arm length", 1.0),)])
def test_without_a_budget_there_is_no_block(lines: tuple[BudgetLine, ...]) -> None:
    assert budget(Content(replace(make_results(), budget=lines)), Titled("Uncertainty")) is None


def cells_below(block: Block, heading: str) -> list[str]:
    """The texts of a column under its heading, in their order down the page."""
    marks = [mark for mark in block.set(Area(1400.0, 8.0, 7.5)).marks if isinstance(mark, TextMark)]
    top = next(mark for mark in marks if mark.text == heading)
    right = top.x + width(top.text, top.face, top.size)
    edges = sorted(mark.x + width(mark.text, mark.face, mark.size) for mark in marks if mark.y == top.y)
    left = max((edge for edge in edges if edge < right - 1.0), default=-1.0)
    inside = [mark for mark in marks if left < mark.x <= right and mark.y > top.y + 15.0]
    return [mark.text for mark in sorted(inside, key=lambda mark: mark.y)]


def test_below_each_rated_figure_stands_its_uncertainty_and_what_defines_a_point_is_set() -> None:
    results = with_uncertainties(make_results())
    found = cells_below(rated_points(Content(results), Titled("")), "Current")
    rated = results.at_rated_current
    assert rated is not None
    assert rated.current is not None
    assert float(found[0]) == pytest.approx(rated.current.value, rel=1e-3)
    assert found[1] == "set"
    torque = cells_below(rated_points(Content(results), Titled("")), "Torque")
    assert rated.torque is not None
    assert rated.torque.expanded_uncertainty is not None
    assert float(torque[1].removeprefix("± ")) == pytest.approx(rated.torque.expanded_uncertainty, rel=0.06)


def test_without_uncertainties_no_row_has_any(words_of: Read) -> None:
    assert "±" not in words_of(rated_points(Content(make_results()), Titled("")), 1400.0)


def test_load_points_carry_their_uncertainties_below_them(words_of: Read) -> None:
    results = with_uncertainties(make_results())
    torque = cells_below(load_points(Content(results), Titled("")), "Torque")
    values, spreads = torque[0::2], torque[1::2]
    for tested, value, spread in zip(results.points, values, spreads, strict=False):
        assert tested.torque is not None
        assert float(value) == pytest.approx(tested.torque.value, abs=0.006)
        assert spread.startswith("± ") or tested.torque.expanded_uncertainty == 0.0
    assert "Below each value: its expanded uncertainty" in words_of(load_points(Content(results), Titled("")), 1400.0)


def test_the_record_prints_every_input_with_its_half_width_and_divisor() -> None:
    content = Content(with_uncertainties(make_results()))
    block = budget_table(content, Titled("Uncertainty budget"))
    assert block is not None
    setting = block.set(Area(520.0, 8.0, 7.5))
    texts = [mark.text for mark in setting.marks if isinstance(mark, TextMark)]
    assert "Uncertainty budget" in texts
    assert "1.73 rectangular" in texts
    assert "0.00052 m" in texts
    assert "scale calibration" in texts


def test_without_a_budget_there_is_no_table() -> None:
    assert budget_table(Content(replace(make_results(), budget=())), Titled("Uncertainty budget")) is None
