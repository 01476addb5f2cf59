"""Three lines against each other: one figure out of step is named; lines that are unbalanced, or wander, are not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from certgen.assessment.plausibility.lines_in_step import lines_out_of_step
from certgen.assessment.plausibility.row_relations import TypedColumn
from certgen.assessment.plausibility.scatter_between_rows import Spread

METER = Spread(0.0, 0.0012)
MEAN = np.array([1.21, 1.26, 1.33, 1.42, 1.53, 1.66, 1.81])


def currents(unbalance: float = 0.02, wander: float = 0.001, seed: int = 1) -> tuple[TypedColumn, ...]:
    """Three line currents whose unbalance is that of one negative-sequence current, the same at every load."""
    draw = np.random.default_rng(seed)
    lines = [MEAN + unbalance * MEAN[0] * part for part in (1.0, -0.4, -0.6)]
    made = [np.round(line * (1.0 + wander * draw.standard_normal(MEAN.size)), 3) for line in lines]
    return tuple(TypedColumn(f"current_{name}", "current", line) for name, line in zip("abc", made, strict=True))


@pytest.mark.parametrize("line", range(3))
@pytest.mark.parametrize("row", [0, 3, 6])
def test_one_figure_out_of_step_is_named_with_what_its_companions_suggest(line: int, row: int) -> None:
    columns = currents()
    right = float(columns[line].values[row])
    columns[line].values[row] = round(1.045 * right, 3)
    found = lines_out_of_step(columns, "current", METER)
    assert found is not None
    assert (found.row, found.cell) == (row, f"current_{'abc'[line]}")
    assert found.implied == pytest.approx(right, rel=0.015)


def test_a_tenfold_figure_is_named_as_such() -> None:
    columns = currents()
    columns[1].values[4] *= 10.0
    found = lines_out_of_step(columns, "current", METER)
    assert found is not None
    assert (found.row, found.slip) == (4, "times_ten")
    assert found.implied == pytest.approx(float(columns[1].values[4]) / 10.0)


@given(unbalance=st.floats(0.0, 0.15), seed=st.integers(0, 10_000), wander=st.floats(0.0, 0.006))
@settings(max_examples=80, deadline=None)
def test_lines_that_are_unbalanced_or_wander_keep_step(unbalance: float, seed: int, wander: float) -> None:
    assert lines_out_of_step(currents(unbalance, wander, seed), "current", METER) is None


def test_two_lines_or_few_rows_say_nothing() -> None:
    columns = currents()
    columns[0].values[2] *= 1.5
    assert lines_out_of_step(columns[:2], "current", METER) is None
    few = tuple(TypedColumn(one.name, one.quantity, one.values[:4]) for one in columns)
    assert lines_out_of_step(few, "current", METER) is None


def test_voltages_keep_step_within_less_than_currents() -> None:
    volts = [np.round(400.0 + part + 0.02 * np.arange(6), 1) for part in (0.4, -0.3, 0.1)]
    volts[2][3] += 4.0
    columns = tuple(TypedColumn(f"voltage_{n}", "voltage", v) for n, v in zip(("ab", "bc", "ca"), volts, strict=True))
    found = lines_out_of_step(columns, "voltage", Spread(0.0, 5e-4))
    assert found is not None
    assert (found.row, found.cell) == (3, "voltage_ca")
