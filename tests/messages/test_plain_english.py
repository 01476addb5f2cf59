"""Plain trade English: wordings that were given up stand nowhere in pages, help, errors, layouts or the handbook."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import certgen

pytestmark = pytest.mark.slow

PACKAGE = Path(certgen.__file__).parent
ROOT = PACKAGE.parent
#: Given up for what a fitter would say: the trade's or the standard's own word, short and active.
GIVEN_UP = (
    "Measured at rated current, read off",
    "comparisons with the nameplate are met",
    "Figures of the machine",
    "its variance from",
    "still to come at its end",
    "mass shown times local gravity",
    "drift taken as linear",
    "hot enough to burn",
    "licensed practice",
    "held down by the slip",
    "Rig: holds",
    "at a stroke",
    "wait for it to stand",
    "bridge it",
    "that code stands above",
    "This tag is no certificate",
    "no statement is made, as beyond",
    "fewer than 8 signs",
    "More reasons on the certificate",
    "same up to the verdict",
    "is it whole",
    'part of its limit of error"',
    "losses told apart",
)
#: Words that stood for everything; the term of the trade or of the standard is said in their place.
NOUNS_OF_ALL_WORK = re.compile(r"\b(told|tells|doubt|doubts|surely|lacking)\b")
#: Where one of them is meant as it is.
_MEANT = ("tests/", '"told only"')


def texts() -> dict[Path, str]:
    """Everything that is printed, or read in the handbook."""
    found = [*PACKAGE.rglob("*.py"), *PACKAGE.rglob("*.yaml"), *ROOT.joinpath("layouts").glob("*.yaml")]
    found += [*ROOT.joinpath("docs").glob("*.md"), ROOT / "README.md", ROOT / "example_jobs" / "README.md"]
    return {path: path.read_text(encoding="utf-8") for path in found if path.is_file()}


@pytest.fixture(scope="module")
def everything() -> dict[Path, str]:
    return {path: " ".join(text.split()) for path, text in texts().items()}


@pytest.mark.parametrize("phrase", GIVEN_UP)
def test_a_wording_that_was_given_up_is_gone(phrase: str, everything: dict[Path, str]) -> None:
    assert len(everything) > 200
    assert [str(path.relative_to(ROOT)) for path, text in everything.items() if phrase in text] == []


def test_no_word_stands_for_everything(everything: dict[Path, str]) -> None:
    """In what is printed, in the handbook and in the program's own descriptions alike."""
    read = {path: text for path, text in everything.items() if path.suffix != ".yaml" or path.name == "en.yaml"}
    for meant in _MEANT:
        read = {path: text.replace(meant, "") for path, text in read.items()}
    found = {
        str(path.relative_to(ROOT)): match[0]
        for path, text in read.items()
        if (match := re.search(rf".{{0,40}}{NOUNS_OF_ALL_WORK.pattern}.{{0,20}}", text))
    }
    assert found == {}
