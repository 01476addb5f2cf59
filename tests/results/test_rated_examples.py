"""The example jobs without a plate, and the one tested twice, from their files to what is said of them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from certgen.pipeline import assess_job
from certgen.results.model import Results
from certgen.terminal.results import results_text

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[2] / "example_jobs"


@cache
def results_of(name: str) -> Results:
    return assess_job(EXAMPLES / name / "job.yaml").results


def test_the_unmarked_motor_measured_for_it_gets_a_rating_and_no_pass():
    results = results_of("unmarked_rated")
    rating = results.assessed_rating
    assert rating.power_label == "0.37 kW"
    assert rating.to_measure == ()
    assert (results.verdict.outcome, results.verdict.kind) == ("no verdict", "no plate")
    assert str(results.verdict.headline) == "Bench-rated 0.37 kW"
    assert str(results.verdict.reasons[1]) == (
        "Rating assessed by this bench, not a maker's rating: 0.37 kW, limited by the heat run."
    )


def test_the_rating_keeps_every_limit_it_names():
    """IEC 60034-1: 12.1, 1.6 times rated torque in reserve; Table 8, class A below 600 W, 65 K, from memory.

    Lowest usual full-load speed of a small four-pole motor at 50 Hz, from memory: 1300 rpm.
    """
    results = results_of("unmarked_rated")
    rating, breakdown = results.assessed_rating, results.characteristic.breakdown_torque
    assert rating.torque.value * 1.6 <= breakdown.value
    assert rating.speed.value >= 1300 * 3.14159265 / 30
    assert rating.power.value == pytest.approx(370.0)
    assert results.thermal.winding_rise.value < 65.0
    assert results.thermal.steady
    assert max(point.shaft_power.value for point in results.points) > rating.power.value


def test_the_unmarked_motor_not_measured_for_it_gets_none_and_says_what_it_takes():
    results = results_of("unmarked_motor")
    rating = results.assessed_rating
    assert rating.power is None
    assert [str(one).split(":")[0].split(",")[0] for one in rating.to_measure] == [
        "the load of the heat run",
        "the load test past breakdown",
    ]
    assert any(
        one.startswith("Assessed rating: still to measure: the load of the heat run")
        for one in map(str, results.conditions.missing)
    )
    assert "No rating was assessed by this bench" in str(results.verdict.reasons[1])


@pytest.mark.parametrize("name", ["three_phase_full_plate", "worn_rotor", "universal_motor", "one_point_test"])
def test_a_motor_with_its_rating_on_the_plate_is_given_no_other(name):
    assert results_of(name).assessed_rating is None


def test_the_repair_stands_beside_the_test_before_it():
    (comparison,) = results_of("renewed_rotor").comparisons
    found = {str(one.title): (one.first, one.second) for one in comparison.differences}
    assert len(found) == 11
    for title in ("Slip at rated power", "Current at rated power", "No-load current"):
        assert found[title][1] < found[title][0], title
    for title in ("Efficiency at rated power", "Shaft power at rated current"):
        assert found[title][1] > found[title][0], title
    assert comparison.note is None
    assert results_of("worn_rotor").comparisons == ()


def test_what_is_told_in_the_terminal():
    rated, repaired = (results_text(results_of(name), name) for name in ("unmarked_rated", "renewed_rotor"))
    assert "assessed rating: Rating assessed by this bench, not a maker's rating\n  0.37 kW: power 370.0 W" in rated
    assert "  limited by the heat run\n" in rated
    assert "  still to measure: the load of the heat run" in results_text(results_of("unmarked_motor"), "job")
    assert "Before and after (PMB-2026-0049, 2026-05-28 / PMB-2026-0063, 2026-07-15):" in repaired
    assert "Speed regulation 9.9 % from rated load to no load" in results_text(results_of("permanent_magnet_dc"), "job")


def test_each_kind_is_told_by_its_own_cautions():
    kinds = {
        "universal_motor": {"no_load_speed", "commutation"},
        "permanent_magnet_dc": {"generates", "commutation"},
        "capacitor_start_us_units": {"start_winding", "capacitor"},
        "three_phase_full_plate": set(),
    }
    every = set().union(*kinds.values())
    for name, wanted in kinds.items():
        assert {one.id for one in results_of(name).cautions} & every == wanted, name


def test_a_geared_motor_is_told_at_its_output_shaft():
    titles = {one.id: str(one.title) for one in results_of("geared_motor").findings}
    assert titles["power_at_rated_current"] == "Shaft power at rated current, at the output shaft"
    assert titles["torque_at_rated_current"].endswith(", at the output shaft")
    assert titles["current_at_rated_power"] == "Current at rated power"
    assert titles["slip_at_rated_power"] == "Slip at rated power"
