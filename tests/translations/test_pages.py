"""Every example's certificate and record in every language, A4 and Letter: whole, and no sentence left in English."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from sheet.geometry import assert_sound

from certgen.document.source import Problems
from certgen.messages.languages import ENGLISH, catalogue, languages, shipped
from certgen.pipeline import assess_job
from certgen.results.model import Results
from certgen.sheet.engine.layout import Layout, find_layout, in_language, load_layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark

EXAMPLES = sorted((Path(__file__).parents[2] / "example_jobs").glob("*/job.yaml"))
OTHERS = [language for language in languages() if language != ENGLISH]
#: So many words in a row, a place apart, are a sentence or a part of one.
_LEAST_WORDS = 4


@cache
def results_of(job: Path) -> Results:
    return assess_job(job).results


def layout_named(name: str) -> Layout:
    path = find_layout(name)
    layout = load_layout(path, name, Problems()) if path else None
    assert layout is not None
    return layout


def fragments(language: str) -> set[str]:
    """Parts of English sentences between their places that the language does not itself have."""
    english = {part.strip(" .,:;()") for text in catalogue().values() for part in re.split(r"\{[^{}]*\}", text)}
    own = "\n".join(catalogue(language).values())
    return {part for part in english if len(re.findall(r"[a-z]{2,}", part)) >= _LEAST_WORDS and part not in own}


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("job", EXAMPLES, ids=lambda path: path.parent.name)
def test_an_example_in_a_language(job: Path, language: str) -> None:
    english = fragments(language)
    for name in ("certificate", "record"):
        layout = in_language(layout_named(name), shipped(language))
        for paper in ("a4", "letter"):
            page = compose(results_of(job), layout, paper=paper, units="both")
            for one in page.pages:
                assert_sound(one, layout)
            marks = (mark for one in page.pages for box in one.boxes for mark in box.setting.marks)
            said = " ".join(mark.text for mark in marks if isinstance(mark, TextMark))
            assert [part for part in english if part in said] == []
