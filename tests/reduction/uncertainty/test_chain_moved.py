"""Every figure's sensitivities against the whole chain run again on readings that were really moved.

The propagation differentiates formulas; here the errors are put into tables, readings and rig, everything is
reduced and judged anew, and the figures are seen to move by as much.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.document.source import Problems
from certgen.job.load import load_job
from certgen.job.model import ColdWinding, Job
from certgen.job.rig import Rig
from certgen.pipeline import assess_job
from certgen.quantity import Quantity
from certgen.readings.model import Readings, Table
from certgen.readings.read import read_readings
from certgen.reduction.reduce import reduce_test
from certgen.reduction.uncertainty.errors import with_table
from certgen.reduction.uncertainty.inputs import uncertain_inputs
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.winding_errors import COLD, HOT, INSULATION, ROOM, single_readings
from certgen.results.compute import compute_figures
from certgen.results.losses import stray_result
from certgen.results.model import Results
from certgen.standards.criteria import shipped_criteria

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[3] / "example_jobs"
FULL = EXAMPLES / "three_phase_full_plate" / "job.yaml"


@dataclass(frozen=True)
class Bench:
    """A job with its tables, as read."""

    job: Job
    rig: Rig
    readings: Readings

    def results(self) -> Results:
        criteria = shipped_criteria(self.job.criteria or "iec-60034-1")
        reduction = reduce_test(self.job, self.rig, self.readings)
        figures = compute_figures(self.job, self.rig, self.readings, reduction, criteria)
        return assess(self.job, self.rig, reduction, figures, criteria=criteria, not_evaluated=(), inputs={})

    def moved(self, one: UncertainInput, error: float, rows: dict[str, int | None]) -> Bench:
        """The same bench with an error: in every table for a shared input, else in one row of one table."""
        measured = Measured(self.rig, self.readings, self.job.conditions.local_gravity)
        perturbed = one.perturb(measured, error)
        others = {name: self._table(one, error, name, rows, table) for name, table in self.readings.others.items()}
        load_test = self._table(one, error, "load_test", rows, self.readings.load_test)
        readings = replace(perturbed.readings if one.shared else self.readings, load_test=load_test, others=others)
        alone = single_readings(self.job)
        tables = {name: self._table(one, error, name, rows, table) for name, table in alone.items()}
        conditions = replace(self.job.conditions, local_gravity=perturbed.local_gravity)
        job = replace(self.job, conditions=conditions) if one.shared else self.job
        return Bench(with_readings(job, tables), perturbed.rig if one.shared else self.rig, readings)

    def _table(self, one: UncertainInput, error: float, name: str, rows: dict[str, int | None], table: Table) -> Table:
        if not (one.columns & table.columns.keys() if one.columns else name in ("load_test", "locked_rotor")):
            return table
        if "time" in one.columns and name != "winding_after_switching_off":
            return table
        measured = Measured(self.rig, self.readings, self.job.conditions.local_gravity)
        changed = one.perturb(with_table(measured, table), error).readings.load_test
        if one.shared:
            return changed
        row = rows.get(name)
        if row is None:
            return table
        here = np.arange(table.rows) == row
        columns = {key: np.where(here, changed.columns[key], values) for key, values in table.columns.items()}
        return replace(table, columns=columns)


def with_readings(job: Job, tables: dict[str, Table]) -> Job:
    """A job with the readings that stand alone put back from their tables."""

    def of(name: str, column: str, row: int = 0) -> float | None:
        value = float(tables[name].column(column)[row]) if name in tables else math.nan
        return value if math.isfinite(value) else None

    winding, insulation = job.readings.winding, job.readings.insulation
    if winding is not None and winding.cold is not None:
        cold = ColdWinding(of(COLD, "winding_resistance"), of(COLD, "winding_temperature"))
        hot = winding.hot
        if hot is not None:
            hot = replace(hot, resistance=of(HOT, "winding_resistance"), ambient=of(HOT, "ambient_temperature"))
        winding = replace(winding, cold=cold, hot=hot)
    if insulation is not None:
        insulation = replace(
            insulation,
            at_1_min=of(INSULATION, "insulation_resistance"),
            at_10_min=of(INSULATION, "insulation_resistance", 1),
            temperature=of(INSULATION, "winding_temperature"),
        )
    readings = replace(job.readings, winding=winding, insulation=insulation)
    return replace(job, readings=readings, conditions=replace(job.conditions, ambient=of(ROOM, "ambient_temperature")))


def load(path: Path) -> Bench:
    loaded = load_job(path, Problems())
    assert loaded is not None
    readings = read_readings(loaded)
    assert readings is not None
    return Bench(loaded.job, loaded.rig, readings)


@pytest.fixture(scope="module")
def bench() -> Bench:
    return load(FULL)


def at(results: Results, path: str) -> Quantity:
    found = results
    for part in path.split("."):
        found = found.losses.at_loads[3] if part == "at_load" else getattr(found, part)
    assert isinstance(found, Quantity)
    return found


FIGURES = (
    "at_load.stator", "at_load.rotor", "at_load.core", "at_load.friction_windage", "at_load.stray",
    "at_load.efficiency", "at_load.input_power", "losses.stray_regression.slope", "losses.stray_regression.intercept",
    "losses.dynamometer_correction", "losses.reference_temperature", "thermal.winding_rise", "thermal.hot_resistance",
    "thermal.final_rise", "thermal.time_constant", "insulation.at_40_degC", "insulation.polarization_index",
    "characteristic.synchronous_speed", "conditions.ambient",
)  # fmt: skip


#: Figures of fits, to which the scatter about the fit adds what the errors of single readings do not explain.
FITTED = (
    "at_load.stray",
    "losses.stray_regression.slope",
    "losses.stray_regression.intercept",
    "thermal.time_constant",
)


def squares_of(bench: Bench, one: UncertainInput) -> dict[str, float]:
    """Square of an input's contribution to each figure, by moving its readings: one row after the other if need be."""
    tables = {"load_test": bench.readings.load_test, **bench.readings.others, **single_readings(bench.job)}
    places: list[dict[str, int | None]] = [{}]
    if not one.shared:
        places = [
            {name: row}
            for name, table in tables.items()
            for row in range(table.rows)
            if (one.columns & table.columns.keys() if one.columns else name == "load_test")
        ]
    found = dict.fromkeys(FIGURES, 0.0)
    for rows in places:
        up, down = (bench.moved(one, sign * 0.2 * one.size, rows).results() for sign in (1.0, -1.0))
        for path in FIGURES:
            found[path] += ((at(up, path).value - at(down, path).value) / 0.4) ** 2
    return found


