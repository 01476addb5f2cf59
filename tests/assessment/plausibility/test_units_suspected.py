"""One factor that explains a table, on a motor worked out by hand; silence on sound and on poor motors."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from published_load_tests import cage_1_2_kw, cage_18_5_kw, single_phase_150_w
from simulated_motors import random_test

from certgen.assessment.plausibility.row_relations import LoadRows
from certgen.assessment.plausibility.units_suspected import suspected_units
from certgen.assessment.plausibility.volts_and_amperes import UnitRows

pytestmark = pytest.mark.slow

RPM = 2.0 * math.pi / 60.0


def motor(**changes: object) -> UnitRows:
    """1.5 kW, 400 V, 3.4 A, 1430 rpm: 10 N*m at 1430 rpm are 1498 W of 1880 W in (80 %), 2356 VA (power factor 0.80)."""
    rows = UnitRows(
        kind="three_phase", three_phase=True, speed=np.array([1492, 1465, 1447, 1430.0]) * RPM,
        torque=np.array([1.0, 5.0, 7.5, 10.0]), voltage=np.full(4, 400.0), current=np.array([1.9, 2.4, 2.85, 3.4]),
        input_power=np.array([330.0, 960.0, 1400.0, 1880.0]), plate_power=1500.0, plate_current=3.4, plate_voltages=(400.0,),
        plate_speed=1430 * RPM, synchronous_speed=1500 * RPM,
    )  # fmt: skip
    return replace(rows, **changes)  # type: ignore[arg-type]


def keys(rows: UnitRows) -> list[str]:
    return [each.suggestion.key for each in suspected_units(rows) if each.suggestion]


def test_the_motor_by_hand_is_silent() -> None:
    assert suspected_units(motor()) == ()


@pytest.mark.parametrize(
    ("factor", "key"),
    [
        (1.0 / 0.45359237, "pounds_for_kilograms"), (9.80665, "newtons_for_kilograms"), (12.0, "inches_for_feet"),
        (25.4, "millimetres_for_inches"), (0.45359237, "kilograms_for_pounds"), (1.0 / 9.80665, "kilograms_for_newtons"),
        (1.0 / 12.0, "feet_for_inches"), (1.0 / 25.4, "inches_for_millimetres"),
    ],
)  # fmt: skip
def test_torque_in_another_unit(factor: float, key: str) -> None:
    found = suspected_units(motor(torque=motor().torque * factor))
    assert keys(motor(torque=motor().torque * factor)) == [key]
    assert found[0].sizes["factor"] == pytest.approx(factor, rel=1e-6)
    assert found[0].sizes["efficiency_with_factor"] == pytest.approx(
        0.804, abs=0.002
    )  # of 0.812 at 7.5 and 0.797 at 10 N*m


def test_phase_volts_for_line_volts() -> None:
    """231 V typed for 400: 1880 W over 1360 VA are a power factor of 1.38."""
    assert keys(motor(voltage=np.full(4, 400.0 / math.sqrt(3.0)))) == ["phase_for_line"]


def test_line_volts_above_every_plate_voltage() -> None:
    assert keys(motor(voltage=np.full(4, 400.0 * math.sqrt(3.0)))) == ["line_for_phase"]


def test_a_plate_of_two_voltages_excuses_the_lower() -> None:
    low = motor(voltage=np.full(4, 230.0), current=motor().current * math.sqrt(3.0), plate_voltages=(230.0, 400.0))  # type: ignore[operator]
    assert suspected_units(low) == ()


def test_volts_and_amperes_exchanged() -> None:
    rows = motor()
    assert keys(motor(voltage=rows.current, current=rows.voltage)) == ["volts_and_amperes_exchanged"]


def test_volts_and_amperes_exchanged_with_nothing_on_the_plate() -> None:
    """A supply holds its voltage from row to row, and amperes follow the load."""
    bare = motor(plate_power=None, plate_current=None, plate_voltages=(), plate_speed=None)
    assert suspected_units(bare) == ()
    assert keys(replace(bare, voltage=bare.current, current=bare.voltage)) == ["volts_and_amperes_exchanged"]


@pytest.mark.parametrize("volts", [np.full(4, 400.0), None])
def test_amperes_of_a_phase_for_those_of_a_line(volts: np.ndarray | None) -> None:
    """10 N*m at 1430 rpm with 1.96 A where the plate says 3.4 A: 1.73 times the watts per volt-ampere."""
    rows = motor(voltage=volts, current=motor().current / math.sqrt(3.0), input_power=None)  # type: ignore[operator]
    assert keys(rows) == ["phase_for_line"]
    assert suspected_units(rows)[0].cell == "current"


def test_phase_volts_without_watts() -> None:
    assert keys(motor(voltage=np.full(4, 240.0), input_power=None)) == ["phase_for_line"]


def test_line_volts_on_a_supply_8_percent_high() -> None:
    assert keys(motor(voltage=np.full(4, 400.0 * 1.08 * math.sqrt(3.0)))) == ["line_for_phase"]


@pytest.mark.parametrize(
    ("factor", "key"),
    [
        (1.0 / 0.45359237, "pounds_for_kilograms"), (9.80665, "newtons_for_kilograms"), (12.0, "inches_for_feet"),
        (25.4, "millimetres_for_inches"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("volts", [np.full(4, 400.0), None])
def test_torque_in_another_unit_without_watts(volts: np.ndarray | None, factor: float, key: str) -> None:
    """2.2 times 1500 W of 2356 VA would be more than any motor's efficiency times power factor."""
    rows = motor(torque=motor().torque * factor, voltage=volts, input_power=None)
    assert keys(rows) == [key]


