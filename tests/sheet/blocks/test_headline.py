"""The figures that lead a certificate."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from sheet.results_factory import make_results, with_uncertainties

from certgen.messages.format import forms
from certgen.quantity import Quantity
from certgen.sheet.blocks.headline import figures_of, four_digits, gives, headline
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Block

Read = Callable[[Block], str]


def test_figures_at_rated_power_lead_and_power_is_set() -> None:
    figures = {figure.label: figure for figure in figures_of(Content(with_uncertainties(make_results())))}
    assert list(figures) == ["Power", "Torque", "Speed", "Current", "Efficiency", "Power factor"]
    assert figures["Power"].below == ("set",)
    assert figures["Current"].below[0].startswith("± ")
    assert figures["Current"].below[1] == "plate 3.4"


def test_where_rated_power_was_not_reached_rated_current_leads_and_is_set() -> None:
    results = make_results()
    assert results.at_rated_power is not None
    beyond = replace(results, at_rated_power=replace(results.at_rated_power, flags=("extrapolated",)))
    figures = {figure.label: figure for figure in figures_of(Content(with_uncertainties(beyond)))}
    assert figures["Current"].below == ("set",)
    assert figures["Current"].text == "3.398"
    assert figures["Power"].below[-1] == "plate 1.5"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "At rated power, between test points"),
        ({"at_rated_power": None}, "At rated current, between test points"),
        ({"at_rated_current": None, "at_rated_power": None}, "At load point 8 of 8, the highest load tested"),
        ({"at_rated_current": None, "at_rated_power": None, "points": ()}, "No usable load point"),
    ],
)
def test_page_says_which_point_leads(changes: dict[str, None], words: str, words_of: Read) -> None:
    assert words in words_of(headline(Content(replace(make_results(8), **changes)), Titled("")))


def test_only_point_and_extrapolated_point_are_called_so(words_of: Read) -> None:
    assert "At the only load point tested" in words_of(headline(Content(make_results(1)), Titled("")))
    assert "beyond the test points" in words_of(headline(Content(make_results(8, flagged=True)), Titled("")))


def test_impossible_point_never_leads() -> None:
    results = make_results(2)
    worst = replace(results.points[1], flags=("impossible",))
    figures = figures_of(Content(replace(results, points=(results.points[0], worst))))
    assert figures[1].text == "0.0"


def test_what_was_not_measured_is_said() -> None:
    results = make_results(1)
    bare = replace(results, points=(replace(results.points[0], torque=None, shaft_power=None),))
    power, torque, *_ = figures_of(Content(bare))
    assert (power.text, torque.text, power.sign) == ("—", "—", "")
    assert power.below == ("not measured",)


def test_both_systems_show_the_second_below() -> None:
    figures = {figure.label: figure for figure in figures_of(Content(make_results(), "both"))}
    results = make_results()
    assert results.at_rated_power is not None
    assert results.at_rated_power.torque is not None
    customary = results.at_rated_power.torque.value / (constants.foot * constants.pound_force)
    assert figures["Torque"].below[-1] == f"{customary:.3f} lbf·ft"
    assert figures["Power"].below[-1].endswith(" hp")


@given(st.floats(1e-3, 1e5), st.floats(1e-6, 0.2))
def test_no_figure_has_more_than_four_digits_that_count(value: float, part: float) -> None:
    item = Quantity(value, "N*m", value * part, 2.0)
    for form in forms("torque", "both", value):
        text = four_digits(item, form)
        digits = text.replace(".", "").lstrip("0").rstrip("0") if "." not in text else text.replace(".", "").lstrip("0")
        assert len(digits) <= 4, (value, text)
        assert float(text) == pytest.approx(
            form.value(value), rel=6e-4, abs=0.51 * 10.0 ** -len(text.partition(".")[2])
        )


def test_one_sentence_says_what_it_gives_at_the_current_of_its_plate() -> None:
    results = with_uncertainties(make_results())
    assert results.at_rated_current is not None
    assert results.at_rated_current.shaft_power is not None
    said = gives(Content(results))
    assert said.startswith("At the plate's current, 3.4 A, the shaft gives 1.494 ± 0.012 kW.")
    assert "Highest torque tested: 12.20 ± " in said
    assert "would give" in gives(Content(make_results(8, flagged=True)))
