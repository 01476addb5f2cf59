"""The outcome in words, and the figures that lead the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from scipy import constants
from sheet.results_factory import make_results, point

from certgen.quantity import Quantity
from certgen.results.model import OUTCOMES, Verdict
from certgen.sheet.blocks.verdict import headlines, verdict
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, TextMark


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_outcome_is_said_in_large_letters(outcome: str) -> None:
    results = replace(make_results(), verdict=Verdict(outcome, ("Because of this.", "And of that.")))
    marks = verdict(Content(results), Titled("Statement of conformity")).set(Area(530.0, 8.0, 5.6)).marks
    texts = {mark.text: mark.size for mark in marks if isinstance(mark, TextMark)}
    assert texts[outcome.capitalize()] > 2.0 * texts["Because of this."]
    assert "And of that." in texts


def test_rule_and_criteria_stand_with_the_verdict(words_of: Callable[[Block], str]) -> None:
    words = words_of(verdict(Content(make_results()), Titled("")))
    assert "Criteria: IEC 60034-1:2022. Decision rule: simple acceptance." in words


def test_figures_of_rated_current_lead() -> None:
    figures = headlines(Content(make_results()))
    expected = point(10.05)
    assert expected.shaft_power is not None
    assert [figure.label for figure in figures] == ["Power", "Torque", "Speed", "Current"]
    assert [figure.text for figure in figures] == [f"{expected.shaft_power.value / 1000:.3f}", "10.05", "1419", "3.40"]
    assert [figure.sign for figure in figures] == ["kW", "N·m", "rpm", "A"]


def test_both_systems_show_the_second_below() -> None:
    power, torque, speed, current = headlines(Content(make_results(), "both"))
    expected = 10.05 / (constants.foot * constants.pound_force)
    assert torque.below == (f"{expected:.3f} lbf·ft",)
    assert power.below[0].endswith(" hp")
    assert speed.below == current.below == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "Measured at rated current, read off the load curve"),
        ({"at_rated_current": None}, "Measured at rated power, read off the load curve"),
        ({"at_rated_current": None, "at_rated_power": None}, "Measured at load point 8 of 8, the highest load tested"),
        ({"at_rated_current": None, "at_rated_power": None, "points": ()}, "No usable load point"),
    ],
)
def test_page_says_which_point_leads(changes: dict[str, None], words: str, words_of: Callable[[Block], str]) -> None:
    assert words in words_of(verdict(Content(replace(make_results(8), **changes)), Titled("")))


def test_only_point_and_extrapolated_point_are_called_so(words_of: Callable[[Block], str]) -> None:
    assert "at the only load point tested" in words_of(verdict(Content(make_results(1)), Titled("")))
    assert "extrapolated beyond the tested points" in words_of(
        verdict(Content(make_results(8, flagged=True)), Titled(""))
    )


def test_impossible_point_never_leads() -> None:
    results = make_results(2)
    worst = replace(results.points[1], flags=("impossible",))
    figures = headlines(Content(replace(results, points=(results.points[0], worst))))
    assert figures[1].text == "0.0"


def test_what_was_not_measured_is_a_dash_without_unit() -> None:
    results = make_results(1)
    bare = replace(results, points=(replace(results.points[0], torque=None, shaft_power=None),))
    power, torque, *_ = headlines(Content(bare))
    assert (power.text, power.sign) == (torque.text, torque.sign) == ("—", "")


def test_uncertainty_stands_below_its_figure() -> None:
    results = make_results(1)
    known = replace(results.points[0], torque=Quantity(9.8712, "N*m", 0.113, 2.0))
    torque = headlines(Content(replace(results, points=(known,))))[1]
    assert (torque.text, torque.below) == ("9.87", ("± 0.11 N·m",))
