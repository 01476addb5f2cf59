from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from certgen.pipeline import assess_job
from certgen.results.serialization import as_json, as_tree
from certgen.starter import make_starter

QUANTITY = {"value", "unit", "expanded_uncertainty", "coverage_factor", "assumed"}


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    folder = tmp_path_factory.mktemp("starter")
    make_starter(folder)
    return assess_job(folder / "motor_1" / "job.yaml").results


def test_top_level_follows_the_contract(results):
    assert set(as_tree(results)) == {
        "certificate", "motor", "nameplate", "points", "curves", "characteristic", "at_rated_current",
        "at_rated_power", "at_service_factor", "at_rated_speed", "losses", "thermal", "assessed_rating", "findings",
        "verdict", "cautions", "budget", "traceability", "conditions", "insulation", "comparisons", "readings",
        "sweep", "run_down", "log", "as_found", "plausibility", "format",
    }  # fmt: skip


def test_json_is_the_tree_of_the_python_object(results):
    assert json.loads(as_json(results)) == as_tree(results)


def test_quantities_are_value_unit_and_uncertainty(results):
    point = as_tree(results)["points"][2]
    assert set(point["torque"]) == QUANTITY
    assert point["torque"]["unit"] == "N*m"
    assert point["speed"]["value"] == pytest.approx(1441 * math.pi / 30)
    assert point["torque"]["expanded_uncertainty"] > 0.0
    assert point["torque"]["assumed"] is True  # the starter's rig states no accuracies
    assert point["temperature"] is None


def test_the_plate_is_written_in_si_with_its_units(results):
    plate = as_tree(results)["nameplate"]
    assert plate["power"] == {"value": 750.0, "unit": "W", "expanded_uncertainty": None, "coverage_factor": None}
    assert plate["poles"] is None
    assert as_tree(results)["certificate"]["tested_on"] == "2026-01-31"


def test_not_a_number_never_reaches_the_file(results):
    assert "NaN" not in as_json(results)
    assert "Infinity" not in as_json(results)


def test_inputs_are_digested(results):
    inputs = as_tree(results)["traceability"]["inputs"]
    assert set(inputs) == {"job.yaml", "../rigs/arm_brake.yaml", "../shop.yaml"}
    assert all(len(digest) == 64 for digest in inputs.values())


def test_the_same_job_gives_the_same_text(tmp_path: Path):
    make_starter(tmp_path)
    first, second = (as_json(assess_job(tmp_path / "motor_1" / "job.yaml").results) for _ in range(2))
    assert first == second
