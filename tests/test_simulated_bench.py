"""The simulated motors obey their laws, their benches are as honest as they say, and a slip stands where it is said to."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from simulated_tests.bench import Keys, simulated_test
from simulated_tests.catalogue import direct_current, single_phase, three_phase, universal
from simulated_tests.induction import SinglePhaseCage, ThreePhaseCage
from simulated_tests.motor import RPM, Motor, Running
from simulated_tests.plate import at_power, synchronous_speed
from simulated_tests.rig import HOME, LABORATORY, QUALITIES, SHOP
from simulated_tests.slips import CELLS, KINDS, SIGN, TENFOLD, TENTH, slip_in, wrong_unit_in
from simulated_tests.typed_job import TypedTest
from studies.verdict_records import record_of, records_in
from studies.verdict_tables import tables
from studies.verdicts import known_keys
from studies.verdicts import main as verdict_study

from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

HOT = 95.0


def _at(motor: Motor, state: float) -> Running:
    return motor.at(*(np.array(one) for one in (state, motor.voltage, motor.frequency, motor.hot)))


def _rated(make, seed: int) -> tuple[Motor, Running]:
    motor = make(np.random.default_rng(seed), HOT)
    return motor, at_power(motor, motor.power)


@pytest.mark.parametrize("seed", range(6))
def test_a_cage_motor_takes_what_its_resistances_turn_into_heat_and_its_shaft_gives(seed: int) -> None:
    """At its rating, where the core is as saturated as its reactance says: the five branches solved by a linear system."""
    motor, rated = _rated(three_phase, seed)
    assert isinstance(motor, ThreePhaseCage)
    slip = 1.0 - float(rated.speed[0]) / synchronous_speed(motor)
    Z1, Z2 = motor.R1 + 1j * motor.X1, motor.R2 / slip + 1j * motor.X2
    nodes = np.array([  # currents of stator, rotor, core and magnetising branch
        [Z1, Z2, 0, 0], [0, Z2, -motor.Rc, 0], [0, 0, motor.Rc, -1j * motor.Xm], [1, -1, -1, -1],
    ])  # fmt: skip
    stator, rotor, core, _ = np.linalg.solve(nodes, [motor.voltage / np.sqrt(3.0), 0, 0, 0])
    heat = 3.0 * (abs(stator) ** 2 * motor.R1 + abs(rotor) ** 2 * motor.R2 + abs(core) ** 2 * motor.Rc)
    drag = float(rated.losses["friction"][0] + rated.losses["stray"][0])
    assert abs(stator) == pytest.approx(float(rated.current[0]), rel=1e-4)
    assert heat + motor.power + drag == pytest.approx(float(rated.input_power[0]), rel=1e-4)


@pytest.mark.parametrize("seed", range(6))
def test_a_single_phase_motor_takes_what_its_resistances_turn_into_heat_and_its_shaft_gives(seed: int) -> None:
    """Both windings and both rotor circuits as a linear system of currents."""
    motor, rated = _rated(single_phase, seed)
    assert isinstance(motor, SinglePhaseCage)
    slip = 1.0 - float(rated.speed[0]) / synchronous_speed(motor)
    a, half = motor.ratio, 0.5j * motor.Xm
    forward, backward = (0.5 * (motor.R2 / one + 1j * motor.X2) for one in (slip, 2.0 - slip))
    main = motor.R1 + 1j * motor.X1
    other = 1.0  # no auxiliary winding: its current is zero
    if motor.capacitor:
        farads = 2.0 * np.pi * motor.frequency * motor.capacitor
        other = motor.auxiliary + 1j * a**2 * motor.X1 - 1j / farads
    has = 1.0 if motor.capacitor else 0.0
    loops = np.array([  # currents of main, auxiliary, rotor forward, rotor backward
        [main + 2 * half, 0, -half, -half],
        [0, other + has * 2 * a**2 * half, -1j * a * half * has, 1j * a * half * has],
        [-half, 1j * a * half, half + forward, 0],
        [-half, -1j * a * half, 0, half + backward],
    ])  # fmt: skip
    Im, Ia, If, Ib = np.linalg.solve(loops, [motor.voltage, has * motor.voltage, 0, 0])
    copper = abs(Im) ** 2 * motor.R1 + abs(Ia) ** 2 * motor.auxiliary
    bars = 0.5 * motor.R2 * (abs(If) ** 2 + abs(Ib) ** 2)
    moving = 0.5 * motor.R2 * (abs(If) ** 2 * (1 - slip) / slip - abs(Ib) ** 2 * (1 - slip) / (2 - slip))
    assert moving - float(rated.losses["friction"][0]) == pytest.approx(motor.power, rel=1e-4)
    assert copper + bars + moving + motor.core == pytest.approx(float(rated.input_power[0]), rel=1e-4)


def test_a_worked_single_phase_motor() -> None:
    """A. E. Fitzgerald, C. Kingsley Jr., S. D. Umans, Electric Machinery, example 9.2, page 467; its circuit from memory."""
    friction = (
        37.0 / (0.95 * 60.0 * np.pi) / (0.5 + 0.5 * 0.95**2)
    )  # 24 W of core and 13 W of friction, both at the shaft
    motor = SinglePhaseCage(
        "worked", 186.0, 110.0, 60.0, 4, HOT, R1=2.02, X1=2.79, R2=4.12, X2=2.12, Xm=66.8, core=0.0, friction=friction,
    )  # fmt: skip
    running = _at(motor, 0.05)
    assert float(running.speed) == pytest.approx(1710 * RPM)
    assert float(running.current) == pytest.approx(3.6, abs=0.05)
    assert float(running.torque) == pytest.approx(0.823, abs=0.005)
    assert float(running.efficiency) == pytest.approx(0.60, abs=0.005)


@pytest.mark.parametrize("make", [direct_current, universal])
@pytest.mark.parametrize("seed", range(6))
def test_a_commutator_motor_balances_volts_and_watts(make, seed: int) -> None:
    """Kirchhoff's law round the armature, and what torque the flux gives; every law from the motor's own constants."""
    motor, rated = _rated(make, seed)
    field = motor.voltage / motor.shunt if motor.shunt else 0.0
    armature = float(rated.current[0]) - field
    along = np.sqrt(motor.voltage**2 - (armature * motor.reactance) ** 2)
    induced = motor.flux * float(rated.speed[0])  # at its rating the flux is what it is stated for
    assert armature == pytest.approx(motor.rated, rel=1e-4)
    assert along == pytest.approx(induced + armature * motor.resistance + 2.0, rel=1e-4)
    assert float(rated.torque[0]) == pytest.approx(motor.flux * armature - motor.drag, rel=1e-4)
    assert float(rated.input_power[0]) == pytest.approx(along * armature + motor.voltage * field, rel=1e-4)


@pytest.mark.parametrize("quality", QUALITIES)
def test_its_files_are_read_and_judged(quality: str, tmp_path: Path) -> None:
    for seed in range(5):
        results = assess_job(simulated_test(seed, quality=quality).write(tmp_path)).results
        assert results.verdict.outcome
        assert results.points


def _errors(quality: str, tmp_path: Path) -> list[float]:
    """Errors over expanded uncertainties of what was read off at the rating, by tests of four rows and more."""
    found = []
    for seed in range(18):
        test = simulated_test(seed, quality=quality, as_rated=True)
        if len(test.rows) < 4:
            continue
        for one in assess_job(test.write(tmp_path)).results.findings:
            true = test.truth.values.get(one.id)
            if true is not None and one.measured is not None and one.expanded_uncertainty:
                found.append(abs(one.measured - true) / one.expanded_uncertainty)
    return found


@pytest.mark.parametrize("quality", [LABORATORY, SHOP])
def test_the_truth_lies_within_the_uncertainty_where_only_the_instruments_err(quality: str, tmp_path: Path) -> None:
    errors = np.array(_errors(quality, tmp_path))
    assert errors.size > 30
    assert np.mean(errors <= 1.0) >= 0.88  # 95 % are due; findings of one test share its errors
    assert errors.max() < 3.0


def _differ(one: TypedTest, other: TypedTest) -> set[tuple[int, str]]:
    return {(row + 1, name) for row, cells in enumerate(one.rows)
            for column, (name, _) in enumerate(one.columns) if cells[column] != other.rows[row][column]}  # fmt: skip


def test_a_slip_stands_where_it_says() -> None:
    kinds = set()
    tests = [simulated_test(seed) for seed in range(12)]
    for seed in range(96):
        test = tests[seed % 12]
        slip = slip_in(test, seed)
        assert slip is not None
        kinds.add(slip.kind)
        changed = _differ(test, slip.test)
        assert (slip.row, slip.column) in changed
        assert {row for row, _ in changed} == {slip.row}
        assert len(changed) == (2 if slip.kind == CELLS else 1)
        assert slip.sigmas > 0.0
        factor = {TENFOLD: 10.0, TENTH: 0.1, SIGN: -1.0}.get(slip.kind)
        if factor is not None:
            assert float(slip.wrong) == pytest.approx(factor * float(slip.right))
    assert kinds == set(KINDS)


def test_a_wrong_unit_leaves_every_other_column_alone() -> None:
    tests = [simulated_test(seed) for seed in range(10)]
    for seed in range(40):
        test = tests[seed % 10]
        wrong = wrong_unit_in(test, seed)
        if wrong is not None:
            columns = {name for _, name in _differ(test, wrong.test)}
            assert len(columns) <= 2
            assert columns or wrong.test.plate != test.plate


def test_a_home_bench_states_little() -> None:
    rigs = [simulated_test(seed, quality=HOME).rig for seed in range(15)]
    assert sum("tolerance" in one or "reading:" in one for one in rigs) < 12
    assert not any("calibration" in one for one in rigs)


def test_the_tables_of_a_small_study(tmp_path: Path) -> None:
    told = "\n\n".join(tables([record_of(index, 1, Keys(), tmp_path) for index in range(4)]))
    for title in (
        "False passes.",
        "False fails.",
        "False alarms",
        "Slips noticed, by kind.",
        "Silent passes.",
        "One wrong unit.",
    ):
        assert title in told
    assert "Crashes." not in told


def test_a_study_broken_off_goes_on_where_it_stopped(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = tmp_path / "lines.jsonl"
    for motors in (1, 3):
        verdict_study(["--seed", "5", "--workers", "1", "--lines", str(lines), "--motors", str(motors)])
        assert capsys.readouterr().out.startswith(f"{motors} motors, seed 5.")
        with lines.open("a", encoding="utf-8") as file:
            file.write('{"index": 9, "mot')  # the power failed
    kept = records_in(lines)
    assert [one.index for one in kept] == [0, 1, 2]
    assert repr(kept[2]) == repr(record_of(2, 5, known_keys(), tmp_path))
    verdict_study(["--tables", str(lines), str(lines)])
    assert capsys.readouterr().out.startswith("3 motors, seed 5.")
