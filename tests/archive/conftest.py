from __future__ import annotations

from pathlib import Path

import asn1crypto.tsp  # noqa: F401  # the authority of the tests names its kinds, which the library learns once only
import pytest

from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions

EXAMPLES = Path(__file__).parent.parent.parent / "example_jobs"
JOBS = sorted(folder.parent.name for folder in EXAMPLES.glob("*/job.yaml"))


def example(name: str, **options: str) -> bytes:
    """The certificate of an example job."""
    return draw_job(EXAMPLES / name / "job.yaml", SheetOptions(**options)).document


@pytest.fixture(scope="session")
def certificate() -> bytes:
    """The certificate of one example, with a readings file and the job of an earlier test inside."""
    return example("renewed_rotor")


@pytest.fixture(scope="session")
def small_certificate() -> bytes:
    """The smallest certificate of the examples."""
    return example("one_point_test")
