from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from certgen.quantity import Quantity, measured


def test_a_measured_number_carries_its_unit_and_no_invented_uncertainty() -> None:
    assert measured(9.87, "N*m") == Quantity(9.87, "N*m", expanded_uncertainty=None, coverage_factor=None)


@pytest.mark.parametrize("value", [None, math.nan, math.inf, -math.inf, np.float64("nan")])
def test_what_was_not_measured_is_none(value: float | None) -> None:
    assert measured(value, "W") is None


def test_zero_was_measured() -> None:
    assert measured(0.0, "W") == Quantity(0.0, "W")


def test_the_value_is_a_plain_float() -> None:
    found = measured(np.float64(2.5), "A")
    assert found is not None
    assert type(found.value) is float


def test_a_quantity_stays_as_it_is() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        Quantity(1.0, "W").value = 2.0  # type: ignore[misc]
