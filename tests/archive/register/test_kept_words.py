"""What the register keeps in English is said in the reader's language, word for word what the certificate says in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from certgen.archive.register.kept_words import headline_kept, scope_kept
from certgen.assessment.statement import headline_of, scope_in_brief
from certgen.messages.catalogue import text_of
from certgen.messages.format import Units
from certgen.messages.languages import languages, shipped
from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

JOBS = sorted((Path(__file__).parents[3] / "example_jobs").glob("*/job.yaml"))
NAMES = ("three_phase_full_plate", "unmarked_rated", "one_point_test", "low_supply")


@pytest.mark.parametrize("job", [job for job in JOBS if job.parent.name in NAMES], ids=lambda job: job.parent.name)
def test_a_list_says_what_the_certificate_says_in_every_language(job: Path) -> None:
    verdict = assess_job(job).results.verdict
    headline, scope = headline_of(verdict), scope_in_brief(verdict)
    assert scope is not None
    for tag in languages():
        for system in ("si", "us"):
            units = Units(system, language=shipped(tag))
            kept = text_of(headline, units=system), text_of(scope, units=system)
            assert text_of(headline_kept(kept[0]), units=units) == text_of(headline, units=units)
            assert text_of(scope_kept(kept[1]), units=units) == text_of(scope, units=units)


def test_words_of_another_version_stay_as_they_are() -> None:
    units = Units("si", language=shipped("de"))
    assert text_of(headline_kept("Passed with honours"), units=units) == "Passed with honours"
    assert (
        text_of(scope_kept("insulation NOT TESTED; brushes worn"), units=units) == "insulation NOT TESTED; brushes worn"
    )
