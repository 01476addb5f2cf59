"""Every example job, on either paper: nothing left out, nothing overlapping."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from sheet.geometry import assert_sound

from certgen.pipeline import assess_job
from certgen.results.model import Results
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose

JOBS = sorted((Path(__file__).parents[2] / "example_jobs").glob("*/job.yaml"))


@cache
def results_of(job: Path) -> Results:
    return assess_job(job).results


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_nothing_is_left_out(certificate_layout: Layout, job: Path, paper: str) -> None:
    units = "us" if "us_units" in job.parent.name else "si"
    page = compose(results_of(job), certificate_layout, paper=paper, units=units)
    assert page.left_out == ()
    assert page.text_size >= certificate_layout.text.smallest + 0.1 - 1e-6  # one step to spare
    assert_sound(page, certificate_layout)
