from __future__ import annotations

import math

import numpy as np
import pytest
from builders import findings_of, fine_rig, known_supply, make_job, make_readings, make_rig, verdict_on

from certgen.assessment.insulation import RESISTANCE
from certgen.assessment.verdict import rating_to_state
from certgen.quantity import Quantity
from certgen.reduction.reduce import reduce_test
from certgen.results.model import AssessedRating, Finding
from certgen.standards.criteria import shipped_criteria

IEC = shipped_criteria("iec-60034-1")
RPM = math.pi / 30.0
PLATE = {"power": 1500.0, "current": 3.4, "frequency": 50.0, "speed": 1420 * RPM, "poles": 4, "efficiency": 0.80}


def verdict(plate, *, last=None, watts=1.0):
    speed = np.array([1493, 1459, 1441, 1421, 1396]) * RPM
    torque = np.array([0.03, 5.1, 7.6, 10.1, 12.6])
    taken = torque * speed + np.array([150, 205, 260, 340, 450])
    taken[-1] *= watts
    columns = {"speed": speed, "torque": torque, "current": np.array([1.9, 2.5, 2.95, 3.4, 4.05]), "input_power": taken}
    columns["winding_temperature"] = np.full(5, 273.15 + 75.0)
    columns = {name: values[:last] for name, values in columns.items()}
    job = make_job(conditions=known_supply(), **plate)
    reduction = reduce_test(job, fine_rig(), make_readings(**columns))
    return verdict_on(job, reduction, findings_of(job, reduction, IEC))


def texts(found):
    return [str(reason) for reason in found.reasons]


def test_a_sound_motor_passes_and_says_how_much_was_compared():
    found = verdict(PLATE)
    assert found.outcome == "pass"
    assert texts(found) == ["Meets its nameplate: 3 of 3 checks."]


def test_a_failure_names_the_quantity_and_by_how_much():
    found = verdict({**PLATE, "efficiency": 0.88})
    assert found.outcome == "fail"
    assert texts(found) == ["Efficiency at rated power is 5.4 % below the lowest allowed."]


def test_an_empty_plate_gets_no_pass():
    found = verdict({})
    assert (found.outcome, found.kind) == ("no verdict", "no plate")
    assert "nothing to judge against" in texts(found)[0]


def test_a_motor_not_loaded_to_its_rating_gets_no_pass():
    found = verdict(PLATE, last=3)
    assert (found.outcome, found.kind) == ("no verdict", "not at rating")
    assert texts(found)[0].startswith("The motor was not judged at its rating: rated power is outside")


def test_an_impossible_point_takes_the_statement_away_even_from_a_motor_that_fails():
    found = verdict({**PLATE, "efficiency": 0.88}, watts=0.5)
    assert (found.outcome, found.kind) == ("no verdict", "readings")
    assert "1 of 5 load points" in texts(found)[0]


def test_what_was_not_tested_stands_beside_a_pass():
    found = verdict({**PLATE, "power_factor": 0.79})
    assert found.outcome == "pass"
    assert texts(found)[1] == "Not tested: Power factor at rated power."


@pytest.mark.parametrize("plate", [{"voltage": 400.0}, {"frequency": 50.0, "poles": 4}])
def test_a_plate_without_rating_is_as_good_as_empty(plate):
    found = verdict(plate)
    assert (found.outcome, found.kind) == ("no verdict", "no plate")


RATING = AssessedRating(words="a rating", power=Quantity(1500.0, "W"), power_label="1.5 kW")


def points(*, watts=1000.0, torque=10.0):
    columns = {"speed": [1490 * RPM, 1400 * RPM], "torque": [0.1, torque], "input_power": [200.0, 2.0 * watts]}
    return reduce_test(make_job(), make_rig(), make_readings(**columns)).points


def test_a_rating_is_stated_where_nothing_speaks_against_motor_and_readings():
    assert rating_to_state(RATING, points(), ()) is RATING
    assert rating_to_state(None, points(watts=1.0), ()) is None


@pytest.mark.parametrize(
    ("readings", "findings", "words"),
    [
        ({}, (Finding(RESISTANCE, "x", "fail", "ohm"),), "once the insulation is put right"),
        ({}, (Finding("supply_voltage", "x", "not tested", "V"),), "on a supply fit to run a motor on"),
        ({"watts": 1.0}, (), "more power than it took in"),
        ({"torque": -10.0}, (), "these readings are impossible"),
    ],
)
def test_a_motor_or_a_test_that_is_unfit_gets_no_rating(readings, findings, words):
    withheld = rating_to_state(RATING, points(**readings), findings)
    assert (withheld.power, withheld.power_label, withheld.basis) == (None, "", ())
    assert str(withheld.words).startswith("No rating was assessed")
    assert len(withheld.to_measure) == 1
    assert words in str(withheld.to_measure[0])
