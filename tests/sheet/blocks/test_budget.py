"""How sure the rated figures are, on the page: the block of the budget, and uncertainties in the tables."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from sheet.results_factory import BUDGET, budget_line, make_results, point, sure_point, with_uncertainties

from certgen.results.model import BudgetLine, Finding, Limits
from certgen.sheet.blocks.findings import findings
from certgen.sheet.blocks.losses import budget, budget_sentences
from certgen.sheet.blocks.nameplate import nameplate_rows
from certgen.sheet.blocks.points import load_points
from certgen.sheet.blocks.points import rated_points_block as rated_points
from certgen.sheet.content import Content, coverage_factors
from certgen.sheet.engine.layout import Layout, PointTable, Titled
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import Block
from certgen.sheet.pdf.draw import render

Read = Callable[[Block], str]


def test_each_figure_has_its_three_largest_parts_and_the_last_sentence_what_to_improve() -> None:
    place, power, efficiency, improve = budget_sentences(Content(with_uncertainties(make_results())))
    assert place == "At rated current."
    assert power == (
        "Shaft power 1.494 ± 0.012 kW, k = 2.00, its variance from: "
        "scale calibration 62 %; arm length 24 %; scale zero 9 %."
    )
    assert efficiency.startswith("Efficiency 86.18 ± 0.95 %, k = 2.00, its variance from: input power meter, part of")
    assert improve == "To improve first: scale calibration; then input power meter, part of reading."


def test_parts_are_told_the_largest_first_and_one_cause_once() -> None:
    lines = tuple(budget_line(*line) for line in (BUDGET[1], BUDGET[0], ("efficiency", "scale calibration", 1.0)))
    sentences = budget_sentences(Content(replace(with_uncertainties(make_results()), budget=lines)))
    assert "from: scale calibration 62 %; arm length 24 %." in sentences[1]
    assert sentences[-1] == "To improve first: scale calibration."


def test_where_power_defines_the_point_current_stands_in() -> None:
    lines = (budget_line("current", "ammeter", 1.0, "at_rated_power"),)
    place, current, _ = budget_sentences(Content(replace(with_uncertainties(make_results()), budget=lines)))
    assert place == "At rated power."
    assert current.startswith("Current 3.417 ± 0.031 A, k = 2.00, its variance from: ammeter 100 %.")


def test_a_budget_of_a_tested_point_names_the_point() -> None:
    place, power, *_ = budget_sentences(Content(with_uncertainties(make_results(2)), "both"))
    assert place == "At load point 2."
    assert "kW (" in power
    assert "hp), k = 2.00" in power


@pytest.mark.parametrize("lines", [(), (budget_line("torque", "arm length", 1.0),)])
def test_without_a_budget_there_is_no_block(lines: tuple[BudgetLine, ...]) -> None:
    assert budget(Content(replace(make_results(), budget=lines)), Titled("Uncertainty")) is None


def test_a_row_below_the_rated_points_holds_the_greatest_uncertainties(words_of: Read) -> None:
    results = with_uncertainties(make_results())
    found = words_of(rated_points(Content(results), Titled("")))
    row = found.partition("± at most, k = 2.00 ")[2].split()
    greatest = max(
        one.torque.expanded_uncertainty
        for one in (results.at_rated_current, results.at_rated_power, results.at_service_factor, results.at_rated_speed)
        if one is not None and one.torque is not None and one.torque.expanded_uncertainty is not None
    )
    assert row[2] == f"{greatest:.3f}"
    assert found.count("±") == 1


def test_what_defines_a_point_is_in_no_doubt_there_and_what_is_not_known_is_a_dash(words_of: Read) -> None:
    bare = make_results()
    alone = replace(
        bare,
        at_rated_current=sure_point(point(10.05, rich=False), "current"),
        at_rated_power=None,
        at_service_factor=None,
        at_rated_speed=None,
    )
    row = words_of(rated_points(Content(alone), Titled(""))).partition("± at most, k = 2.00 ")[2].split()
    # speed, slip, torque, shaft power, input power, no current, voltage, power factor, efficiency, losses
    assert [cell == "—" for cell in row] == [False, True, False, False, False, True, False, False, True]


def test_without_uncertainties_there_is_no_such_row(words_of: Read) -> None:
    assert "±" not in words_of(rated_points(Content(make_results()), Titled("")))


def test_load_points_and_plate_carry_no_uncertainties_but_their_digits(words_of: Read) -> None:
    content = Content(with_uncertainties(make_results()))
    found = words_of(load_points(content, PointTable("")))
    assert "±" not in found
    assert "12.200" in found
    assert "12.20 " in words_of(load_points(Content(make_results()), PointTable("")))
    assert not any("±" in cell for row in nameplate_rows(content) for cell in row)


def test_coverage_factors_of_few_readings_are_a_range() -> None:
    known = sure_point(point(10.0))
    assert known.torque is not None
    assert known.speed is not None
    quantities = [known.torque, known.speed, replace(known.torque, coverage_factor=13.97)]
    assert coverage_factors(quantities) == "k = 2.00 to 13.97"
    assert coverage_factors([]) == ""


FINDING = Finding(
    "torque", "Torque", "conditional pass", "N*m", 10.0, 9.87, Limits(9.8, None), decision_rule="guarded acceptance",
    source="a rule", expanded_uncertainty=0.113, false_decision_probability=0.108,
)  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "9.87 ± 0.11 N·m conditional pass a rule; probability of false accept 11 %"),
        ({"outcome": "conditional fail"}, "a rule; probability of false reject 11 %"),
        ({"outcome": "pass"}, "9.87 ± 0.11 N·m pass a rule"),
    ],
)
def test_a_finding_shows_its_uncertainty_and_near_a_limit_its_risk(
    changes: dict[str, str], words: str, words_of: Read
) -> None:
    results = with_uncertainties(make_results())
    found = words_of(findings(Content(replace(results, findings=(replace(FINDING, **changes),))), Titled("")))
    assert found.endswith(words)


def test_in_both_systems_the_uncertainty_stands_once(words_of: Read) -> None:
    results = replace(with_uncertainties(make_results()), findings=(FINDING,))
    assert "9.87 ± 0.11 (7.280) N·m (lbf·ft)" in words_of(findings(Content(results, "both"), Titled("")))


def test_a_finding_without_uncertainty_does_not_repeat_the_rule(words_of: Read) -> None:
    plain = replace(FINDING, expanded_uncertainty=None, decision_rule="simple acceptance: uncertainty not stated")
    results = replace(with_uncertainties(make_results()), findings=(plain,))
    assert "decision rule" not in words_of(findings(Content(results), Titled("")))


@pytest.mark.parametrize("units", ["si", "both"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("rich", [False, True])
def test_a_page_with_uncertainties_loses_nothing(
    certificate_layout: Layout, text_of: Callable[[bytes], str], paper: str, units: str, rich: bool
) -> None:
    results = with_uncertainties(make_results(12, rich=rich, flagged=rich))
    page = compose(results, certificate_layout, paper=paper, units=units)
    assert page.left_out == ()
    text = text_of(render(results, certificate_layout, paper=paper, units=units))
    for wanted in (
        "± at most, k = 2.00",
        "To improve first: scale calibration",
        "factor k = 2.00; those of load points",
    ):
        assert wanted in text
