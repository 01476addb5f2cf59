"""The words of a page: each place is filled, and a layout's own stand first."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sheet.results_factory import make_results, with_uncertainties
from sheet.wider_results import with_everything

from certgen.messages.catalogue import places_of
from certgen.results.model import Verdict
from certgen.sheet.blocks.findings import findings
from certgen.sheet.blocks.losses import budget_sentences
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout, Titled
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.words import Words


@pytest.mark.parametrize("units", ["si", "us", "both"])
def test_no_gap_is_left_open_on_any_page(certificate_layout: Layout, units: str) -> None:
    for results in (make_results(1), make_results(8, flagged=True), with_everything(make_results(12, rich=True))):
        page = compose(with_uncertainties(results), certificate_layout, paper="a4", units=units)
        texts = [mark.text for box in page.boxes for mark in box.setting.marks if isinstance(mark, TextMark)]
        assert [text for text in texts if places_of(text)] == []


def test_own_words_stand_before_the_built_in_ones() -> None:
    words = Words({"page.number": "{pages}/{page}"}, {"used": "gebraucht"})
    assert words("page.number", page=2, pages=7) == "7/2"
    assert words("page.left_out", blocks="a {page}") == "Left out for lack of room: a {page}"
    assert (words.phrase("used"), words.phrase("new")) == ("gebraucht", "new")


def test_a_share_is_never_told_as_all_or_nothing() -> None:
    """A share of 0.998 is not 100 %, nor one of 0.002 none."""
    results = with_uncertainties(make_results(8))
    shares = (0.998, 0.002, 0.3)
    lines = [replace(line, share=share) for line, share in zip(results.budget[:3], shares, strict=True)]
    (_, sentence, _) = budget_sentences(Content(replace(results, budget=tuple(lines))))
    assert "over 99 %" in sentence
    assert "under 1 %" in sentence
    assert "100 %" not in sentence
    assert " 0 %" not in sentence


def test_outcomes_stand_in_brackets_where_no_statement_is_made() -> None:
    results = make_results(8)
    told = findings(Content(results), Titled(""))
    doubtful = replace(results, verdict=Verdict("not tested", ("2 of 8 load points would give more than they take.",)))
    withheld = findings(Content(doubtful), Titled(""))

    def texts(block: object) -> list[str]:
        from certgen.sheet.engine.setting import Area, Block

        assert isinstance(block, Block)
        return [mark.text for mark in block.set(Area(540.0, 8.0, 5.6)).marks if isinstance(mark, TextMark)]

    assert "pass" in texts(told)
    assert "pass" not in texts(withheld)
    assert texts(withheld).count("(pass)") == texts(told).count("pass")
    assert any(text.startswith("In brackets: as read, not judged") for text in texts(withheld))
