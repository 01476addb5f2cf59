from __future__ import annotations

import numpy as np
import pytest
from builders import make_table
from hypothesis import given
from hypothesis import strategies as st

from certgen.reduction.electrical import electrical_input
from certgen.reduction.model import TooFewReadings
from certgen.reduction.no_load import separate_no_load

VOLTAGES = np.array([440.0, 400.0, 380.0, 360.0, 240.0, 200.0, 160.0, 120.0])


def readings(voltage=VOLTAGES, friction=20.0, core=80.0, resistance=4.0, current=None):
    """Core loss with the square of voltage, 80 W at 400 V; current in proportion to it, 2 A."""
    amperes = voltage / 200.0 if current is None else current
    watts = friction + core * (voltage / 400.0) ** 2 + 1.5 * amperes**2 * resistance
    table = make_table(voltage=voltage, current=amperes, input_power=watts)
    return electrical_input(table, "three-phase induction"), np.full(voltage.size, resistance)


def separated(electrical, resistance, rated=400.0):
    return separate_no_load(
        electrical, resistance, rated_voltage=rated, low_voltage=0.6, voltage_nearness=0.02, least_low_voltages=3
    )


@given(st.floats(1.0, 100.0), st.floats(5.0, 300.0), st.floats(0.1, 20.0))
def test_losses_that_follow_the_law_come_back(friction, core, resistance):
    found = separated(*readings(friction=friction, core=core, resistance=resistance))
    assert found.friction_windage == pytest.approx(friction, rel=1e-6)
    assert found.low_voltages == 4
    assert found.core_loss(np.array([400.0, 200.0])) == pytest.approx([core, core / 4.0], rel=1e-6)


def test_a_saturating_core_does_not_touch_the_friction():
    """Only readings up to about 60 % of rated voltage make the line (IEC 60034-2-1, from memory)."""
    electrical, resistance = readings()
    electrical.active[:4] += np.array([30.0, 12.0, 8.0, 5.0])
    found = separated(electrical, resistance)
    assert found.friction_windage == pytest.approx(20.0)
    assert found.core_loss(np.array([400.0]))[0] == pytest.approx(92.0)


def test_order_and_doubled_voltages_do_not_matter():
    electrical, resistance = readings(np.append(VOLTAGES[::-1], 400.0))
    found = separated(electrical, resistance)
    assert found.voltage.tolist() == sorted(VOLTAGES)
    assert found.friction_windage == pytest.approx(20.0)


def test_readings_below_the_least_current_are_left_out():
    """Where the voltage no longer carries the friction the slip and with it the current grow."""
    voltage = np.append(VOLTAGES, 60.0)
    electrical, resistance = readings(voltage, current=np.append(VOLTAGES / 200.0, 0.9))
    electrical.active[-1] += 15.0
    found = separated(electrical, resistance)
    assert found.voltage[0] == 120.0
    assert found.friction_windage == pytest.approx(20.0)


def test_core_loss_is_told_within_the_readings_only():
    found = separated(*readings())
    assert np.isnan(found.core_loss(np.array([119.0, 450.0]))).all()
    assert np.isfinite(found.core_loss(np.array([120.0, 448.0]))).all()  # 2 % beyond the last


def test_too_few_low_voltages_are_refused_with_their_number():
    with pytest.raises(TooFewReadings, match=r"has 2 usable voltages up to 60 % of rated voltage; .* need 3"):
        separated(*readings(VOLTAGES[:6]))


def test_readings_that_end_below_rated_voltage_are_refused():
    with pytest.raises(TooFewReadings, match="ends at 380 V, below rated voltage 400 V"):
        separated(*readings(VOLTAGES[2:]))


def test_friction_below_zero_is_refused():
    with pytest.raises(TooFewReadings, match="come out at −5 W, which is impossible: check the no-load readings"):
        separated(*readings(friction=-5.0))


def test_core_loss_below_zero_is_refused():
    electrical, resistance = readings()
    electrical.active[1] = 30.0
    with pytest.raises(TooFewReadings, match=r"core loss comes out at −14 W at 400 V"):
        separated(electrical, resistance)


def test_readings_without_power_are_refused():
    table = make_table(voltage=VOLTAGES, current=VOLTAGES / 200.0)
    with pytest.raises(TooFewReadings, match="no voltage, current and input power together"):
        separated(electrical_input(table, "three-phase induction"), np.full(8, 4.0))
