"""Every example's certificate and record in every language, A4 and Letter: whole, and no sentence left in English."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path

import pytest
from sheet.geometry import assert_sound

from certgen.document.source import Problems
from certgen.job.model import Nameplate
from certgen.messages.catalogue import places_of
from certgen.messages.languages import ENGLISH, catalogue, languages, own_sentences, shipped
from certgen.pipeline import assess_job
from certgen.results.model import Results
from certgen.sheet.engine.layout import Layout, find_layout, in_language, load_layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.pdf.draw import about, draw

pytestmark = pytest.mark.slow

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


#: Figures of a page that keep their point: clauses and numbers of standards, the program's version, dates with points.
_NO_FIGURE = re.compile(
    r"certgen \d+\.\d+\.\d+|\b\d{2}\.\d{2}\.\d{4}\b|\b(?:EN|IEC|IEEE|NEMA|MG|Std|CFR|USC|JCGM|NIST)\b[^;]*?\d+(?:\.\d+)+"
)
_POINT = re.compile(r"\S*\d\.\d\S*")


def texts_of(tree: object) -> Iterator[str]:
    """Every text of results: what the shop wrote is among them, and figures are not."""
    if isinstance(tree, str):
        yield tree
    elif isinstance(tree, (tuple, list)):
        for one in tree:
            yield from texts_of(one)
    elif is_dataclass(tree) and not isinstance(tree, (type, Nameplate)):
        for one in fields(tree):
            yield from texts_of(getattr(tree, one.name))


#: How far a source is confirmed, which the handbook and results.json keep and no page says.
_MEMORY = {"en": "from memory", "de": "aus dem Gedächtnis", "es": "de memoria", "fr": "de mémoire"}


def test_a_language_says_from_memory_in_the_results_alone() -> None:
    for language, words in _MEMORY.items():
        assert words in catalogue(language)["source.recalled"]
        assert words not in catalogue(language)["source.recalled.on_page"]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler) is not here")
@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("job", EXAMPLES, ids=lambda path: path.parent.name)
def test_every_figure_has_the_marks_of_the_language(job: Path, language: str, tmp_path: Path) -> None:
    """A comma before the decimals, as DIN 5008, the Imprimerie nationale and the Real Academia have it.

    Read back from the finished PDF, charts and all. A point stays in the number of a clause, in the catalogue's own
    sentences, and in what the shop wrote. No page says that a limit is from memory.
    """
    results = results_of(job)
    layout, record = (in_language(layout_named(name), shipped(language)) for name in ("certificate", "record"))
    page = compose(results, layout, paper="a4", units="both", record=record)
    (tmp_path / "page.pdf").write_bytes(draw(page, about(results, layout)))
    command = ["pdftotext", "-enc", "UTF-8", str(tmp_path / "page.pdf"), "-"]
    said = " ".join(subprocess.run(command, capture_output=True, check=True).stdout.decode().split())
    assert _MEMORY[language] not in said
    if language == ENGLISH:
        return
    own = "\n".join((*catalogue(language).values(), *texts_of(results)))
    pointed = _POINT.findall(_NO_FIGURE.sub(" ", said))
    assert [figure for figure in pointed if figure.strip("(),.;:") not in own] == []


def test_french_has_its_blanks_before_double_signs() -> None:
    """A blank that does not break before : and %, a narrow one before ; ! ?, and both within « » (Imprimerie nationale)."""
    for text in own_sentences("fr").values():
        assert not any(form.startswith((";", ":")) for form in places_of(text).values()), text
    sentences = {key: re.sub(r"\{[^{}]*\}|'[^']*: [^']*'", "", text) for key, text in own_sentences("fr").items()}
    wrong = re.compile(r"[^\u00a0:]:(?= |$)| [:;!?%»]|[^\u202f][;!?](?= |$)|«[^\u00a0]|[^\u00a0]»|\w'\w|\w\.\.\.")
    assert {key: text for key, text in sentences.items() if wrong.search(text)} == {}
