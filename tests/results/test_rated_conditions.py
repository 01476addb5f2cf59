"""Figures at rated load on another supply or another temperature than the plate's."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.job.model import DC, THREE_PHASE, UNIVERSAL
from certgen.results.rated_conditions import RatedConditions

AS_RATED = RatedConditions(
    kind=THREE_PHASE,
    excitation=None,
    voltage_ratio=1.0,
    voltage_standard=0.0,
    voltage_read=True,
    frequency_ratio=1.0,
    voltage=400.0,
    rated_voltage=400.0,
    power_factor=0.8,
    winding=348.15,
    working=348.15,
)
LOW_SUPPLY = replace(AS_RATED, voltage_ratio=0.905, voltage=362.0)


@pytest.mark.parametrize("quantity", ["slip", "current", "efficiency", "power_factor", "shaft_power"])
def test_at_rated_conditions_nothing_is_corrected(quantity: str) -> None:
    figure = AS_RATED.correct(quantity, 0.05)
    assert figure.value == pytest.approx(0.05)
    assert figure.supply_uncertainty == 0.0
    assert figure.reason is None


def test_a_sound_motor_at_nine_tenths_of_its_voltage_keeps_its_slip() -> None:
    """Slip 5 % at rated voltage is 5 % / 0.905^2.2 = 6.2 % at 90.5 %: beyond + 20 % as read, within it as corrected."""
    read = 0.05 / 0.905**2.2
    assert read > 1.2 * 0.05
    figure = LOW_SUPPLY.correct("slip", read)
    assert figure.value == pytest.approx(0.05, rel=0.02)
    assert 2.0 * figure.standard_uncertainty < 0.5 * 0.2 * 0.05
    assert [message.key for message in figure.corrections] == ["correction.supply", "correction.warm"]


def test_too_much_slip_does_not_hide_behind_high_voltage() -> None:
    """A motor 30 % over its slip of 5 % shows 5.8 % at 105 %: within 20 % as read."""
    read = 1.3 * 0.05 / 1.05**2.2
    assert read < 1.2 * 0.05
    high = replace(AS_RATED, voltage_ratio=1.05, voltage=420.0)
    figure = high.correct("slip", read)
    assert figure.value - 2.0 * figure.standard_uncertainty > 1.2 * 0.05


def test_slip_of_a_cold_motor_is_less() -> None:
    """From 20 to 75 degC a cage of aluminium gains (225 + 75) / (225 + 20) = 1.2245 of resistance."""
    cold = replace(AS_RATED, winding=293.15)
    assert cold.correct("slip", 0.04).value == pytest.approx(0.04 * 300.0 / 245.0)


def test_an_unknown_temperature_widens_and_is_named() -> None:
    unknown = replace(AS_RATED, winding=None, working=None)
    figure = unknown.correct("slip", 0.05)
    assert figure.supply_uncertainty == 0.0
    assert 0.05 * 0.05 < figure.standard_uncertainty < 0.05 * 0.12
    assert figure.corrections[-1].key == "correction.temperature_not_known"
    assert unknown.correct("current", 3.0).standard_uncertainty == 0.0


def test_a_voltage_that_was_not_read_is_an_ordinary_one() -> None:
    unread = replace(AS_RATED, voltage=None, voltage_read=False, voltage_standard=0.05 / math.sqrt(3.0))
    figure = unread.correct("current", 3.0)
    assert figure.value == pytest.approx(3.0)
    assert 0.01 < figure.standard_uncertainty / 3.0 < 0.025
    assert figure.corrections[0].key == "correction.voltage_not_read"


def test_what_no_formula_brings_back_says_so() -> None:
    other = replace(LOW_SUPPLY, kind="other")
    reason = other.correct("speed", 100.0).reason
    assert reason is not None
    assert str(reason).startswith("the supply was −9.5 % off the plate, and speed cannot be corrected for it")
    assert replace(other, voltage_ratio=1.001).correct("speed", 100.0).reason is None


@pytest.mark.parametrize("excitation", ["permanent magnet", "separate", "shunt", "series", None])
def test_speed_of_a_dc_motor_falls_with_voltage(excitation: str | None) -> None:
    """Brought to rated voltage it is higher; what is not stated of the field widens the correction."""
    dc = replace(AS_RATED, kind=DC, excitation=excitation, voltage_ratio=0.97, voltage=388.0)
    figure, unknown = dc.correct("speed", 100.0), replace(dc, excitation=None).correct("speed", 100.0)
    assert 101.0 < figure.value < 108.0
    assert 0.0 < figure.standard_uncertainty <= unknown.standard_uncertainty


def test_a_universal_motor_is_corrected_with_a_wide_uncertainty() -> None:
    figure = replace(AS_RATED, kind=UNIVERSAL, voltage_ratio=0.98, voltage=392.0).correct("speed", 700.0)
    assert figure.value == pytest.approx(700.0 * 0.98**-3.6)
    assert figure.standard_uncertainty > 0.01 * 700.0


@given(
    ratio=st.floats(0.88, 1.12), slip=st.floats(0.005, 0.15), factor=st.floats(0.3, 1.0), standard=st.floats(0.0, 0.02)
)
def test_the_further_off_the_wider(ratio: float, slip: float, factor: float, standard: float) -> None:
    """The correction's uncertainty grows with the deviation and with the voltmeter's."""
    here = replace(AS_RATED, voltage_ratio=ratio, power_factor=factor, voltage_standard=standard)
    for quantity, value in (("slip", slip), ("current", 3.0), ("efficiency", 0.8), ("power_factor", factor)):
        figure = here.correct(quantity, value)
        assert math.isfinite(figure.value)
        assert figure.standard_uncertainty >= 0.0
        assert replace(here, voltage_standard=standard + 0.01).correct(quantity, value).standard_uncertainty >= (
            figure.standard_uncertainty - 1e-12
        )


@pytest.mark.parametrize("quantity", ["slip", "current", "efficiency", "power_factor", "shaft_power"])
@pytest.mark.parametrize("ratio", [0.003, 0.4, 9.9])
def test_a_voltage_that_may_be_none_at_all_corrects_nothing(quantity: str, ratio: float) -> None:
    """Volts and amperes exchanged, a point moved: nothing is carried over from a voltage less certain than its half."""
    figure = replace(AS_RATED, voltage_ratio=ratio, voltage_standard=0.6 * ratio).correct(quantity, 0.5)
    assert figure.value == 0.5
    assert figure.reason is not None


@pytest.mark.parametrize("efficiency", [0.0, 1.0192, 41.0])
def test_an_efficiency_that_cannot_be_is_left_as_it_is(efficiency: float) -> None:
    assert LOW_SUPPLY.correct("efficiency", efficiency).value == efficiency
