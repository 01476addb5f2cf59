from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.winding import resistance_at, resistance_between_lines, temperature_by_resistance

ICE = 273.15
resistances = st.floats(1e-4, 1e4)
temperatures = st.floats(230.0, 480.0)
constants = st.sampled_from([225.0, 234.5, 235.0])


@pytest.mark.parametrize(
    ("cold", "alpha_form", "copper"), [(7.786941721, 10.06462, 10.08172), (18.39606061, 23.77691, 23.8173)]
)
def test_two_small_motors_from_20_to_95_degrees(cold, alpha_form, copper):
    """Inputs of a thesis (D. Barrantes, TFG_ingenieria_electronica, prueba_dc.m; R at 20 degC, alpha 0.0039 /K).

    Its results are not printed. Both forms were worked out by hand: R (1 + alpha dt), which is this law with
    k = 1/alpha - 20, and k = 234.5.
    """
    by_alpha = resistance_at(cold, 20.0 + ICE, 95.0 + ICE, constant=1.0 / 0.0039 - 20.0)
    by_copper = resistance_at(cold, 20.0 + ICE, 95.0 + ICE, constant=234.5)
    assert by_alpha == pytest.approx(alpha_form, abs=0.5e-5)
    assert by_copper == pytest.approx(copper, abs=0.5e-5)
    assert by_copper / by_alpha - 1.0 == pytest.approx(0.0017, abs=0.5e-4)


def test_armature_of_a_library_machine_at_95_degrees():
    """Modelica Standard Library, DCPM_withLosses: 0.03864 ohm at 20 degC, alpha 0.00392; 500 W at 100 A, 95 degC."""
    warm = resistance_at(0.03864, 20.0 + ICE, 95.0 + ICE, constant=1.0 / 0.00392 - 20.0)
    assert 100.0**2 * warm == pytest.approx(500.0, abs=0.5)


@given(resistances, temperatures, temperatures, constants)
def test_there_and_back(resistance, first, second, constant):
    there = resistance_at(resistance, first, second, constant=constant)
    assert resistance_at(there, second, first, constant=constant) == pytest.approx(resistance)
    assert temperature_by_resistance(there, resistance, first, constant=constant) == pytest.approx(second)


@given(resistances, temperatures, st.floats(0.1, 50.0), constants)
def test_warmer_means_more_resistance(resistance, temperature, by, constant):
    assert resistance_at(resistance, temperature, temperature + by, constant=constant) > resistance


def test_arrays_go_through():
    warm = resistance_at(np.array([1.0, 2.0]), 293.15, np.array([293.15, 548.15]), constant=235.0)
    assert warm == pytest.approx([1.0, 4.0])  # 255 K above nothing, then 510 K


def test_star_and_delta_between_terminals():
    assert resistance_between_lines(3.0, "star") == 6.0
    assert resistance_between_lines(3.0, "delta") == pytest.approx(2.0)  # 3 beside 6


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_one_formula_gives_the_winding_loss_of_either_connection(connection):
    """1.5 I^2 R between lines is 3 I_phase^2 R_phase: with I in star, I / sqrt(3) in delta."""
    phase_current = 10.0 if connection == "star" else 10.0 / np.sqrt(3.0)
    line = resistance_between_lines(0.7, connection)
    assert 1.5 * 10.0**2 * line == pytest.approx(3.0 * phase_current**2 * 0.7)


def test_what_no_winding_has_is_refused():
    with pytest.raises(ValueError, match="winding resistance must be above 0"):
        resistance_at(0.0, 293.15, 300.0, constant=235.0)
    with pytest.raises(ValueError, match="temperature above that of no resistance must be above 0"):
        resistance_at(1.0, 30.0, 300.0, constant=235.0)
    with pytest.raises(ValueError, match="in star or in delta, got 'zigzag'"):
        resistance_between_lines(1.0, "zigzag")
