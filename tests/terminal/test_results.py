"""What ``certgen check`` prints of an assessed test."""

from __future__ import annotations

import dataclasses
import math
import re
from decimal import Decimal
from pathlib import Path

import pytest
from bench import Bench
from hypothesis import given
from hypothesis import strategies as st

from certgen.pipeline import assess_job
from certgen.results.model import Results
from certgen.terminal.results import number, results_text


@pytest.fixture
def results(bench: Bench) -> Results:
    columns = {"{speed: rpm": "{brake_voltage: V, speed: rpm"}
    bench.edit("job", {**columns, "[1492": "[0, 1492", "[1458": "[8, 1458", "[1420": "[12, 1420"}).write()
    return assess_job(Path("motor/job.yaml")).results


def lines(results: Results) -> list[str]:
    return results_text(results, "motor/job.yaml").splitlines()


def below(heading: str, printed: list[str]) -> list[str]:
    """The indented lines below the line that begins with a heading."""
    start = next(index for index, line in enumerate(printed) if line.startswith(heading)) + 1
    end = next((index for index in range(start, len(printed)) if not printed[index].startswith("  ")), len(printed))
    return [line.strip() for line in printed[start:end]]


def test_the_verdict_and_its_reasons_come_first(results: Results) -> None:
    printed = lines(results)
    assert printed[0] == f"motor/job.yaml: {results.verdict.outcome}"
    assert printed[1 : 1 + len(results.verdict.reasons)] == [f"  {reason}" for reason in results.verdict.reasons]


def test_every_finding_caution_and_gap_has_a_line_of_its_own(results: Results) -> None:
    printed = lines(results)
    findings = below("findings", printed)
    assert [line.split(", ")[0] for line in findings] == [f"{one.outcome}: {one.title}" for one in results.findings]
    assert all(line.endswith(f"[{one.source}]") for line, one in zip(findings, results.findings, strict=True))
    assert below("cautions:", printed) == [f"{one.text} ({one.because})" for one in results.cautions]
    assert below("not computed:", printed) == list(map(str, results.conditions.missing))
    assert below("recorded, not evaluated:", printed) == list(results.conditions.not_evaluated)


def test_keys_without_use_are_named(results: Results) -> None:
    assert "readings.load_test.columns.brake_voltage" in below("recorded, not evaluated:", lines(results))


def test_a_point_is_told_with_what_is_known_of_it(results: Results) -> None:
    point = results.at_rated_current
    assert point is not None
    (line,) = [line for line in lines(results) if line.startswith("  at rated current: ")]
    rpm, give_or_take = (size * 30.0 / math.pi for size in (point.speed.value, point.speed.expanded_uncertainty))
    (written,) = re.findall(r"speed ([0-9.]+) ± ([0-9.]+) rpm", line)
    assert [float(size) for size in written] == pytest.approx([rpm, give_or_take], abs=0.06)
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


def test_what_was_not_measured_and_what_is_not_required_is_said_so(results: Results) -> None:
    finding = dataclasses.replace(results.findings[0], measured=None, required=None, note="", outcome="not tested")
    printed = below("findings", lines(dataclasses.replace(results, findings=(finding,))))
    assert printed == [f"not tested: {finding.title}, not measured [{finding.source}]"]


@pytest.mark.parametrize(
    ("value", "unit", "printed"),
    [
        (1500.0, "W", "1500 W"),
        (15004.0, "W", "15000 W"),
        (123456.0, "W", "123500 W"),
        (9.8765, "N*m", "9.877 N*m"),
        (47.0 * math.pi, "rad/s", "1410 rpm"),
        (0.81312, "1", "81.31 %"),
        (1.0, "1", "100 %"),
        (0.0, "A", "0 A"),
        (-0.5, "N*m", "-0.5 N*m"),
        (0.000012345, "A", "0.00001234 A"),
        (400.0, "V", "400 V"),
    ],
)
def test_numbers_have_four_significant_digits_and_no_exponent(value: float, unit: str, printed: str) -> None:
    assert number(value, unit) == printed


@given(value=st.floats(1e-9, 1e9) | st.floats(-1e9, -1e-9))
def test_a_printed_number_is_right_to_half_its_fourth_digit(value: float) -> None:
    printed, unit = number(value, "N*m").split(" ")
    assert unit == "N*m"
    assert "e" not in printed.lower()
    half = Decimal(5).scaleb(math.floor(math.log10(abs(value))) - 4)
    assert abs(Decimal(printed) - Decimal(value)) <= half * Decimal("1.0000001")
