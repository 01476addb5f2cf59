"""The exact circuit against Kirchhoff's laws, the law of energy and a search for the breakdown point."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from certgen.physics.equivalent_circuit import Circuit, breakdown, solve

pytestmark = pytest.mark.slow

# Data of C. I. Hubert, Electric Machines, ch. 5, ex. 5.2, p. 180
MOTOR = Circuit(
    stator_resistance=0.2,
    stator_reactance=1.2,
    rotor_resistance=0.25,
    rotor_reactance=1.29,
    magnetizing_reactance=42.0,
    core_resistance=317.0,
    poles=6,
    frequency=60.0,
    friction_windage=166.0,
)

ohms = st.floats(0.01, 10.0)
circuits = st.builds(
    Circuit,
    stator_resistance=ohms,
    stator_reactance=ohms,
    rotor_resistance=ohms,
    rotor_reactance=ohms,
    magnetizing_reactance=st.floats(10.0, 500.0),
    core_resistance=st.none() | st.floats(50.0, 1e4),
    poles=st.sampled_from([2, 4, 6, 8]),
    frequency=st.sampled_from([50.0, 60.0]),
    friction_windage=st.floats(0.0, 500.0),
)
voltages = st.floats(10.0, 1000.0)
slips = st.floats(-1.0, 2.0)


@given(circuits, voltages, slips.filter(lambda share: abs(share) > 1e-3))
def test_currents_satisfy_kirchhoff(circuit, voltage, share):
    # The three branches as a linear system in the currents of stator, core, magnetizing and rotor branch
    z_stator = complex(circuit.stator_resistance, circuit.stator_reactance)
    z_rotor = complex(circuit.rotor_resistance / share, circuit.rotor_reactance)
    z_core = 1e12 if circuit.core_resistance is None else circuit.core_resistance
    z_magnetizing = 1j * circuit.magnetizing_reactance
    laws = np.array(
        [
            [1, -1, -1, -1],
            [z_stator, z_core, 0, 0],
            [0, z_core, -z_magnetizing, 0],
            [0, 0, z_magnetizing, -z_rotor],
        ]
    )
    i_stator, i_core, _, i_rotor = np.linalg.solve(laws, np.array([0, voltage, 0, 0], dtype=complex))
    point = solve(circuit, voltage, share)
    assert point.stator_current == pytest.approx(abs(i_stator), rel=1e-8)
    assert point.rotor_current == pytest.approx(abs(i_rotor), rel=1e-8)
    assert point.input_power == pytest.approx(3 * (voltage * i_stator).real, rel=1e-8, abs=1e-6 * voltage**2)
    assert point.rotor_loss == pytest.approx(3 * abs(i_rotor) ** 2 * circuit.rotor_resistance, rel=1e-8)
    if circuit.core_resistance is not None:
        assert point.core_loss == pytest.approx(3 * abs(i_core) ** 2 * circuit.core_resistance, rel=1e-8)


@given(circuits, voltages, slips)
def test_the_energy_is_kept(circuit, voltage, share):
    point = solve(circuit, voltage, share)
    friction = 0.0 if share == 1.0 else circuit.friction_windage
    lost = point.stator_loss + point.core_loss + point.rotor_loss + friction
    size = point.stator_loss + point.core_loss + abs(point.air_gap_power) * 3 + friction
    assert point.shaft_power + lost == pytest.approx(point.input_power, abs=1e-9 * size)
    assert min(point.stator_loss, point.core_loss, point.rotor_loss) >= 0.0
    speed = circuit.field_speed * (1 - share)
    assert point.torque * speed == pytest.approx(point.mechanical_power, rel=1e-9, abs=1e-9 * size)
    assert point.shaft_torque * speed == pytest.approx(point.shaft_power, rel=1e-9, abs=1e-9 * size)


@given(circuits, voltages, st.floats(1e-4, 1.0))
def test_a_motor_gives_less_than_it_takes(circuit, voltage, share):
    point = solve(circuit, voltage, share)
    assert 0.0 < point.power_factor <= 1.0
    assert point.efficiency < 1.0
    assert point.torque > 0.0


@given(circuits, voltages)
def test_breakdown_is_the_top_of_the_curve(circuit, voltage):
    slip, torque = breakdown(circuit, voltage)
    assert solve(circuit, voltage, slip).torque == pytest.approx(torque, rel=1e-9)
    around = solve(circuit, voltage, slip * np.array([0.2, 0.5, 0.99, 1.01, 2.0, 5.0])).torque
    assert np.all(around < torque)


def test_breakdown_agrees_with_a_search_for_the_maximum():
    found = optimize.minimize_scalar(
        lambda share: -solve(MOTOR, 265.6, share).torque,
        bounds=(0.001, 1.0),
        method="bounded",
        options={"xatol": 1e-10},
    )
    slip, torque = breakdown(MOTOR, 265.6)
    assert slip == pytest.approx(found.x, rel=1e-6)
    assert torque == pytest.approx(-found.fun, rel=1e-12)


@given(circuits, voltages, slips, st.floats(0.5, 2.0))
def test_currents_go_with_the_voltage_and_torque_with_its_square(circuit, voltage, share, factor):
    once, scaled = solve(circuit, voltage, share), solve(circuit, factor * voltage, share)
    assert scaled.stator_current == pytest.approx(factor * once.stator_current, rel=1e-9)
    assert scaled.torque == pytest.approx(factor**2 * once.torque, rel=1e-9, abs=1e-12)
    assert scaled.power_factor == pytest.approx(once.power_factor, rel=1e-9, abs=1e-12)


def test_synchronous_speed_carries_no_rotor_current():
    point = solve(MOTOR, 265.6, 0.0)
    assert point.rotor_current == point.rotor_loss == point.torque == point.mechanical_power == 0.0
    assert point.shaft_power == -166.0  # somebody else turns it
    assert point.input_power == pytest.approx(point.stator_loss + point.core_loss, rel=1e-12)


def test_standstill_has_no_friction():
    point = solve(MOTOR, 265.6, 1.0)
    assert point.shaft_power == 0.0
    assert point.shaft_torque == point.torque > 0.0
    assert point.efficiency == 0.0


def test_no_voltage_no_ratio():
    point = solve(MOTOR, 0.0, 0.02)
    assert point.stator_current == point.input_power == 0.0
    assert math.isnan(point.power_factor)
    assert math.isnan(point.efficiency)


def test_arrays_go_point_by_point_and_nan_stays_nan():
    shares = np.array([0.0, 0.02, 1.0, math.nan])
    together = dataclasses.asdict(solve(MOTOR, 265.6, shares))
    for place, share in enumerate(shares):
        alone = dataclasses.asdict(solve(MOTOR, 265.6, float(share)))
        for name, value in alone.items():
            assert type(value) is float, name
            np.testing.assert_allclose(together[name][place], value, rtol=1e-13, err_msg=name)
    assert all(math.isnan(values[-1]) for values in together.values())


def test_voltage_may_be_an_array_too():
    voltage = np.array([100.0, 200.0, math.nan])
    torque = solve(MOTOR, voltage, 0.02).torque
    np.testing.assert_allclose(torque[1], 4 * torque[0], rtol=1e-12)
    assert math.isnan(torque[2])


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"stator_resistance": -0.1}, "stator resistance must not be below 0"),
        ({"stator_reactance": -0.1}, "stator reactance must not be below 0"),
        ({"rotor_resistance": 0.0}, "rotor resistance must be above 0"),
        ({"rotor_reactance": -0.1}, "rotor reactance must not be below 0"),
        ({"magnetizing_reactance": 0.0}, "magnetizing reactance must be above 0"),
        ({"core_resistance": 0.0}, "core resistance must be above 0"),
        ({"poles": 3}, "poles must be an even whole number"),
        ({"frequency": 0.0}, "frequency must be above 0"),
        ({"friction_windage": -1.0}, "friction windage must not be below 0"),
    ],
)
def test_impossible_circuits_are_refused(change, message):
    with pytest.raises(ValueError, match=message):
        dataclasses.replace(MOTOR, **change)


def test_a_circuit_of_rotor_resistance_alone_has_no_breakdown():
    bare = dataclasses.replace(
        MOTOR, stator_resistance=0.0, stator_reactance=0.0, rotor_reactance=0.0, core_resistance=None
    )
    with pytest.raises(ValueError, match="no breakdown torque"):
        breakdown(bare, 230.0)
