"""Scatter of readings taken again at the same load."""

from __future__ import annotations

import math

import numpy as np
import pytest

from certgen.reduction.uncertainty.scale_inputs import repeat_scatter


def test_two_readings_of_one_load():
    """JCGM 100:2008, 4.2.2 for n = 2: s = |a - b| / sqrt(2), one degree of freedom."""
    standard, freedom = repeat_scatter(np.array([1.0, 2.0, 2.06]), np.array([1.0, 2.0, 2.0]))
    assert standard == pytest.approx(0.06 / math.sqrt(2.0))
    assert freedom == pytest.approx(1.0)


def test_a_slow_change_of_the_load_hardly_enters():
    """A warming motor: steps of 0.01 for 30 rows have a standard deviation of 0.088, but scatter by 0.01 / sqrt(2)."""
    drifting = 2.0 + 0.01 * np.arange(30)
    standard, _ = repeat_scatter(drifting, np.full(30, 2.0))
    assert standard == pytest.approx(0.01 / math.sqrt(2.0))
    assert drifting.std(ddof=1) > 0.08


def test_standard_deviation_and_degrees_of_freedom_by_simulation():
    """Normal scatter of 0.1, five readings of a load: the variance is met, and its spread is 2 s^4 / nu."""
    rng = np.random.default_rng(20260102)
    found = [repeat_scatter(rng.normal(3.0, 0.1, 5), np.full(5, 1.0)) for _ in range(20_000)]
    variances = np.array([one[0] ** 2 for one in found])
    assert variances.mean() == pytest.approx(0.01, rel=0.02)  # 20000 draws: sure to 0.6 %
    assert found[0][1] == pytest.approx(2.0 * variances.mean() ** 2 / variances.var(), rel=0.06)


def test_groups_are_pooled():
    readings, setting = np.array([1.0, 1.02, 5.0, 5.04]), np.array([1.0, 1.0, 2.0, 2.0])
    standard, freedom = repeat_scatter(readings, setting)
    assert standard == pytest.approx(math.sqrt((0.02**2 + 0.04**2) / 4.0))
    assert freedom == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("readings", "setting"),
    [
        ([1.0, 2.0, 3.0], [1.0, 2.0, 3.0]),
        ([1.0, 2.0, 1.1], [1.0, 2.0, 1.0]),  # came back to a load: no repeat of a steady one
        ([1.0, 1.1, 1.2], [math.nan] * 3),
        ([1.0, 1.0, 2.0], [1.0, 1.0, 2.0]),  # agree to the last digit
        ([1.0, math.nan, 1.1], [1.0, 1.0, 1.0]),
        ([1.0], [1.0]),
    ],
)  # fmt: skip
def test_without_repeats_there_is_nothing_to_say(readings, setting):
    assert repeat_scatter(np.array(readings), np.array(setting)) is None
