"""Coverage factors against the printed table and against scipy."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from certgen.physics.uncertainty import COVERAGE, coverage_factor, probability_below

# NIST Technical Note 1297 (1994), table B.1, column 95.45, which is JCGM 100:2008, table G.2; read at nist.gov
PRINTED = {
    1: "13.97", 2: "4.53", 3: "3.31", 4: "2.87", 5: "2.65", 6: "2.52", 7: "2.43", 8: "2.37", 9: "2.32", 10: "2.28",
    11: "2.25", 12: "2.23", 13: "2.21", 14: "2.20", 15: "2.18", 16: "2.17", 17: "2.16", 18: "2.15", 19: "2.14",
    20: "2.13", 25: "2.11", 30: "2.09", 35: "2.07", 40: "2.06", 45: "2.06", 50: "2.05", 100: "2.025",
    math.inf: "2.000",
}  # fmt: skip


@pytest.mark.parametrize(("freedom", "factor"), PRINTED.items())
def test_printed_table(freedom, factor, as_printed):
    assert coverage_factor(freedom) == as_printed(factor)


def test_exactly_two_for_infinite_degrees_of_freedom():
    assert coverage_factor(math.inf) == 2.0


def test_the_coverage_the_table_means(as_printed):
    assert as_printed("95.45") == 100.0 * COVERAGE


@given(st.integers(1, 5000) | st.integers(5000, 10**15))
def test_the_same_as_scipy(freedom):
    assert coverage_factor(freedom) == pytest.approx(stats.t.ppf((1.0 + COVERAGE) / 2.0, freedom), abs=1e-8)


@given(st.floats(-40.0, 40.0), st.integers(1, 400) | st.integers(400, 10**15))
def test_probability_below_is_scipys(deviations, freedom):
    assert probability_below(deviations, freedom) == pytest.approx(stats.t.cdf(deviations, freedom), abs=2e-8)


@given(st.floats(1.0, 1e6))
def test_degrees_of_freedom_are_rounded_down(freedom):
    # JCGM 100:2008, G.4.1; computed whole numbers may miss by the rounding of binary numbers
    assert coverage_factor(freedom) == coverage_factor(math.floor(freedom * (1.0 + 1e-9)))


def test_a_whole_number_that_binary_rounding_missed_counts_as_whole():
    assert coverage_factor(math.nextafter(9.0, 0.0)) == coverage_factor(9.0)
    assert coverage_factor(math.nextafter(1.0, 0.0)) == coverage_factor(1.0)
    assert coverage_factor(8.99) == coverage_factor(8.0)


@given(st.integers(1, 400))
def test_more_degrees_of_freedom_need_less(freedom):
    assert coverage_factor(freedom) > coverage_factor(freedom + 1) > 2.0


def test_unknown_stays_unknown():
    assert math.isnan(coverage_factor(math.nan))


@pytest.mark.parametrize("freedom", [0.99, 0.0, -3.0, -math.inf])
def test_less_than_one_degree_of_freedom_is_refused(freedom):
    with pytest.raises(ValueError, match="at least one degree of freedom"):
        coverage_factor(freedom)
