"""What a standard on insulation binds: its least rating, its classes, and field windings read alone."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench import FILES, Bench
from builders import figures_of, make_job, make_readings, make_rig

from certgen.assessment.cautions import cautions_of
from certgen.assessment.insulation import insulation_findings
from certgen.document.source import Problems
from certgen.job.load import load_job
from certgen.job.model import Insulation
from certgen.reduction.reduce import reduce_test
from certgen.results.insulation import insulation_figures
from certgen.results.model import Caution, Finding

M, ICE = 1e6, 273.15


def judged(read: Insulation, kind: str = "three-phase induction", **plate) -> tuple[dict[str, Finding], list[Caution]]:
    job = make_job(kind, **{"voltage": 400.0, "power": 1500.0, **plate})
    job = replace(job, decision_rule="simple", readings=replace(job.readings, insulation=read))
    reduction = reduce_test(job, make_rig(), make_readings(speed=[150.0, 149.0], torque=[0.1, 5.0]))
    findings = insulation_findings(job, insulation_figures(job, reduction))
    told = cautions_of(job, make_rig(), reduction, figures_of(job, make_rig(), reduction), findings)
    return {one.id: one for one in findings}, list(told)


def read_at_40(at_1: float, at_10: float | None = None, **keys) -> Insulation:
    return Insulation(500.0, at_1, at_10, ICE + 40.0, **keys)


@pytest.mark.parametrize(
    ("power", "source"),
    [
        (1500.0, "IEEE Std 43-2013, 12.3"),
        (750.0, "IEEE Std 43-2013, 12.3"),
        (370.0, "common practice, no source (as IEEE Std 43-2013, 12.3, which begins at 750 W)"),
    ],
)
def test_below_the_scope_of_the_standard_it_is_common_practice(power: float, source: str) -> None:
    """IEEE Std 43 begins at 750 W (transcat.com on the edition of 2000)."""
    assert str(judged(read_at_40(100 * M), power=power)[0]["insulation"].source) == source


@pytest.mark.parametrize("letter", ["A", "B", "F", "H", "E", "N", None])
def test_a_low_index_warns_whatever_the_class(letter: str | None) -> None:
    findings, cautions = judged(read_at_40(100 * M, 50 * M), insulation_class=letter)
    one = findings["polarization_index"]
    assert (one.outcome, one.decides) == ("fail", False)
    assert str(cautions[0].text).startswith("The insulation may be damp or dirty")
    assert str(cautions[0].because) == "polarization index 0.5"


@pytest.mark.parametrize("voltage", [220.0, 1200.0])
@pytest.mark.parametrize(
    ("winding", "why"),
    [("whole motor", "may not apply to an armature"), ("field winding", "insulated field windings alone")],
)
def test_armatures_and_fields_have_rows_of_their_own_for_the_index(voltage: float, winding: str, why: str) -> None:
    """IEEE Std 43, 12.2, from memory: a commutator lies bare, a field winding may be bare copper."""
    read = read_at_40(300 * M, 360 * M, winding=winding)
    one = judged(read, "dc", voltage=voltage, insulation_class="F")[0]["polarization_index"]
    assert (one.outcome, one.decides) == ("fail", False)
    assert why in str(one.note)
    cage = judged(read_at_40(300 * M, 360 * M), voltage=1200.0, insulation_class="F")[0]["polarization_index"]
    assert (cage.outcome, cage.decides, cage.note) == ("fail", True, "")


def test_a_low_index_warns_beside_a_reading_that_cannot_be_judged() -> None:
    read = Insulation(500.0, 100 * M, 50 * M, None)
    texts = [str(one.text) for one in judged(read)[1]]
    assert texts[0].startswith("The insulation reading could not be judged")
    assert texts[1].startswith("The insulation may be damp or dirty")


def test_a_field_winding_has_a_row_of_its_own_and_does_not_speak_for_the_motor() -> None:
    """Rated kilovolts plus 1 Mohm, windings of any age: IEEE Std 43, from memory."""
    low = judged(read_at_40(1.3 * M, winding="field winding"), "dc", voltage=440.0)[0]["insulation"]
    assert low.required.low == pytest.approx(1.44 * M)
    assert low.outcome == "fail"
    high = judged(read_at_40(20 * M, winding="field winding"), "dc", voltage=440.0)[0]["insulation"]
    assert high.outcome == "not tested"
    assert "only the field winding was measured" in str(high.note)
    assert judged(read_at_40(20 * M), "dc", voltage=440.0)[0]["insulation"].outcome == "pass"


def test_an_induction_motor_has_no_field_winding(bench: Bench) -> None:
    written = "910 Mohm, temperature: 21 degC"
    bench.start("full").edit("job", {written: f"{written}, winding: field winding"})
    bench.write()
    problems = Problems()
    load_job(FILES["job"], problems)
    assert [str(one) for one in problems.found] == [
        "motor/job.yaml:44:104: readings.insulation.winding: a motor of type 'three-phase induction' has no field winding "
        "to be read alone; remove it, or write 'whole motor'."
    ]
