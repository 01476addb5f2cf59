"""What ``certgen check --budget`` prints."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from bench import Bench
from sheet.results_factory import make_results, with_uncertainties

from certgen.cli import main
from certgen.terminal.budget import budget_text

pytestmark = pytest.mark.slow

HEADINGS = [
    "input", "estimate", "range", "half-width", "distribution", "divisor", "standard", "freedom", "sensitivity",
    "contribution", "share",
]  # fmt: skip
#: Everything the bench's rig must say for uncertainties to be known.
STATED = {
    "tare_torque: 0.03 N*m": """tare_torque: {value: 0.03 N*m, tolerance: 0.01 N*m}
tachometer: {tolerance: 1 rpm}
meters:
  voltage: {reading: 0.5 %, resolution: 1 V}
  current: {reading: 0.5 %, resolution: 0.01 A}
  input_power: {reading: 0.5 %, resolution: 1 W}
""",
}


def table(printed: str, quantity: str) -> list[list[str]]:
    """The cells of one budget, without its heading line."""
    lines = printed.splitlines()
    start = next(index for index, line in enumerate(lines) if line.startswith(f"uncertainty budget of {quantity}, "))
    rows = []
    for line in lines[start + 1 :]:
        if not line.startswith("  "):
            break
        rows.append(re.split(r" {2,}", line.strip()))
    return rows


def test_every_line_of_power_torque_and_efficiency_is_told() -> None:
    results = with_uncertainties(make_results())
    printed = budget_text(results)
    assert results.at_rated_current is not None
    power = results.at_rated_current.shaft_power
    assert power is not None
    assert printed.splitlines()[0] == (
        f"uncertainty budget of shaft power, at rated current, in SI: {power.value:.6g} W, "
        f"standard uncertainty {power.expanded_uncertainty / 2.0:.3g}, expanded {power.expanded_uncertainty:.3g} "
        "(k = 2.00):"
    )
    for quantity, count in (("shaft power", 4), ("torque", 1), ("efficiency", 3)):
        rows = table(printed, quantity)
        assert rows[0] == HEADINGS
        assert len(rows) == 1 + count
    first = table(printed, "shaft power")[1]
    assert first == [
        "scale calibration",
        "0.5 m",
        "0.00052 m",
        "rectangular",
        "1.73",
        "0.0003 m",
        "infinite",
        "1.575e+04",
        "4.72 W",
        "62.0 %",
    ]


def test_few_degrees_of_freedom_are_told_and_a_missing_estimate_is_left_empty() -> None:
    results = with_uncertainties(make_results(2))
    line = replace(results.budget[0], degrees_of_freedom=3.0, estimate=None)
    printed = budget_text(replace(results, budget=(line,)))
    assert "at" not in table(printed, "shaft power")[1]
    assert "load point 2" in printed.splitlines()[0]
    assert table(printed, "shaft power")[1][:5] == ["scale calibration", "0.00052 m", "rectangular", "1.73", "0.0003 m"]
    assert table(printed, "shaft power")[1][5] == "3"


def test_without_a_budget_it_says_so() -> None:
    assert budget_text(make_results()).startswith("uncertainty budget: none, as inputs are missing")


def test_check_prints_it_on_request_only(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    bench.edit("rig", STATED).write()
    assert main(["check", "motor/job.yaml"]) == 0
    assert "uncertainty budget" not in capsys.readouterr().out
    assert main(["check", "--budget", "motor/job.yaml"]) == 0
    printed = capsys.readouterr().out
    for quantity in ("shaft power", "torque", "efficiency"):
        rows = table(printed, quantity)
        shares = [float(row[-1].removesuffix(" %")) for row in rows[1:]]
        assert shares == sorted(shares, reverse=True)
        assert sum(shares) == pytest.approx(100.0, abs=0.05 * len(shares))
        standard = float(re.search(rf"of {quantity}.* standard uncertainty (\S+),", printed)[1])
        parts = [float(row[-2].split()[0]) for row in rows[1:]]
        assert math.hypot(*parts) == pytest.approx(standard, rel=0.01)  # each printed with three digits


@pytest.mark.parametrize(
    ("rule", "words", "outcome"),
    [("guarded", "guarded acceptance with guard band w = U", "conditional pass"),
     ("simple", "simple acceptance: a measured value on or within its limit passes", "pass")],
)  # fmt: skip
def test_the_job_chooses_the_decision_rule(
    bench: Bench, capsys: pytest.CaptureFixture[str], rule: str, words: str, outcome: str
) -> None:
    """Efficiency 81.1 % where IEC 60034-1 allows 1 - 1.15 (1 - 0.835) = 81.0 %: nearer than its uncertainty."""
    bench.edit("rig", STATED).edit("job", {"efficiency: 80 %": "efficiency: 83.5 %"}).write()
    path = Path("motor/job.yaml")
    path.write_text(path.read_text(encoding="utf-8") + f"decision_rule: {rule}\n", encoding="utf-8")
    main(["check", str(path)])
    printed = capsys.readouterr().out
    assert printed.startswith(f"{path}: {outcome.capitalize()}\n")
    assert words in printed
    assert main(["check", "--require", "conditional pass", str(path)]) == 0
    assert main(["check", "--require", "pass", str(path)]) == (0 if rule == "simple" else 1)
