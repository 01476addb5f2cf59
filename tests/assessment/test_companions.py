"""The tables beside a criteria set: whose temperature rises, losses and supply hold, and what is said of it."""

from __future__ import annotations

import numpy as np
import pytest
from bench import CRITERIA, FILES, Bench
from builders import make_job, make_readings, make_rig

from certgen.assessment.supply import supply_findings
from certgen.errors import InputError
from certgen.issuing.run_sheet import plan_job
from certgen.job.model import Conditions
from certgen.messages.catalogue import Message
from certgen.pipeline import assess_job
from certgen.reduction.reduce import reduce_test
from certgen.results.model import Finding, Results
from certgen.standards.criteria import CriteriaSet, companions_of, shipped_criteria
from certgen.standards.procedures import procedure_of
from certgen.standards.temperature_limits import steady_rule

pytestmark = pytest.mark.slow

BESIDE = "companions: {temperature: nema-mg-1, insulation: ieee-43, supply: nema-mg-1, procedure: ieee-112-b}\n"
FULL = {"  service_factor: 1.15\n": "  insulation_class: F\n", "criteria: iec-60034-1": "criteria: limits.yaml"}


def results_of(bench: Bench, *, beside: str = "") -> Results:
    """A full test judged by a set of the workshop's own."""
    bench.start("full").edit("job", FULL)
    bench.texts["criteria"] = CRITERIA + beside
    bench.write()
    return assess_job(FILES["job"]).results


def tables_taken(results: Results) -> list[Message]:
    return [one for one in results.conditions.method if one.key == "method.tables_not_named"]


@pytest.mark.parametrize(("beside", "standard"), [("", "iec-60034-1"), (BESIDE, "nema-mg-1")])
def test_the_tables_a_set_names_are_those_that_hold(bench: Bench, beside: str, standard: str) -> None:
    thermal = results_of(bench, beside=beside).thermal
    assert thermal is not None
    assert str(thermal.steady_criterion).endswith(f"({steady_rule(standard).source})")
    assert thermal.rise_limit is not None
    title = {"iec-60034-1": "IEC 60034-1", "nema-mg-1": "NEMA MG 1"}[standard]
    assert str(thermal.rise_limit_source).startswith(title)


def test_the_procedure_a_set_names_is_the_one_losses_are_told_apart_by(bench: Bench) -> None:
    ours, theirs = procedure_of("ieee-112-b"), procedure_of("iec-60034-2-1")
    assert ours.copper_constant != theirs.copper_constant
    rise = results_of(bench, beside=BESIDE).thermal.winding_rise.value
    # R hot over R cold times (k + t cold) less k, less the room: IEEE Std 112, k = 234.5; 7.03 to 8.67 ohm, 21 to 22 degC.
    assert rise == pytest.approx(8.67 / 7.03 * (234.5 + 21.0) - 234.5 - 22.0, abs=1e-6)


def test_tables_that_stand_in_are_said(bench: Bench) -> None:
    (said,) = tables_taken(results_of(bench))
    assert str(said) == (
        "Beside Limits of Weir Street, which names no tables of its own: temperature rises of IEC 60034-1, insulation "
        "resistance by IEEE Std 43, supply to run on by IEC 60034-1, losses and winding by IEC 60034-2-1."
    )


def test_nothing_is_said_where_all_are_named(bench: Bench) -> None:
    assert tables_taken(results_of(bench, beside=BESIDE)) == []


# The supply.


def supply(
    volts: float, hertz: float = 50.0, *, kind: str = "three-phase induction", criteria: CriteriaSet
) -> dict[str, Finding]:
    readings = make_readings(
        speed=np.array([156.0, 153.0, 149.0]), torque=np.array([0.1, 5.0, 10.0]), voltage=np.full(3, volts),
        frequency=np.full(3, hertz), current=np.array([1.9, 2.5, 3.4]),
    )  # fmt: skip
    plate = {"voltage": 230.0, "frequency": 50.0, "current": 3.4, "power": 1500.0}
    job = make_job(kind, Conditions(), **plate)
    found = supply_findings(job, reduce_test(job, make_rig(), readings), criteria)
    return {one.id: one for one in found}


def test_a_universal_motor_has_a_voltage_band_of_its_own() -> None:
    """NEMA MG 1, 12.44, from memory: 6 % for universal motors, 10 % for others."""
    nema = shipped_criteria("nema-mg-1")
    for kind, part in (("universal", 0.06), ("single-phase induction", 0.10)):
        one = supply(230.0, kind=kind, criteria=nema)["supply_voltage"]
        assert (one.required.low, one.required.high) == pytest.approx((230 * (1 - part), 230 * (1 + part)))
    assert supply(230.0 * 1.08, kind="universal", criteria=nema)["supply_voltage"].outcome == "fail"
    assert supply(230.0 * 1.08, criteria=nema)["supply_voltage"].outcome == "pass"


@pytest.mark.parametrize(
    ("volts", "hertz", "outcome", "decides"),
    [
        # IEC 60034-1, 7.3: zone A is -5 to +5 % of voltage at rated frequency, its corner at +2 % is cut to -3 %; zone B is
        # -10 %, at +3 % of frequency -7 %.
        (0.96, 1.02, "fail", False),
        (0.98, 1.02, "pass", False),
        (0.92, 1.03, "fail", True),
    ],
)
def test_voltage_and_frequency_off_together_are_held_by_the_zones(
    volts: float, hertz: float, outcome: str, decides: bool
) -> None:
    one = supply(230.0 * volts, 50.0 * hertz, criteria=shipped_criteria("iec-60034-1"))["supply_combined"]
    assert (one.outcome, one.decides) == (outcome, decides)
    assert one.measured == pytest.approx(volts - 1.0)


def test_a_frequency_beyond_zone_a_is_told_by_itself() -> None:
    found = supply(230.0 * 0.94, 50.0 * 1.03, criteria=shipped_criteria("iec-60034-1"))
    assert found["supply_frequency"].outcome == "fail"
    assert "supply_combined" not in found


def test_at_rated_frequency_there_is_nothing_off_together() -> None:
    assert "supply_combined" not in supply(225.0, criteria=shipped_criteria("iec-60034-1"))


def test_the_supply_of_a_set_is_that_of_its_companion() -> None:
    assert companions_of(shipped_criteria("nema-mg-1")).supply == "nema-mg-1"


@pytest.mark.parametrize(
    ("beside", "loads", "rise"),
    [("", "IEC 60034-2-1 (2014)", "IEC 60034-1"), (BESIDE, "IEEE Std 112, method B (2017)", "NEMA MG 1")],
)
def test_a_plan_goes_by_the_tables_its_set_names(bench: Bench, beside: str, loads: str, rise: str) -> None:
    """Whatever the set is called: a shop's own set may rest on either standard."""
    bench.start("full").edit("job", FULL)
    bench.texts["criteria"] = CRITERIA + beside
    bench.write()
    plan = plan_job(FILES["job"]).plan
    assert str(plan.loads_source).startswith(loads)
    assert any(rise in str(stop.basis) for stop in plan.stops)
    assert "limits.yaml" in plan.inputs


def test_a_plan_tells_a_mistake_in_its_criteria(bench: Bench) -> None:
    bench.start("full").edit("job", FULL)
    bench.texts["criteria"] = CRITERIA.replace("title:", "titel:", 1)
    bench.write()
    with pytest.raises(InputError, match="titel: unknown key"):
        plan_job(FILES["job"])