def test_light_loads_only_still_show_pounds_for_kilograms() -> None:
    """Up to 3 N*m the losses hide the factor in the efficiency: 1.0 of 0.64; each further watt shows it, 0.53 W."""
    torque = np.array([1.0, 1.7, 2.3, 3.0])
    speed = (1500.0 - 7.0 * torque) * RPM
    shaft = torque * speed
    watts = 150.0 + 1.15 * shaft + 60.0
    light = motor(torque=torque, speed=speed, input_power=watts, current=np.full(4, 1.95), plate_power=None)
    assert suspected_units(light) == ()
    found = suspected_units(replace(light, torque=torque * 2.204623))
    assert [entry.suggestion.key for entry in found if entry.suggestion] == ["pounds_for_kilograms"]


def test_watts_typed_in_another_unit_miss_power_factor_and_efficiency_alike() -> None:
    """The plate has 0.80 and 0.797; 1880 W typed 1.341 times are 1.07 and 0.594, or 0.746 times 0.595 and 1.07."""
    plate = motor(plate_power_factor=0.80, plate_efficiency=0.797)
    assert suspected_units(plate) == ()
    for factor, key in ((1.0 / 0.7457, "horsepower_for_kilowatts_in"), (0.7457, "kilowatts_for_horsepower")):
        assert key in keys(replace(plate, input_power=plate.input_power * factor))  # type: ignore[operator]


def test_further_watts_of_a_poor_motor_are_no_mistake() -> None:
    """Losses that rise with the square of the load: 2.4 W for the last watt, and silence."""
    shaft = motor().torque * motor().speed
    assert suspected_units(motor(input_power=shaft + 300.0 + 900.0 * (shaft / 1500.0) ** 2)) == ()


def test_horsepower_for_kilowatts_on_the_plate() -> None:
    """A plate of 2 hp (1491 W) entered as 2 kW at 400 V and 3.1 A would be 2000/2148 = 0.93 of the volt-amperes."""
    rows = motor(plate_power=2000.0, current=motor().current * 3.1 / 3.4, plate_current=3.1)  # type: ignore[operator]
    assert keys(rows) == ["horsepower_for_kilowatts"]


def test_a_poor_motor_is_silent() -> None:
    """Half the torque at the plate's current with twice the slip: worn out, not misread."""
    speed = 1500 * RPM - 2.0 * (1500 * RPM - motor().speed)
    assert suspected_units(motor(torque=0.5 * motor().torque, speed=speed)) == ()


@pytest.mark.parametrize("published", [single_phase_150_w, cage_18_5_kw, cage_1_2_kw])
def test_published_tests_are_silent(published: object) -> None:
    rows: LoadRows = published()  # type: ignore[operator]
    assert suspected_units(_units(rows)) == ()


