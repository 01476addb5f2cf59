"""Stated intervals hold the truth about as often as they say, in a few simulated tests of a known motor.

The study of two thousand tests is ``tests/studies/coverage.py``; these bounds are those of chance alone.
"""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from scipy import stats
from studies.coverage import KINDS, STATED, TRUTH, WATCHED, one_test, study
from studies.loss_coverage import FIGURES, one_loss_test

pytestmark = pytest.mark.slow

TESTS, SEED = 60, 20260314
#: Chance of a false alarm, either side.
CHANCE = 1e-4


@pytest.fixture(scope="module")
def parts() -> np.ndarray:
    """Errors over expanded uncertainties: a row a test, a column a figure."""
    return study(TESTS, SEED)


def chance_bounds(share: float) -> tuple[float, float]:
    """Counts of so many tests between which chance keeps a share."""
    low, high = stats.binom.ppf([CHANCE, 1.0 - CHANCE], TESTS, share)
    return float(low), float(high)


@pytest.mark.parametrize("column", range(len(WATCHED)), ids=map(str, WATCHED))
def test_intervals_hold_the_truth(column, parts):
    low, high = chance_bounds(STATED)
    assert low <= np.count_nonzero(np.abs(parts[:, column]) <= 1.0) <= high


@pytest.mark.parametrize("column", range(len(WATCHED)), ids=map(str, WATCHED))
def test_intervals_are_no_wider_than_needed(column, parts):
    # Half the interval is one standard uncertainty: 68.27 % (NIST TN 1297, table B.1, note a)
    low, high = chance_bounds(0.6827)
    assert low <= np.count_nonzero(np.abs(parts[:, column]) <= 0.5) <= high


@pytest.mark.parametrize("column", range(len(WATCHED)), ids=map(str, WATCHED))
def test_errors_go_either_way(column, parts):
    low, high = chance_bounds(0.5)
    assert low <= np.count_nonzero(parts[:, column] > 0.0) <= high


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "usual"])
def test_intervals_hold_the_truth_however_the_loads_were_taken(kind):
    found = study(TESTS, SEED, one=partial(one_test, kind=kind))
    low, _ = chance_bounds(STATED)
    assert np.all(np.count_nonzero(np.abs(found) <= 1.0, axis=0) >= low)


def test_the_motor_of_the_study_is_a_possible_one():
    for truth in TRUTH.values():
        assert 0.5 < truth["efficiency"] < 0.9
    assert TRUTH["at_rated_power"]["shaft_power"] == pytest.approx(1500.0, rel=1e-9)
    assert TRUTH["at_rated_current"]["current"] == pytest.approx(3.4, rel=1e-9)


@pytest.fixture(scope="module")
def loss_parts() -> np.ndarray:
    """The same of losses and winding rise."""
    return study(TESTS, SEED, one=one_loss_test)


@pytest.mark.parametrize("column", range(len(FIGURES)), ids=FIGURES)
def test_intervals_of_losses_hold_the_truth(column, loss_parts):
    low, high = chance_bounds(STATED)
    assert low <= np.count_nonzero(np.abs(loss_parts[:, column]) <= 1.0) <= high


@pytest.mark.parametrize("column", range(len(FIGURES)), ids=FIGURES)
def test_intervals_of_losses_are_no_wider_than_needed(column, loss_parts):
    low, high = chance_bounds(0.6827)
    assert low <= np.count_nonzero(np.abs(loss_parts[:, column]) <= 0.5) <= high
