"""Textbook examples of motors that are not three-phase, run whole: what each kind has, and what it has not.

Values are as the textbook companions print them (github.com/FOSSEE/Python-Textbook-Companions).
"""

from __future__ import annotations

import math

import pytest

from certgen.quantity import Quantity
from certgen.units import from_si

SENSOR = {"absorber": {"kind": "torque sensor"}}
HORSEPOWER = 746.0  # as the book takes it
TURN = 2.0 * math.pi


def value(quantity: Quantity | None, unit: str = "1") -> float:
    assert quantity is not None
    return from_si(quantity.value, unit)


def caution_ids(results) -> set[str]:
    return {one.id for one in results.cautions}


def shunt_motor(run_test, *, horsepower, rpm, volts, amperes, idle_rpm, idle_amperes):
    """A plate and its two rows: the full load of the plate, and no load; torque from the book's power."""
    torque = horsepower * HORSEPOWER / (rpm / 60.0 * TURN)
    return run_test(
        motor="dc",
        rig=SENSOR,
        nameplate={
            "power": f"{horsepower * HORSEPOWER} W",
            "voltage": f"{volts} V",
            "current": f"{amperes} A",
            "speed": f"{rpm} rpm",
        },
        columns={"speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A"},
        rows=[[idle_rpm, 0, volts, idle_amperes], [rpm, torque, volts, amperes]],
    )


def test_kosow_example_12_8_five_horsepower_shunt_motor(run_test):
    """I. L. Kosow, Electric Machinery and Transformers, 2nd ed., example 12-8, page 420; idle 3.53 A, field 1 A."""
    results = shunt_motor(run_test, horsepower=5, rpm=1100, volts=240, amperes=20.72, idle_rpm=1137, idle_amperes=4.53)
    full_load = results.points[1]
    assert value(full_load.efficiency) == pytest.approx(0.75, abs=0.005)
    assert value(results.characteristic.no_load_speed, "rpm") == pytest.approx(1137, abs=0.5)
    assert 100 * (value(results.characteristic.light_load_speed_ratio) - 1) == pytest.approx(3.4, abs=0.05)
    assert tuple(map(str, results.characteristic.proves)) == (
        "Speed regulation 3.4 % from rated load to no load: it behaves as a shunt-wound or permanent-magnet motor.",
    )
    assert {"no_load_speed", "commutation"} <= caution_ids(results)


def test_kosow_example_12_9_fifteen_horsepower_shunt_motor(run_test):
    """The same book, example 12-9, page 421; idle 1.693 A and 2 A of field."""
    results = shunt_motor(run_test, horsepower=15, rpm=1200, volts=240, amperes=55, idle_rpm=1316, idle_amperes=3.693)
    full_load = results.points[1]
    assert value(full_load.torque, "N*m") == pytest.approx(89, abs=0.5)
    assert value(full_load.efficiency, "%") == pytest.approx(84.8, abs=0.05)
    assert 100 * (value(results.characteristic.light_load_speed_ratio) - 1) == pytest.approx(9.7, abs=0.05)
    assert "shunt-wound" in str(results.characteristic.proves[0])


@pytest.mark.parametrize("rpm", [600, 1500])
def test_bird_example_21_25_series_motor(run_test, rpm):
    """J. O. Bird, Electrical Circuit Theory and Technology, example 21-25, page 374: 250 V, 40 A, losses of 2 x 320 W.

    The book gives no speed: efficiency is the same at any.
    """
    torque = (250 * 40 - 640) / (rpm / 60.0 * TURN)
    results = run_test(
        motor="dc",
        rig=SENSOR,
        columns={"speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A"},
        rows=[[rpm, torque, 250, 40]],
    )
    assert value(results.points[0].efficiency, "%") == pytest.approx(93.6, abs=0.05)
    assert results.characteristic.proves == ()  # one load tells nothing of no load


