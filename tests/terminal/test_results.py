"""What ``certgen check`` prints of an assessed test."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest
from bench import Bench

from certgen.messages.catalogue import Message, text_of
from certgen.pipeline import assess_job
from certgen.quantity import Quantity
from certgen.results.model import Evidence, Limits, Results, ScopeItem
from certgen.terminal.lines import figure
from certgen.terminal.results import results_text

pytestmark = pytest.mark.slow


@pytest.fixture
def results(bench: Bench) -> Results:
    columns = {"{speed: rpm": "{brake_voltage: V, speed: rpm"}
    bench.edit("job", {**columns, "[1492": "[0, 1492", "[1458": "[8, 1458", "[1420": "[12, 1420"}).write()
    return assess_job(Path("motor/job.yaml")).results


def lines(results: Results, units: str = "si") -> list[str]:
    return results_text(results, "motor/job.yaml", units).splitlines()


def below(heading: str, printed: list[str]) -> list[str]:
    """The indented lines below the line that begins with a heading."""
    start = next(index for index, line in enumerate(printed) if line.startswith(heading)) + 1
    end = next((index for index in range(start, len(printed)) if not printed[index].startswith("  ")), len(printed))
    return [line.strip() for line in printed[start:end]]


def of(results: Results, **verdict: object) -> Results:
    """The same results with another verdict."""
    return dataclasses.replace(results, verdict=dataclasses.replace(results.verdict, **verdict))  # type: ignore[arg-type]


def scope(insulation: str) -> tuple[ScopeItem, ...]:
    return (
        ScopeItem("nameplate", "met", Message("scope.checks", kept=4, count=4)),
        ScopeItem("insulation", insulation),
        ScopeItem("winding_temperature", "not tested"),
        ScopeItem("service_factor", "reached", Message("scope.held", time=360.0)),
        ScopeItem("starting", "not declared"),
    )


def test_headline_scope_and_reasons_come_first(results: Results) -> None:
    printed = lines(of(results, outcome="fail", headline=Message("headline.fail"), scope=scope("met")))
    assert printed[0] == "motor/job.yaml: Fail"
    assert printed[1] == (
        "  Scope: nameplate met, 4 of 4 checks; insulation met; winding temperature NOT TESTED; "
        "service factor reached, held 6 min; starting not declared."
    )
    assert printed[2 : 2 + len(results.verdict.reasons)] == [f"  {reason}" for reason in results.verdict.reasons]


@pytest.mark.parametrize("outcome", ["pass", "conditional pass"])
def test_a_pass_whose_insulation_was_never_measured_says_so_beside_it(results: Results, outcome: str) -> None:
    headline = Message(f"headline.{outcome.replace(' ', '_')}")
    printed = lines(of(results, outcome=outcome, headline=headline, scope=scope("not tested")))
    assert printed[0] == f"motor/job.yaml: {headline}"
    assert printed[1].startswith(f"  {headline}, load test only; insulation NOT TESTED; nameplate met, 4 of 4 checks;")


def test_what_the_shaft_gave_is_printed_large_in_the_units_of_the_job(results: Results) -> None:
    power = Quantity(168.6, "W", 1.2)
    headline = Message("headline.rated_at_current", power=power, current=Quantity(2.3, "A"))
    rated = of(results, outcome="no verdict", kind="no plate", headline=headline)
    for units, printed in (
        ("si", "Bench-rated 169 W at 2.3 A"),
        ("us", "Bench-rated 0.226 hp at 2.3 A"),
        ("both", "Bench-rated 169 W (0.226 hp) at 2.3 A"),
    ):
        assert lines(rated, units)[0] == f"motor/job.yaml: {printed}"


def test_the_likely_mistake_stands_before_scope_and_reasons_and_once(results: Results) -> None:
    message = Message("evidence.unit_suspected", factor=2.2046, cell=Message("cell.torque"))
    unit = Evidence(
        "unit_suspected", "load_test", None, message, Message("slip.pounds_for_kilograms"), effect="no verdict"
    )
    row = dataclasses.replace(unit, id="row", message=Message("evidence.every_row"), suggests=None, effect="caps")
    note = dataclasses.replace(row, message=Message("evidence.row", row=3), effect="note")
    verdict = of(results, outcome="no verdict", kind="readings", headline=Message("headline.no_verdict"))
    verdict = of(verdict, reasons=(message,), scope=scope("met"))
    printed = lines(dataclasses.replace(verdict, plausibility=(note, row, unit)))
    told = "One factor, 2.205, would explain every row of torque."
    assert printed[:3] == [
        "motor/job.yaml: No verdict",
        f"  {told} Pounds written as kilograms?",
        "  every row",
    ]
    assert printed[3].startswith("  Scope: ")
    assert sum(told in line for line in printed) == 1
    assert below("noted in the readings:", printed) == ["row 3"]


def test_every_finding_caution_and_gap_has_a_line_of_its_own(results: Results) -> None:
    printed = lines(results)
    findings = below("findings", printed)
    made = [one for one in results.findings if one.outcome != "not tested"]
    told = [line for line in findings if not line.startswith("not tested: ")]
    assert [line.split(", ")[0] for line in told] == [f"{one.outcome}: {one.title}" for one in made]
    assert all(line.endswith(f"[{one.source}]") for line, one in zip(told, made, strict=True))
    assert below("cautions:", printed) == [f"{one.text} ({one.because})" for one in results.cautions]
    assert below("not computed:", printed) == list(map(str, results.conditions.missing))
    assert below("recorded, not evaluated:", printed) == list(results.conditions.not_evaluated)


def test_keys_without_use_are_named(results: Results) -> None:
    assert "readings.load_test.columns.brake_voltage" in below("recorded, not evaluated:", lines(results))


def test_a_point_is_told_with_what_is_known_of_it(results: Results) -> None:
    point = results.at_rated_current
    assert point is not None
    (line,) = [line for line in lines(results) if line.startswith("  at rated current: ")]
    assert f"speed {point.speed.value * 30.0 / math.pi:.0f}"[:-1] in line
    assert f"current {point.current.value:.2f} A (set)" in line
    unknown = dataclasses.replace(results, at_rated_current=dataclasses.replace(point, efficiency=None))
    (line,) = [line for line in lines(unknown) if line.startswith("  at rated current: ")]
    assert "efficiency" not in line
    assert "(extrapolated)" not in line


def test_an_extrapolated_point_says_so(results: Results) -> None:
    point = dataclasses.replace(results.points[0], flags=("extrapolated",))
    (line,) = [
        line
        for line in lines(dataclasses.replace(results, at_rated_current=point))
        if line.startswith("  at rated current: ")
    ]
    assert line.endswith("(extrapolated)")


def test_findings_that_could_not_be_made_take_one_line(results: Results) -> None:
    first, second = results.findings[:2]
    findings = [dataclasses.replace(one, measured=None, outcome="not tested") for one in (first, second)]
    printed = below("findings", lines(dataclasses.replace(results, findings=tuple(findings))))
    assert printed == [f"not tested: {first.title}, {second.title}"]


def test_what_was_not_measured_and_what_is_not_required_is_said_so(results: Results) -> None:
    finding = dataclasses.replace(results.findings[0], measured=None, required=None, note="", outcome="pass")
    printed = below("findings", lines(dataclasses.replace(results, findings=(finding,))))
    assert printed == [f"pass: {finding.title}, not measured [{finding.source}]"]


@pytest.mark.parametrize(
    ("item", "name", "si", "us"),
    [
        (Quantity(10.05, "N*m", 0.16), "torque", "10.05 ± 0.16 N·m", "7.41 ± 0.12 lbf·ft"),
        (Quantity(746.0, "W", 15.0), "shaft_power", "746 ± 15 W", "1.000 ± 0.020 hp"),
        (Quantity(746.0, "W", 15.0), "electrical_power", "746 ± 15 W", "746 ± 15 W"),
        (Quantity(0.8251, "1", 0.0099), "efficiency", "82.51 ± 0.99 %", "82.51 ± 0.99 %"),
        (Quantity(149.5, "rad/s", 0.18), "speed", "1427.6 ± 1.7 rpm", "1427.6 ± 1.7 rpm"),
        (Quantity(59.0, "K", 1.7), "rise", "59.0 ± 1.7 K", "59.0 ± 1.7 K"),
        (Quantity(2.9e8, "ohm", 1.2e7), "", "290 ± 12 MΩ", "290 ± 12 MΩ"),
        (Quantity(2.5, "A", 0.1, 2.0, assumed=True), "current", "2.50 ± 0.10 A (assumed)", "2.50 ± 0.10 A (assumed)"),
        (Quantity(2.5, "A", assumed=True), "current", "2.50 A", "2.50 A"),
    ],
)
def test_a_figure_is_printed_as_the_page_prints_it(item: Quantity, name: str, si: str, us: str) -> None:
    """Figures converted by NIST SP 811 (2008), Appendix B: 1 lbf ft = 1.355818 N m, 1 hp (550 ft lbf/s) = 745.6999 W."""
    assert text_of(figure(item, name), units="si") == si
    assert text_of(figure(item, name), units="us") == us


@pytest.mark.parametrize(("units", "printed"), [("si", "0.00310 ± 0.00012 kg·m²"), ("us", "0.0736 ± 0.0028 lb·ft²")])
def test_an_inertia_has_the_unit_of_the_reader_and_the_digits_of_its_uncertainty(units: str, printed: str) -> None:
    """1 lb·ft² = 0.04214011 kg·m²: NIST Special Publication 811 (2008), appendix B.8."""
    assert text_of(
        Message("terminal.run_down.inertia_found", inertia=Quantity(0.0031, "kg*m^2", 0.00012)), units=units
    ) == (f"inertia {printed}, from the braked run")


def test_limits_stand_in_the_unit_of_what_was_measured(results: Results) -> None:
    finding = dataclasses.replace(
        results.findings[0], id="power", title="Power", unit="W", measured=1492.0, required=Limits(low=1350.0)
    )
    finding = dataclasses.replace(finding, expanded_uncertainty=15.0, false_decision_probability=None, note="")
    shown = dataclasses.replace(results, findings=(finding,))
    (metric,), (customary,) = (below("findings", lines(shown, units)) for units in ("si", "us"))
    assert "1.492 ± 0.015 kW, required at least 1.35 kW" in metric
    assert "2.001 ± 0.020 hp, required at least 1.81 hp" in customary
