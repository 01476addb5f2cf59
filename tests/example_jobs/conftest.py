"""The generator of the examples is found where it stands, beside the jobs."""

from __future__ import annotations

import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parents[2] / "example_jobs"))

# A first call imports and compiles; how long it takes says nothing about the law.
settings.register_profile("unhurried", settings(deadline=None))
settings.load_profile("unhurried")


@pytest.fixture
def as_printed() -> Callable[[str], Any]:
    """Compare with a printed figure: within half its last digit."""

    def compare(figure: str) -> Any:
        exponent = Decimal(figure).as_tuple().exponent
        assert isinstance(exponent, int)
        return pytest.approx(float(figure), rel=0.0, abs=0.5 * 10.0**exponent)

    return compare