def test_nothing_of_an_induction_motor_is_shown_for_direct_current(run_test):
    """Bakshi, DC Machines and Synchronous Machines, example 3.4, page 14, as two spring balances read it."""
    results = run_test(
        motor="dc",
        rig={"absorber": {"kind": "rope"}, "scale": {"reads": "mass"}, "drum_radius": "0.075 m"},
        conditions={"local_gravity": "9.81 m/s^2", "supply_frequency": "50 Hz"},
        columns={"speed": "rpm", "scale": "kg", "scale_2": "kg", "voltage": "V", "current": "A"},
        rows=[[1320, 9.1, 0.8, 110, 10]],
    )
    point, characteristic = results.points[0], results.characteristic
    assert value(point.efficiency, "%") == pytest.approx(76.74, abs=0.005)
    for name in ("slip", "apparent_power", "power_factor", "frequency", "current_unbalance", "voltage_unbalance"):
        assert getattr(point, name) is None, name
    for name in ("synchronous_speed", "poles", "code_letter", "design_letter", "efficiency_class", "breakdown_torque"):
        assert getattr(characteristic, name) is None, name
    assert results.conditions.supply_frequency is None
    assert results.conditions.supply_frequency_basis is None
    assert not any("lip" in one or "ower factor" in one for one in map(str, results.conditions.missing))


def test_guru_example_10_5_universal_motor(run_test):
    """B. S. Guru, H. R. Hiziroglu, Electric Machinery and Transformers, example 10.5, page 606."""
    results = run_test(
        motor="universal",
        rig=SENSOR,
        columns={"speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A", "power_factor": "1"},
        rows=[[8000, 1.46, 120, 17.58, 0.912]],
    )
    point, characteristic = results.points[0], results.characteristic
    assert value(point.shaft_power, "W") == pytest.approx(1222.75, rel=0.0035)  # torque printed to three digits
    assert value(point.efficiency, "%") == pytest.approx(63.6, abs=0.05)
    assert value(point.power_factor) == pytest.approx(0.912, abs=0.0005)
    assert point.slip is None
    for name in (
        "synchronous_speed",
        "poles",
        "design_letter",
        "efficiency_class",
        "breakdown_torque",
        "pull_up_torque",
    ):
        assert getattr(characteristic, name) is None, name
    assert {"no_load_speed", "commutation"} <= caution_ids(results)
    assert not any("lip" in one for one in map(str, results.conditions.missing))


@pytest.mark.parametrize(
    ("electrical", "torque", "efficiency", "half_a_digit"),
    [
        # The same book as above, example 10.2, page 576; current and power recomputed, not printed
        ([120, 4.27708, 352.081], 1.295, 65.86, 0.03),  # the torque's last digit is 0.04 % of it
        # A. E. Fitzgerald, C. Kingsley Jr., S. D. Umans, Electric Machinery, example 9.2, page 467; power recomputed
        ([110, 3.6, 246.164], 0.823, 60.0, 0.5),
    ],
)
def test_single_phase_motors_at_five_percent_slip(run_test, electrical, torque, efficiency, half_a_digit):
    results = run_test(
        motor="single-phase induction",
        rig=SENSOR,
        nameplate={"frequency": "60 Hz", "poles": 4},
        columns={"speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A", "input_power": "W"},
        rows=[[1710, torque, *electrical]],
    )
    point = results.points[0]
    assert value(point.slip) == pytest.approx(0.05, abs=1e-9)
    assert value(point.efficiency, "%") == pytest.approx(efficiency, abs=half_a_digit)
    assert point.current_unbalance is None
    assert point.voltage_unbalance is None
    assert {"start_winding", "capacitor"} <= caution_ids(results)
    assert any("torque pulsates" in one for one in map(str, results.conditions.method))
    assert not any("peed regulation" in one for one in map(str, results.characteristic.proves))


def test_sparking_the_bench_remarked_stands_beside_the_warning(run_test):
    """The universal motor above, with a word on its brushes."""
    results = run_test(
        motor="universal",
        rig=SENSOR,
        columns={"speed": "rpm", "torque": "N*m", "remark": ""},
        rows=[[9000, 1.0, ""], [8000, 1.46, "Sparks at the trailing edge"]],
    )
    (caution,) = [one for one in results.cautions if one.id == "commutation"]
    assert str(caution.because) == "sparking remarked in row 2"
