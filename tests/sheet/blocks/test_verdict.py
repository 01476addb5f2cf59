"""The verdict in its frame: its words, its scope, and a shape that tells it apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from sheet.results_factory import make_results

from certgen.messages.catalogue import Message
from certgen.results.model import OUTCOMES, ScopeItem, Verdict
from certgen.sheet.blocks.verdict import verdict
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, FaceMark, Mark, RuleMark, SignMark, TextMark

Read = Callable[..., str]
SCOPE = (
    ScopeItem("nameplate", "met", Message("page.to", low="9", high="9")),
    ScopeItem("insulation", "failed"),
    ScopeItem("service_factor", "reached", Message("page.continued")),
    ScopeItem("starting", "not tested"),
)


def marks_of(outcome: str, **more: object) -> tuple[Mark, ...]:
    results = replace(make_results(), verdict=replace(Verdict(outcome, ("Because of this.",)), **more))
    return verdict(Content(results), Titled("")).set(Area(200.0, 9.0, 8.0)).marks


def rules(marks: tuple[Mark, ...]) -> list[RuleMark]:
    return [mark for mark in marks if isinstance(mark, RuleMark)]


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_outcome_is_said_in_large_letters(outcome: str) -> None:
    texts = {mark.text: mark.size for mark in marks_of(outcome) if isinstance(mark, TextMark)}
    assert texts[outcome.capitalize()] > 2.0 * texts["Because of this."]


def test_each_outcome_has_a_shape_of_its_own() -> None:
    """Heavy frame, double frame, double frame with a hatched strip, black field, dashed frame: without any colour."""

    def shape(outcome: str) -> tuple[int, bool, bool, bool]:
        marks = marks_of(outcome)
        upright = [mark for mark in rules(marks) if mark.x == mark.to_x]
        slanting = [mark for mark in rules(marks) if mark.x != mark.to_x and mark.y != mark.to_y]
        field = any(isinstance(mark, FaceMark) and mark.width > 190.0 for mark in marks)
        dashed = all(mark.dashes for mark in upright)
        return len(upright), bool(slanting), field, dashed

    found = {outcome: shape(outcome) for outcome in OUTCOMES}
    assert found["pass"] == (2, False, False, False)
    assert found["conditional pass"] == (4, False, False, False)
    assert found["conditional fail"] == (4, True, False, False)
    assert found["fail"] == (2, False, True, False)
    assert found["no verdict"] == (2, False, False, True)
    assert len(set(found.values())) == len(OUTCOMES)
    assert max(mark.weight for mark in rules(marks_of("pass"))) > 2.0


def test_a_fail_is_white_on_black_and_stays_within_the_field() -> None:
    marks = marks_of("fail")
    (field,) = [mark for mark in marks if isinstance(mark, FaceMark)]
    (word,) = [mark for mark in marks if isinstance(mark, TextMark) and mark.text == "Fail"]
    assert (field.ink, word.ink) == ("ink", "paper")
    assert field.y + field.height > word.y > field.y + 0.7 * word.size


def test_the_headline_stands_in_place_of_the_outcome(words_of: Read) -> None:
    results = replace(make_results(), verdict=Verdict("no verdict", (), headline=Message("page.continued")))
    assert words_of(verdict(Content(results), Titled(""))).startswith("(continued)")


def test_scope_is_told_by_sign_and_word(words_of: Read) -> None:
    marks = marks_of("pass", scope=SCOPE)
    signs = [(mark.shape, bool(mark.fill)) for mark in marks if isinstance(mark, SignMark)]
    assert signs == [("o", True), ("x", False), ("o", False), ("o", False)]
    texts = [mark.text for mark in marks if isinstance(mark, TextMark)]
    for wanted in ("Nameplate", "9 to 9", "FAILED", "Service factor", "reached: (continued)", "NOT TESTED"):
        assert wanted in texts
    assert not [mark for mark in marks_of("pass") if isinstance(mark, SignMark)]


def test_reasons_beyond_the_first_are_counted(words_of: Read) -> None:
    many = replace(make_results(), verdict=Verdict("fail", tuple(f"Reason {index}." for index in range(6))))
    found = words_of(verdict(Content(many), Titled("")))
    assert "Reason 1." in found
    assert "Reason 2." not in found
    assert "And 4 more, on the record." in found