@dataclass(frozen=True)
class Moved:
    """Squares of standard uncertainties by moving the inputs: those all rows share, and those of single readings."""

    shared: dict[str, float]
    single: dict[str, float]


@pytest.fixture(scope="module")
def moved(bench) -> Moved:
    """Every input moved, the chain run without propagation."""
    found = Moved(dict.fromkeys(FIGURES, 0.0), dict.fromkeys(FIGURES, 0.0))
    inputs = uncertain_inputs(bench.job, Measured(bench.rig, bench.readings, bench.job.conditions.local_gravity))
    with patch("certgen.reduction.reduce.propagate", return_value=None):
        for one in inputs:
            into = found.shared if one.shared else found.single
            for path, square in squares_of(bench, one).items():
                into[path] += square
    return found


@pytest.fixture(scope="module")
def results() -> Results:
    return assess_job(FULL).results


def standard(quantity: Quantity) -> float:
    assert quantity.expanded_uncertainty is not None and quantity.coverage_factor is not None
    return quantity.expanded_uncertainty / quantity.coverage_factor


@pytest.mark.parametrize("path", [path for path in FIGURES if path not in FITTED])
def test_figures_move_as_the_chain_does(path, results, moved):
    # 2 %: the curve is drawn straight between 80 torques, and derivatives of it are taken there
    expected = math.sqrt(moved.shared[path] + moved.single[path])
    assert standard(at(results, path)) == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("name", ["slope", "intercept"])
def test_the_stray_load_line_carries_the_scatter_about_it(name, results, moved, bench):
    """JCGM 100:2008, H.3.2: u(slope) and u(intercept) by the residuals, here from scipy, with n - 2 freedoms."""
    from scipy.stats import linregress

    fit = results.losses.stray_regression
    torque, residual = points_of_line(bench, results)
    line = linregress(torque**2, residual)
    assert line.slope == pytest.approx(fit.slope.value, rel=1e-6)
    by_scatter = line.stderr if name == "slope" else line.intercept_stderr
    path = f"losses.stray_regression.{name}"
    expected = math.sqrt(moved.shared[path] + max(moved.single[path], by_scatter**2))
    assert standard(at(results, path)) == pytest.approx(expected, rel=0.02)


def points_of_line(bench: Bench, results: Results) -> tuple[np.ndarray, np.ndarray]:
    """Torque and residual loss of the load points of the regression, from the program's own chain."""
    with patch("certgen.results.losses.stray_result", wraps=stray_result) as seen:
        bench.results()
    regression = seen.call_args.args[0]
    rows = list(regression.fit.rows)
    return regression.torque[rows], regression.residual[rows]


def test_stray_load_loss_takes_the_scatter_of_the_slope(results, moved):
    by_slope = at(results, "at_load.stray").value / at(results, "losses.stray_regression.slope").value
    path = "losses.stray_regression.slope"
    excess = standard(at(results, path)) ** 2 - moved.shared[path] - moved.single[path]
    plain = moved.shared["at_load.stray"] + moved.single["at_load.stray"]
    expected = math.sqrt(plain + excess * by_slope**2)
    assert standard(at(results, "at_load.stray")) == pytest.approx(expected, rel=0.02)


def test_the_time_constant_carries_the_scatter_of_its_run(results, bench):
    """JCGM 100:2008, 4.2: by the covariance of scipy's fit of the same exponential, n - 3 degrees of freedom."""
    from scipy.optimize import curve_fit
    from scipy.stats import norm, t

    table = bench.readings.others["heat_run"]
    time, rise = table.column("time"), table.column("frame_temperature")

    def heating(at, start, final, constant):
        return final + (start - final) * np.exp(-at / constant)

    fitted, covariance = curve_fit(heating, time, rise, p0=(rise[0], rise[-1], 2000.0))
    quantity = results.thermal.time_constant
    assert quantity.value == pytest.approx(fitted[2], rel=1e-4)
    assert standard(quantity) == pytest.approx(math.sqrt(covariance[2, 2]), rel=0.02)
    freedom = time.size - 3
    assert quantity.coverage_factor == pytest.approx(t.ppf(norm.cdf(2.0), freedom), rel=0.01)
