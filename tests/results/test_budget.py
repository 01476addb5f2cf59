"""The budget a laboratory checks: every line can be worked out again from what it states."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from certgen.pipeline import assess_job
from certgen.terminal.budget import budget_text

EXAMPLES = Path(__file__).parents[2] / "example_jobs"


@pytest.fixture(scope="module")
def results():
    return assess_job(EXAMPLES / "three_phase_full_plate" / "job.yaml").results


def line_of(results, quantity, cause):
    return next(one for one in results.budget if one.quantity == quantity and str(one.input).startswith(cause))


def test_every_line_is_half_width_over_divisor_times_sensitivity(results):
    """JCGM 100:2008, 7.2.7, and EA-4/02 M:2022, section 6: estimate, half-width, distribution, divisor, u, c, contribution.

    Errors of single rows have a sensitivity of all rows together, so that no line is left out.
    """
    assert results.budget
    for line in results.budget:
        assert line.estimate is not None
        if line.half_width is not None:
            assert line.standard_uncertainty == pytest.approx(line.half_width / line.divisor, rel=1e-6)
        assert line.contribution == pytest.approx(abs(line.sensitivity) * line.standard_uncertainty, rel=1e-4)


@pytest.mark.parametrize("quantity", ["shaft_power", "torque", "efficiency"])
def test_the_squares_of_the_contributions_are_the_uncertainty_on_the_page(results, quantity):
    """JCGM 100:2008, 5.1.2."""
    lines = [line for line in results.budget if line.quantity == quantity]
    item = getattr(results.at_rated_current, quantity)
    total = math.sqrt(sum(line.contribution**2 for line in lines))
    assert total == pytest.approx(item.expanded_uncertainty / item.coverage_factor, rel=1e-5)
    assert sum(line.share for line in lines) == pytest.approx(1.0, abs=1e-6)


def test_a_meter_is_named_with_its_reading_its_range_and_its_limit_there(results):
    """By hand from the rig file: 0.5 % of 3.34 A and 0.1 % of its range of 10 A; 0.5 % of reading and 0.1 % of 6 kW."""
    amps = line_of(results, "shaft_power", "ammeter accuracy")
    assert (amps.estimate, amps.unit, amps.full_scale) == (3.34, "A", 10.0)
    assert amps.half_width == pytest.approx(0.005 * 3.34 + 0.001 * 10.0)
    assert amps.divisor == pytest.approx(math.sqrt(3.0))
    watts = line_of(results, "efficiency", "wattmeter accuracy")
    assert (watts.unit, watts.full_scale) == ("W", 6000.0)
    assert watts.half_width == pytest.approx(0.005 * watts.estimate + 0.001 * 6000.0)
    # Efficiency is output over input: its sensitivity to the watts is -efficiency / input.
    efficiency = results.at_rated_current.efficiency.value
    assert watts.sensitivity == pytest.approx(-efficiency / watts.estimate, rel=1e-3)


def test_a_certificates_uncertainty_is_divided_by_its_factor(results):
    line = line_of(results, "shaft_power", "scale calibration, slope")
    assert (line.distribution, line.divisor) == ("normal", 2.0)
    assert line.half_width == pytest.approx(2.0 * line.standard_uncertainty)


def test_the_terminal_prints_them(results):
    headings = budget_text(results).splitlines()[1].split("  ")
    assert [one.strip() for one in headings if one.strip()] == [
        "input", "estimate", "range", "half-width", "distribution", "divisor", "standard", "freedom", "sensitivity",
        "contribution", "share",
    ]  # fmt: skip
