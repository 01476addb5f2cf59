"""Check values as their sources print them, and no deadline for single examples of a law."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import settings

# A first call imports and compiles; how long it takes says nothing about the law.
settings.register_profile("unhurried", settings(deadline=None))
settings.load_profile("unhurried")


@pytest.fixture
def as_printed() -> Callable[..., Any]:
    """Compare with a printed figure: within half its last digit, or a whole one where it was cut short."""
    return _as_printed


def _as_printed(figure: str, *, cut: bool = False) -> Any:
    exponent = Decimal(figure).as_tuple().exponent
    assert isinstance(exponent, int)
    last_digit = 10.0**exponent
    # the millionth of a digit is for figures that fall on the edge of rounding
    return pytest.approx(float(figure), rel=0.0, abs=last_digit * (1.0 if cut else 0.5) * (1.0 + 1e-6))