def _units(rows: LoadRows) -> UnitRows:
    return UnitRows(
        kind=rows.kind, three_phase=rows.kind == "three_phase", speed=rows.speed * rows.gear_ratio,
        torque=rows.torque / rows.gear_ratio, voltage=rows.voltage, current=rows.current, input_power=rows.input_power,
        synchronous_speed=rows.synchronous_speed,
    )  # fmt: skip


def test_simulated_motors_are_silent() -> None:
    """300 sound tests of all kinds: none suspected."""
    rng = np.random.default_rng(3)
    kinds = ("three_phase", "single_phase", "universal", "series", "permanent_magnet", "shunt")
    assert not [k for k in range(300) if suspected_units(_units(random_test(rng, kinds[k % 6], 6).rows()))]


anything = arrays(float, 5, elements=st.one_of(st.floats(-1e7, 1e7), st.just(math.nan)))


@given(anything, anything, anything, anything, anything)
# Volts that vanish in a quotient
@example(np.zeros(5), np.full(5, math.nan), np.full(5, 5e-324), np.zeros(5), np.full(5, math.nan))
def test_no_reading_makes_an_error(
    speed: np.ndarray, torque: np.ndarray, volts: np.ndarray, amperes: np.ndarray, watts: np.ndarray
) -> None:
    suspected_units(motor(speed=speed, torque=torque, voltage=volts, current=amperes, input_power=watts))
    suspected_units(motor(speed=speed, torque=torque, voltage=volts, current=None, input_power=None))


@pytest.mark.parametrize(
    ("factor", "key"),
    [(1.0 / 0.45359237, "pounds_for_kilograms"), (9.80665, "newtons_for_kilograms"), (25.4, "millimetres_for_inches")],
)
def test_torque_too_large_for_its_slip_without_any_meter(factor: float, key: str) -> None:
    """The slip of an induction motor goes with its torque (Bird, chapter 22), and the plate's own pair tells how."""
    bare = motor(voltage=None, current=None, input_power=None)
    assert suspected_units(bare) == ()
    assert keys(replace(bare, torque=bare.torque * factor)) == [key]


@pytest.mark.parametrize("factor", [0.45, 0.7, 1.3, 1.6])
def test_a_motor_stiffer_or_softer_than_its_plate_is_no_unit(factor: float) -> None:
    bare = motor(voltage=None, current=None, input_power=None)
    assert suspected_units(replace(bare, torque=bare.torque * factor)) == ()


def test_more_out_than_in_is_named_though_the_motor_gives_less_than_its_plate() -> None:
    """A fifth less than the plate's power at its current, typed in newtons for kilograms: eight times what goes in."""
    weak = motor(torque=0.65 * motor().torque * 9.80665, input_power=None, plate_speed=None)
    assert keys(weak) == ["newtons_for_kilograms"]


def test_watts_that_leave_no_reactive_power() -> None:
    """2521 W over 2356 VA, where the motor alone at light load takes 1280 var: its magnetizing cannot have gone."""
    typed = motor(
        input_power=motor().input_power * 1.341, plate_power=None, plate_current=None, plate_speed=None,
        relative_uncertainty=0.01,
    )  # fmt: skip
    found = suspected_units(typed)
    assert [(each.cell, each.effect, each.suggestion.key) for each in found if each.suggestion] == [
        ("input_power", "caps", "horsepower_for_kilowatts_in")
    ]
    assert suspected_units(replace(typed, input_power=motor().input_power)) == ()


@pytest.mark.parametrize(("volts", "named"), [(400.0, True), (440.0, False)])
def test_a_power_factor_alone_tells_the_unit_of_the_watts_at_rated_voltage(volts: float, named: bool) -> None:
    """Power factor 0.63 for 0.84 on the plate; the efficiency, truly below its plate's, seems as good and hides nothing."""
    read = motor()
    rows = replace(
        read, input_power=1.06 * read.input_power * 0.7457, plate_power_factor=0.84, plate_efficiency=0.61,
        torque=0.6 * read.torque, plate_power=900.0,
        voltage=np.full(4, volts), plate_speed=None, synchronous_speed=None, kind="universal", three_phase=False,
        current=read.current * math.sqrt(3.0), plate_current=3.4 * math.sqrt(3.0),
    )  # fmt: skip
    assert ("kilowatts_for_horsepower" in keys(rows)) is named
