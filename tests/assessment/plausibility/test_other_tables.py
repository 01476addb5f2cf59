"""Rows of the no-load, locked-rotor and heat-run tables, by published readings and by laws worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from certgen.assessment.plausibility.other_tables import (
    VoltageRows,
    heat_run_rows_off,
    locked_rotor_rows_off,
    no_load_rows_off,
)
from certgen.assessment.plausibility.row_relations import TypedColumn

pytestmark = pytest.mark.slow

#: No-load test of a four-pole 415 V motor, a student laboratory (public MATLAB script, published beside its load test).
VOLTS = np.array([408, 388.2, 373.2, 352.4, 337.4, 310, 282.5, 245, 214, 182.9, 160.5, 138.4])
AMPERES = np.array([1.7, 1.58, 1.5, 1.37, 1.3, 1.17, 1.04, 0.89, 0.78, 0.69, 0.63, 0.59])
WATTS = 1e3 * np.array([0.4, 0.38, 0.36, 0.33, 0.31, 0.28, 0.25, 0.23, 0.2, 0.18, 0.17, 0.16])


def no_load(amperes: np.ndarray = AMPERES, watts: np.ndarray = WATTS, volts: np.ndarray = VOLTS) -> VoltageRows:
    columns = (TypedColumn("voltage", "voltage", volts), TypedColumn("current", "current", amperes),
               TypedColumn("input_power", "input_power", watts))  # fmt: skip
    return VoltageRows(volts, current=amperes, input_power=watts, columns=columns)


def changed(values: np.ndarray, row: int, value: float) -> np.ndarray:
    copy = values.copy()
    copy[row] = value
    return copy


def test_published_no_load_test_is_silent() -> None:
    assert no_load_rows_off(no_load()) == ()


@pytest.mark.parametrize(("row", "by", "slip"), [(4, 10.0, "times_ten"), (6, 0.1, "tenth")])
def test_slip_in_a_published_no_load_test(row: int, by: float, slip: str) -> None:
    found = no_load_rows_off(no_load(amperes=changed(AMPERES, row, AMPERES[row] * by)))
    assert [(each.table, each.row, each.cell, each.slip) for each in found] == [("no_load", row, "current", slip)]
    assert found[0].implied == pytest.approx(AMPERES[row], rel=0.01)


def test_digits_exchanged_in_watts_of_a_published_no_load_test() -> None:
    """310 W typed 130 W."""
    found = no_load_rows_off(no_load(watts=changed(WATTS, 4, 130.0)))
    assert [(each.row, each.cell, each.slip) for each in found] == [(4, "input_power", "digits_exchanged")]


def test_voltage_typed_wrong_at_no_load() -> None:
    """282.5 V typed 28.25 V: current and power both belong to the voltage ten times as high."""
    found = no_load_rows_off(no_load(volts=changed(VOLTS, 6, 28.25)))
    assert [(each.row, each.cell, each.slip) for each in found] == [(6, "voltage", "tenth")]


def locked(scale: np.ndarray | None = None) -> VoltageRows:
    """I = 0.06*U, P = 0.02*U^2, T = 1e-4*U^2 at 60 to 180 V."""
    volts = np.array([60.0, 90.0, 120.0, 150.0, 180.0])
    torque = 1e-4 * volts**2 if scale is None else scale
    return VoltageRows(volts, current=0.06 * volts, input_power=0.02 * volts**2, torque=torque)


def test_locked_rotor() -> None:
    assert locked_rotor_rows_off(locked()) == ()
    volts = np.array([60.0, 90.0, 120.0, 150.0, 180.0])
    found = locked_rotor_rows_off(locked(changed(1e-4 * volts**2, 2, 14.4)))
    assert [(each.table, each.row, each.cell, each.slip) for each in found] == [
        ("locked_rotor", 2, "torque", "times_ten")
    ]
    assert found[0].implied == pytest.approx(1.44, rel=0.01)


def heat() -> tuple[np.ndarray, np.ndarray]:
    """21 degC to 71 degC with a time constant of 30 minutes, read every ten minutes to half a degree."""
    minutes = np.arange(0.0, 130.0, 10.0)
    return minutes * 60.0, np.round(2.0 * (21.0 + 50.0 * (1.0 - np.exp(-minutes / 30.0)))) / 2.0


def test_heat_run() -> None:
    time, temperature = heat()
    assert heat_run_rows_off(time, {"frame_temperature": temperature}) == ()
    assert temperature[6] == 64.0  # 21 + 50*(1 - exp(-2)) = 64.2
    found = heat_run_rows_off(time, {"frame_temperature": changed(temperature, 6, 46.0)})
    assert [(each.table, each.row, each.cell, each.slip) for each in found] == [
        ("heat_run", 6, "frame_temperature", "digits_exchanged")
    ]


def test_a_heat_run_that_is_switched_off_is_silent() -> None:
    """After an hour the motor cools: the readings turn and no single one is off."""
    time, temperature = heat()
    temperature[7:] = 21.0 + (temperature[6] - 21.0) * np.exp(-(time[7:] - time[6]) / 1800.0)
    assert heat_run_rows_off(time, {"frame_temperature": temperature}) == ()


@settings(max_examples=20)
@given(st.permutations(range(12)))
def test_order_does_not_matter(order: list[int]) -> None:
    amperes = changed(AMPERES, 4, 13.0)
    found = no_load_rows_off(no_load(amperes[order], WATTS[order], VOLTS[order]))
    assert [order[each.row] for each in found if each.row is not None] == [4]


anything = st.one_of(st.floats(-1e7, 1e7), st.just(math.nan), st.just(0.0))


@settings(max_examples=80)
@example(
    np.array([
        [1e-150, 1e-160, 1e-160, 9e6, 9e6, 5e-324], [300.0, 1e-150, 1e-150, 1e-160, 1e-160, 1e-160],
        [5e-324, 1e7, 1e-310, 1e-160, 1e-310, -1e7], [1e7, 1e-310, 300.0, 1e-310, 1e-150, 1.0],
    ])
)  # fmt: skip
@given(st.integers(0, 9).flatmap(lambda count: arrays(float, (4, count), elements=anything)))
def test_no_reading_makes_an_error(readings: np.ndarray) -> None:
    volts, amperes, watts, torque = readings
    rows = VoltageRows(volts, current=amperes, input_power=watts, torque=torque)
    no_load_rows_off(rows)
    locked_rotor_rows_off(rows)
    heat_run_rows_off(volts, {"winding_temperature": amperes, "frame_temperature": watts})


def test_sound_tables_are_silent() -> None:
    """600 tables each of random motors within the laws' reach, noise as stated; no more than three flagged of 1800."""
    rng = np.random.default_rng(8)
    flagged = 0
    for _ in range(600):
        volts = np.sort(rng.uniform(0.25, 1.1, int(rng.integers(4, 10))))[::-1] * 400.0
        ratio, count = volts / 400.0, len(volts)
        noise = 1.0 + rng.normal(0.0, 0.004, (5, count))
        current = 2.0 * (ratio + rng.uniform(0.0, 0.4) * ratio**7) * noise[0]
        watts = 100.0 * (rng.uniform(0.1, 0.6) + ratio**2 + rng.uniform(0.0, 0.3) * ratio**6) * noise[1]
        flagged += no_load_rows_off(VoltageRows(volts, current=current, input_power=watts)) != ()
        bend = rng.uniform(0.0, 0.2)
        flagged += (
            locked_rotor_rows_off(
                VoltageRows(
                    volts,
                    current=10.0 * ratio * (1.0 + bend * ratio) * noise[2],
                    input_power=3e3 * ratio**2 * (1.0 + bend * ratio) * noise[3],
                    torque=20.0 * ratio**2 * (1.0 + bend * ratio) * noise[4],
                )
            )
            != ()
        )
        time = np.linspace(0.0, rng.uniform(1.0, 4.0), int(rng.integers(5, 16)))
        temperature = 20.0 + rng.uniform(20.0, 90.0) * (1.0 - np.exp(-time)) + rng.normal(0.0, 0.4, len(time))
        flagged += heat_run_rows_off(3600.0 * time, {"frame_temperature": temperature}) != ()
    assert flagged <= 3
