"""Uncertainties against the worked examples of the guides, recomputed from their raw figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from certgen.physics.uncertainty import (
    DIVISORS,
    combine,
    decimals_for,
    effective_degrees_of_freedom,
    expanded,
    half_width_to_standard,
    line_covariance,
    round_with,
)

pytestmark = pytest.mark.slow

SIZES = st.lists(st.floats(1e-3, 1e3), min_size=1, max_size=8)


# Limits


@pytest.mark.parametrize(
    ("distribution", "of_the_unit"),
    [
        ("rectangular", stats.uniform(-1.0, 2.0)), ("triangular", stats.triang(0.5, -1.0, 2.0)),
        ("arcsine", stats.arcsine(-1.0, 2.0)), ("normal", stats.norm(0.0, 0.5)),
    ],
)  # fmt: skip
def test_divisors_are_the_standard_deviations_of_their_distributions(distribution, of_the_unit):
    assert half_width_to_standard(1.0, distribution) == pytest.approx(of_the_unit.std(), rel=1e-12)


@pytest.mark.parametrize(
    ("half_width", "distribution", "standard"),
    [
        (0.05, "rectangular", "0.029"),  # JCGM 100:2008, H.1.3.6: degC; the bound read in a reference program's copy
        (0.5, "arcsine", "0.35"),  # H.1.3.4: cyclic temperature, degC, from memory
        (
            15.0,
            "rectangular",
            "8.66",
        ),  # EA-4/02, example S2: drift, mg; standard uncertainty as a published copy has it
        (10.0, "rectangular", "5.77"),  # the same: eccentricity, mg
        (45.0, "normal", "22.5"),  # the same: certificate of the reference, U = 45 mg with k = 2
    ],
)
def test_limits_of_published_budgets(half_width, distribution, standard, as_printed):
    assert half_width_to_standard(half_width, distribution) == as_printed(standard)


def test_limits_are_converted_row_by_row():
    widths = np.array([0.0, 3.0, np.nan])
    assert half_width_to_standard(widths, "rectangular") == pytest.approx([0.0, math.sqrt(3.0), np.nan], nan_ok=True)


def test_unknown_distributions_and_negative_limits_are_refused():
    with pytest.raises(ValueError, match="rectangular, triangular, arcsine, normal"):
        half_width_to_standard(1.0, "uniform")
    with pytest.raises(ValueError, match="half-width"):
        half_width_to_standard(-1.0, "rectangular")
    assert set(DIVISORS) == {"rectangular", "triangular", "arcsine", "normal"}


# JCGM 100:2008, H.1: the end gauge. Inputs and results as two reference programs carry them; lengths in nm.

LENGTH, EXPANSION, TEMPERATURE = 5.0000623e7, 11.5e-6, -0.1
COMPARISON = ([5.8, 3.9, 6.7], [24, 5, 8])


def end_gauge():
    """Contributions and degrees of freedom of certificate, comparison, expansion and temperature difference."""
    comparison = combine(COMPARISON[0])
    expansion = LENGTH * TEMPERATURE * half_width_to_standard(1e-6, "rectangular")
    difference = LENGTH * EXPANSION * half_width_to_standard(0.05, "rectangular")
    return [25.0, comparison, expansion, difference], [18, effective_degrees_of_freedom(*COMPARISON), 50, 2]


def test_end_gauge_contributions(as_printed):
    contributions, _ = end_gauge()
    printed = [as_printed("25"), as_printed("9.7"), as_printed("2.9"), as_printed("16.6")]
    assert [abs(one) for one in contributions] == printed


def test_end_gauge_combined(as_printed):
    contributions, _ = end_gauge()
    assert combine(contributions) == as_printed("32")


def test_end_gauge_comparison_degrees_of_freedom(as_printed):
    # Printed 25.6, from u = 9.7 rounded first; 25.4 unrounded.
    parts, freedom = np.array(COMPARISON[0]), np.array(COMPARISON[1])
    assert 9.7**4 / np.sum(parts**4 / freedom) == as_printed("25.6")
    assert effective_degrees_of_freedom(parts, freedom) == pytest.approx(25.447, abs=5e-4)


def test_end_gauge_expanded(as_printed):
    contributions, freedom = end_gauge()
    effective = effective_degrees_of_freedom(contributions, freedom)
    assert math.floor(effective) == 16
    assert effective == pytest.approx(16.7521475092, rel=1e-4)  # a reference program, with a length of 5e7 nm
    half_width, factor = expanded(combine(contributions), effective)
    assert factor == as_printed("2.17")  # NIST TN 1297, table B.1, 16 degrees of freedom
    assert half_width == pytest.approx(2.17 * combine(contributions), rel=0.003)
    # 93 nm for 99 % with t = 2.92 (H.1.6, from memory; t in the same table)
    assert stats.t.ppf(0.995, 16) * 32.0 == as_printed("93")


# JCGM 100:2008, H.2: resistance and reactance from five sets of readings. [V], [A], [rad]

READINGS = np.array(
    [
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ]
)


def impedance():
    """R, X and Z with their sensitivities to voltage, current and phase."""
    voltage, current, phase = READINGS.mean(axis=1)
    size, cosine, sine = voltage / current, math.cos(phase), math.sin(phase)
    return {
        "R": (size * cosine, np.array([cosine / current, -size * cosine / current, -size * sine])),
        "X": (size * sine, np.array([sine / current, -size * sine / current, size * cosine])),
        "Z": (size, np.array([1.0 / current, -size / current, 0.0])),
    }


def uncertainty_of_readings():
    """Standard uncertainties of the means and their correlation."""
    return READINGS.std(axis=1, ddof=1) / math.sqrt(READINGS.shape[1]), np.corrcoef(READINGS)


def test_impedance_inputs(as_printed):
    # Table H.2
    standard, correlation = uncertainty_of_readings()
    assert list(standard * [1.0, 1e3, 1.0]) == [as_printed("0.0032"), as_printed("0.0095"), as_printed("0.00075")]
    assert list(correlation[[0, 0, 1], [1, 2, 2]]) == [as_printed("-0.36"), as_printed("0.86"), as_printed("-0.65")]


@pytest.mark.parametrize(
    ("name", "value", "standard"), [("R", "127.732", "0.071"), ("X", "219.847", "0.295"), ("Z", "254.260", "0.236")]
)
def test_impedance_from_raw_readings(name, value, standard, as_printed):
    # Tables H.3 and H.4. The guide cuts u(X) short: 0.2956 unrounded, as JCGM 102:2011 has it (from memory).
    found, sensitivity = impedance()[name]
    sizes, correlation = uncertainty_of_readings()
    assert found == as_printed(value)
    assert combine(sensitivity * sizes, correlation) == as_printed(standard, cut=name == "X")


@pytest.mark.parametrize(("name", "wrong"), [("R", 0.195), ("X", 0.201), ("Z", 0.204)])
def test_impedance_would_be_wrong_without_correlation(name, wrong):
    # H.2.4 gives these as what comes of leaving the correlations out; from memory
    _, sensitivity = impedance()[name]
    sizes, _ = uncertainty_of_readings()
    assert combine(sensitivity * sizes) == pytest.approx(wrong, abs=5e-4)


def test_impedance_from_rounded_inputs():
    # As a reference program has it to twelve digits, from the rounded figures of table H.2
    voltage, current, phase = 4.999, 0.019661, 1.04446
    contributions = np.array([0.0032, 9.5e-6, 7.5e-4]) * [
        math.cos(phase) / current,
        -voltage * math.cos(phase) / current**2,
        -voltage * math.sin(phase) / current,
    ]
    correlation = [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]]
    assert combine(contributions, correlation) == pytest.approx(0.0699787279884, rel=1e-11)


# JCGM 100:2008, H.3: the thermometer. Table H.6: readings less 20 degC, and corrections. [K]

READING = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]) - 20.0
CORRECTION = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_thermometer_line(as_printed):
    fit = line_covariance(READING, CORRECTION)
    assert fit.intercept == as_printed("0.0029")
    assert fit.slope == as_printed("0.00067")
    assert fit.correlation == as_printed("-0.930")
    assert fit.degrees_of_freedom == 9


def test_thermometer_predicted_correction(as_printed):
    fit = line_covariance(READING, CORRECTION)
    assert fit.line.intercept + 10.0 * fit.line.slope == as_printed("-0.1494")
    assert fit.at(10.0) == as_printed("0.0041")


# NIST Statistical Reference Datasets, Norris (ozone monitors)
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
    339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5,
    778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]  # fmt: skip
NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2,
    999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]  # fmt: skip


def test_line_of_a_certified_data_set():
    # Certified standard deviations of the estimates; from memory
    fit = line_covariance(NORRIS_X, NORRIS_Y)
    assert fit.slope == pytest.approx(0.429796848199937e-3, rel=1e-12)
    assert fit.intercept == pytest.approx(0.232818234301152, rel=1e-12)


def test_the_line_is_surest_in_the_middle_of_its_points():
    fit = line_covariance(READING, CORRECTION)
    mean, count = READING.mean(), READING.size
    at_mean = fit.line.residual_standard_deviation / math.sqrt(count)
    assert fit.at(mean) == pytest.approx(at_mean, rel=1e-9)
    assert np.all(fit.at(mean + np.array([-2.0, -0.5, 0.5, 2.0])) > at_mean)
    assert fit.at(0.0) == pytest.approx(fit.intercept, rel=1e-12)


def test_two_points_tell_nothing_of_their_scatter():
    fit = line_covariance([0.0, 1.0], [0.0, 2.0])
    assert fit.degrees_of_freedom == 0
    assert math.isnan(fit.slope) and math.isnan(fit.intercept) and math.isnan(fit.correlation)
    assert math.isnan(fit.at(0.5))


# Degrees of freedom


def test_three_inputs_of_the_guide(as_printed):
    # JCGM 100:2008, G.4.1, example: relative contributions in per cent from 10, 5 and 15 readings; from memory,
    # and the results follow from them
    contributions, freedom = [0.25, 0.57, 0.82], [9, 4, 14]
    assert combine(contributions) == as_printed("1.03")
    assert effective_degrees_of_freedom(contributions, freedom) == as_printed("19.0")


def test_one_estimate_and_one_exact_limit(as_printed):
    # A course example carried by a reference program: 0.57 with 9 degrees of freedom, 0.25 taken as exact; 12.8
    assert effective_degrees_of_freedom([0.57, 0.25], [9, math.inf]) == as_printed("12.8")


def test_published_weighing(as_printed):
    """EA-4/02 example S2, calibration of a 10 kg weight, from its own inputs [mg], as a published evaluation prints them.

    Certificate of the standard 45 mg with k = 2; drift within 15 mg, eccentricity and buoyancy within 10 mg each;
    three observed differences with the mean 20 mg, whose scatter is the comparator's known 25 mg. The document's
    comparator gives u = 14.4 mg; the evaluation, which pools the three readings with it, prints 14.2 mg.
    Printed: shares 59.6, 8.8, 23.7, 3.9 and 3.9 %, u = 29.1 mg, k = 2.00, U = 58 mg.
    """
    of_standard = half_width_to_standard(45.0, "normal")
    assert of_standard == as_printed("22.5")
    limits = [half_width_to_standard(limit, "rectangular") for limit in (15.0, 10.0, 10.0)]
    assert limits == [as_printed("8.66"), as_printed("5.77"), as_printed("5.77")]
    of_comparator = 25.0 / math.sqrt(3)
    assert of_comparator == as_printed("14.4")
    half_width, factor = expanded(combine([of_standard, of_comparator, *limits]), math.inf)
    assert (factor, half_width) == (2.0, pytest.approx(58.0, abs=0.6))
    pooled = [of_standard, limits[0], 14.2, *limits[1:]]
    assert combine(pooled) == as_printed("29.1")
    shares = 100.0 * np.square(pooled) / combine(pooled) ** 2
    assert shares == pytest.approx([59.6, 8.8, 23.7, 3.9, 3.9], abs=0.06)
    assert expanded(combine(pooled), 122)[0] == as_printed("59")  # the evaluation, which takes k = 2.00: 58


@given(SIZES, st.data())
def test_effective_degrees_of_freedom_lie_between_the_least_and_the_sum(sizes, data):
    count = len(sizes)
    freedom = data.draw(st.lists(st.floats(1.0, 1e4), min_size=count, max_size=count))
    effective = effective_degrees_of_freedom(sizes, freedom)
    assert min(freedom) * (1.0 - 1e-9) <= effective <= sum(freedom) * (1.0 + 1e-9)


@given(st.floats(1e-3, 1e3), st.integers(1, 200), st.integers(0, 6))
def test_one_contribution_keeps_its_degrees_of_freedom(size, freedom, others):
    effective = effective_degrees_of_freedom([size, *[0.0] * others], [freedom, *[3] * others])
    assert effective == pytest.approx(freedom, rel=1e-12)
    assert expanded(1.0, effective)[1] == expanded(1.0, freedom)[1]


@given(SIZES)
def test_exact_limits_have_infinite_degrees_of_freedom(sizes):
    assert effective_degrees_of_freedom(sizes, [math.inf] * len(sizes)) == math.inf


@given(SIZES, st.floats(0.1, 10.0), st.floats(1.0, 100.0))
def test_the_unit_does_not_matter(sizes, scale, freedom):
    plain = effective_degrees_of_freedom(sizes, [freedom] * len(sizes))
    scaled = effective_degrees_of_freedom(-scale * np.array(sizes), [freedom] * len(sizes))
    assert scaled == pytest.approx(plain, rel=1e-9)


def test_what_is_missing_stays_missing():
    assert math.isnan(effective_degrees_of_freedom([1.0, math.nan], [3, 4]))
    assert math.isnan(combine([1.0, math.nan]))
    assert math.isnan(combine([1.0, math.nan], np.eye(2)))
    assert all(map(math.isnan, expanded(1.0, math.nan)))


def test_nothing_contributes_nothing():
    assert combine([]) == 0.0
    assert effective_degrees_of_freedom([0.0, 0.0], [3, 4]) == math.inf


def test_degrees_of_freedom_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="above 0"):
        effective_degrees_of_freedom([1.0], [0.0])
    with pytest.raises(ValueError, match="above 0"):
        effective_degrees_of_freedom([1.0], [math.nan])
    with pytest.raises(ValueError, match="each contribution"):
        effective_degrees_of_freedom([1.0, 2.0], [3.0])
    with pytest.raises(ValueError, match="standard uncertainty"):
        expanded(-1.0, 3.0)


# Correlation


@given(SIZES)
def test_no_correlation_is_the_root_sum_of_squares(sizes):
    assert combine(sizes, np.eye(len(sizes))) == pytest.approx(combine(sizes), rel=1e-12)


@given(SIZES)
def test_full_correlation_adds(sizes):
    # JCGM 100:2008, 5.2.2, note 1
    assert combine(sizes, np.ones((len(sizes), len(sizes)))) == pytest.approx(sum(sizes), rel=1e-9)


@given(st.floats(0.1, 10.0))
def test_opposite_effects_of_one_error_cancel(size):
    assert combine([size, -size], np.ones((2, 2))) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    "matrix",
    [
        np.eye(3), [[1.0, 0.5], [0.4, 1.0]], [[2.0, 0.0], [0.0, 1.0]],
        [[1.0, 1.5], [1.5, 1.0]],
    ],
)  # fmt: skip
def test_matrices_that_are_no_correlation_are_refused(matrix):
    with pytest.raises(ValueError, match="correlat"):
        combine([1.0, 2.0], matrix)


# Rounding


@pytest.mark.parametrize(
    ("value", "uncertainty", "upward", "printed"),
    [
        (10.05762, 0.027, False, ("10.058", "0.027")),  # JCGM 100:2008, 7.2.6
        (0.0, 10.47e-3, True, ("0.000", "0.011")),  # the same: 10.47 mohm rounded up to 11 mohm
        (0.0, 28.05, False, ("0", "28")),  # the same: 28.05 kHz rounded down to 28 kHz
        (100.02147, 0.00035, False, ("100.02147", "0.00035")),  # 7.2.2 and 7.2.4: 100.021 47(35) g, from memory
        (127.732, 0.071, False, ("127.732", "0.071")),
        (0.7, 0.0996, False, ("0.70", "0.10")),
        (5.0, 9.91, True, ("5", "10")),
        (56789.0, 1234.0, False, ("56800", "1200")),
        (-0.001, 0.27, False, ("0.00", "0.27")),
        (1.5, 0.30000000000000004, True, ("1.50", "0.30")),
    ],
)
def test_rounded_together(value, uncertainty, upward, printed):
    assert round_with(value, uncertainty, upward=upward) == printed


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6), st.integers(1, 3), st.booleans())
def test_rounding_loses_at_most_a_part_of_the_last_digit(value, uncertainty, significant, upward):
    text, shown = round_with(value, uncertainty, significant=significant, upward=upward)
    last_digit = 10.0 ** -decimals_for(float(shown), significant)
    assert abs(float(text) - value) <= 0.5 * last_digit * (1.0 + 1e-6) + 1e-15 * abs(value)
    drop = uncertainty - float(shown)
    assert -last_digit * (1.0 + 1e-6) <= drop <= (1e-6 if upward else 0.5 + 1e-6) * last_digit


@given(st.floats(1e-9, 1e9), st.integers(1, 4))
def test_as_many_digits_as_asked(uncertainty, significant):
    _, shown = round_with(0.0, uncertainty, significant=significant)
    assert len(shown.replace(".", "").lstrip("0").rstrip("0") or "0") <= significant
    assert f"{float(shown):.{significant - 1}e}" == f"{uncertainty:.{significant - 1}e}"


@pytest.mark.parametrize("uncertainty", [0.0, -1.0, math.nan, math.inf])
def test_an_uncertainty_that_cannot_be_printed_is_refused(uncertainty):
    with pytest.raises(ValueError, match="uncertainty"):
        round_with(1.0, uncertainty)


def test_a_value_that_cannot_be_printed_is_refused():
    with pytest.raises(ValueError, match="value"):
        round_with(math.nan, 1.0)
    with pytest.raises(ValueError, match="significant"):
        decimals_for(1.0, 0)
