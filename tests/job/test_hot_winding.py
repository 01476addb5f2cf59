from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
import yaml
from bench import Bench

from certgen.commands.schema import schema_text
from certgen.document.build import Reader
from certgen.document.source import Problems
from certgen.job.load import load_job
from certgen.job.model import HEAT_RUN_COLUMNS, HOT_WINDING, HotWinding
from certgen.readings.model import COOLING
from certgen.readings.read import read_readings

pytestmark = pytest.mark.slow

SERIES = "{columns: {time: min, winding_resistance: ohm}, rows: [[0.5, 8.640], [1, 8.590]], ambient: 22 degC}"
ICE = 273.15


def read(text: str) -> tuple[HotWinding | None, Problems]:
    problems = Problems()
    reader = Reader("job.yaml", Path(), problems)
    found: HotWinding | None = HOT_WINDING.read(yaml.compose(text), reader, "readings.winding.hot")
    return found, problems


def test_one_reading() -> None:
    found, problems = read("{resistance: 8.6 ohm, after: 25 s, ambient: 22 degC}")
    assert not problems.found
    assert found is not None
    assert (found.resistance, found.after, found.ambient, found.series) == (8.6, 25.0, pytest.approx(ICE + 22.0), None)


def test_several_readings() -> None:
    found, problems = read(SERIES)
    assert not problems.found
    assert found is not None
    assert found.resistance is None
    assert found.ambient == pytest.approx(ICE + 22.0)
    assert found.series is not None
    assert found.series.names == {"time", "winding_resistance"}
    assert len(found.series.rows or ()) == 2


@pytest.mark.parametrize("text", ["8.6 ohm", "[8.6 ohm]", "{columns: 3, rows: [[1]]}", "{rows: [[1, 2]]}"])
def test_what_is_neither_is_a_mistake(text: str) -> None:
    found, problems = read(text)
    assert problems.found
    assert found is None or found.series is None


def with_heat(bench: Bench) -> Path:
    more = (
        "  winding: {cold: {resistance: 7 ohm, temperature: 21 degC}, hot: " + SERIES + "}\n"
        "  heat_run: {load: 115 %, columns: {time: min, frame_temperature: degC}, rows: [[0, 21], [30, 40]]}\n"
    )
    return bench.edit("job", {"criteria: iec": more + "criteria: iec"}).write()


def test_the_series_is_a_table_in_si(bench: Bench) -> None:
    problems = Problems()
    loaded = load_job(with_heat(bench), problems)
    assert loaded is not None
    readings = read_readings(loaded)
    assert not problems.found
    assert readings is not None
    assert readings.others[COOLING].column("time").tolist() == [30.0, 60.0]
    assert readings.others[COOLING].column("winding_resistance") == pytest.approx([8.64, 8.59])
    assert loaded.job.readings.heat_run is not None
    assert loaded.job.readings.heat_run.also.load == pytest.approx(1.15)
    assert not [key for key in loaded.not_evaluated if not key.startswith("rig:")]


def test_the_schema_takes_both_forms_and_no_mixture(bench: Bench) -> None:
    job = yaml.safe_load(with_heat(bench).read_text(encoding="utf-8"))
    job["certificate"]["tested_on"] = "2026-03-14"
    schema = json.loads(schema_text("job"))
    jsonschema.validate(job, schema)
    job["readings"]["winding"]["hot"] = {"resistance": "8.6 ohm", "after": "25 s"}
    jsonschema.validate(job, schema)
    job["readings"]["winding"]["hot"]["columns"] = {"time": "s"}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(job, schema)


def test_a_column_a_heat_run_has_no_use_for_is_told_as_kept() -> None:
    kept = {name for name, kind in HEAT_RUN_COLUMNS.items() if not kind.evaluated}
    assert {"brake_voltage", "voltage"} <= kept
    assert not kept & {"time", "frame_temperature", "winding_temperature", "ambient_temperature", "current", "torque"}
