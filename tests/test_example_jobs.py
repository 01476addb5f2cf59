"""Every example job is issued on either paper, in every choice of units, and says what its README says of it."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from certgen.cli import main
from certgen.pipeline import assess_job
from certgen.results.serialization import as_json

pytestmark = pytest.mark.slow

FOLDER = Path(__file__).parent.parent / "example_jobs"
JOBS = sorted(FOLDER.glob("*/job.yaml"))
#: Width and height of the papers. [pt]
PAPERS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}


def name(path: Path) -> str:
    return path.parent.name


def test_there_are_six_at_least():
    assert len(JOBS) >= 6


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize("job", JOBS, ids=name)
def test_it_is_issued_on_one_page(job, paper, units, tmp_path, capsys):
    status = main(["issue", str(job), "--out", str(tmp_path), "--paper", paper, "--units", units])
    assert status == 0
    (sheet,) = tmp_path.glob("*.pdf")
    assert capsys.readouterr().out.startswith(f"{sheet}: ")
    reader = PdfReader(io.BytesIO(sheet.read_bytes()))
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(PAPERS[paper], abs=0.01)
    assert sheet.stem in reader.pages[0].extract_text()


@pytest.mark.parametrize("job", JOBS, ids=name)
def test_same_job_same_bytes(job, tmp_path, capsys):
    for folder in ("first", "second"):
        (tmp_path / folder).mkdir()
        assert main(["issue", str(job), "--out", str(tmp_path / folder), "--results", str(tmp_path / folder)]) == 0
    first, second = (sorted((tmp_path / folder).iterdir()) for folder in ("first", "second"))
    assert [path.name for path in first] == [path.name for path in second]
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


@pytest.mark.parametrize("job", JOBS, ids=name)
def test_what_its_readme_says_comes_of_it(job):
    table = (FOLDER / "README.md").read_text(encoding="utf-8")
    row = re.search(rf"^\| \[{name(job)}\]\([^)]*\) \|(.*?)\|(.*?)\|$", table, flags=re.MULTILINE)
    assert row is not None, f"{name(job)} is not in example_jobs/README.md"
    outcome = assess_job(job).results.verdict.outcome
    said = row[2]
    words = {"fails": "fail", "no verdict": "no verdict", "conditional pass": "conditional pass", "passes": "pass"}
    assert outcome == next(expected for word, expected in words.items() if word in said)


@pytest.mark.parametrize("job", JOBS, ids=name)
def test_losses_and_shaft_power_add_up_to_input_power(job):
    results = json.loads(as_json(assess_job(job).results))
    for point in results["points"]:
        if point["losses"] is not None:
            total = point["losses"]["value"] + point["shaft_power"]["value"]
            assert total == pytest.approx(point["input_power"]["value"])
            assert point["efficiency"]["value"] < 1.0


def results_of(folder: str):
    return assess_job(FOLDER / folder / "job.yaml").results


def test_the_mistyped_row_is_named_with_what_it_should_read():
    results = results_of("mistyped_row")
    (entry,) = results.plausibility
    assert (entry.table, entry.row, entry.message.values["cell"].key) == ("load_test", 4, "cell.scale")
    assert entry.suggests is not None
    assert entry.suggests.key == "slip.digits_exchanged"
    assert entry.suggests.values["implied"].value == pytest.approx(1.239, abs=0.005)  # as the generator made it


def test_a_home_bench_is_told_what_its_shaft_gives():
    """The motor was made for 1/4 hp at 4.2 A on 115 V: that lies within what the bench says of it."""
    results = results_of("home_bench")
    assert (results.verdict.kind, results.verdict.headline.key) == ("no plate", "headline.rated_at_current")
    power = results.assessed_rating.power
    assert power.assumed
    assert abs(power.value - 0.25 * 745.6998715822702) < power.expanded_uncertainty


def test_a_low_supply_is_corrected_by_name_and_far_figures_are_left_out():
    results = results_of("low_supply")
    findings = {one.id: one for one in results.findings}
    assert results.verdict.headline.key == "headline.pass_in_part"
    slip = findings["slip_at_rated_power"]
    assert "400 V" in str(slip.note)
    true = 1 - 1426.58 / 1500.0  # of the motor as it was made, at 400 V and a winding at 85 degC
    assert slip.measured == pytest.approx(true, abs=slip.expanded_uncertainty)
    assert findings["efficiency_at_rated_power"].outcome == "not tested"


def test_a_shunt_motor_is_held_to_the_speed_row_of_its_field():
    speed = next(one for one in results_of("shunt_motor").findings if one.id.startswith("speed"))
    assert "shunt" in str(speed.source)
    # IEC 60034-1, Table 20, speed of dc motors, from memory: 15 % below 0.67 kW for each 1000 rpm
    assert speed.required.low == pytest.approx(0.85 * speed.declared)


def test_a_cracked_cowl_leaves_a_conditional_pass_and_stands_on_the_page():
    results = results_of("inspected_motor")
    assert "cowl cracked" in str(results.verdict.reasons[0])
    assert results.as_found.windings.unbalance.value < 0.02
    assert not any(caution.do_not_energise for caution in results.cautions)


def test_an_unearthed_frame_fails_a_motor_that_meets_its_plate():
    results = results_of("unsafe_as_found")
    assert {item.state for item in results.verdict.scope if item.subject == "nameplate"} == {"met"}
    assert {one.id for one in results.findings if one.outcome == "fail"} == {"inspection_frame_earth", "safety_bond"}
    assert any(caution.do_not_energise for caution in results.cautions)


@pytest.mark.parametrize(
    ("job", "said"),
    [
        ("shunt_motor", "Never open the field of this motor"),
        ("permanent_magnet_dc", "Turning the shaft of this motor makes voltage"),
        ("universal_motor", "Never run this motor without load"),
    ],
)
def test_a_motor_with_commutator_is_warned_of_by_its_excitation(job, said):
    told = [str(one.text) for one in results_of(job).cautions]
    assert sum(text.startswith(said) for text in told) == 1
    assert not any("If series wound" in text for text in told)


def test_a_rise_without_a_class_on_the_plate_was_measured_and_has_no_limit():
    for job in ("unmarked_motor", "unmarked_rated"):
        results = results_of(job)
        assert results.thermal.winding_rise.value > 40.0
        assert {one.subject: one.state for one in results.verdict.scope}["winding_temperature"] == "not declared"
