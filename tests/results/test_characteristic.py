"""Single figures of the machine from made-up tests of plain shapes, and the sentences beside them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table

from certgen.assessment.cautions import gear_cautions
from certgen.job.model import Conditions, Gear
from certgen.reduction.reduce import reduce_test
from certgen.results.characteristic import characteristic_of, missing_characteristic

RPM = math.pi / 30.0
#: A 5 hp, 4-pole, 60 Hz plate.
PLATE = {
    "power": 5 * 745.6998715822702, "voltage": 230.0, "current": 13.0, "frequency": 60.0, "speed": 1745 * RPM,
    "poles": 4,
}  # fmt: skip
RATED = PLATE["power"] / PLATE["speed"]
SPEED = np.array([1795, 1782, 1770, 1758, 1745, 1730, 1700, 1600, 1450, 1200, 800, 400, 0]) * RPM
PARTS = np.array([0.01, 0.25, 0.5, 0.75, 1.0, 1.25, 1.7, 2.5, 2.8, 2.4, 1.9, 1.7, 2.1])
CURRENT = np.array([4.5, 5.4, 7.2, 9.8, 12.9, 16.0, 22.0, 38.0, 55.0, 68.0, 76.0, 80.0, 84.0])


def a_test(count=13, *, kind="three-phase induction", efficiency=0.885, locked=None, conditions=None, **plate):
    """The first points of a run from no load down to standstill."""
    speed, torque = SPEED[:count], PARTS[:count] * RATED
    output = torque * speed
    readings = make_readings(
        speed=speed,
        torque=torque,
        voltage=np.full(count, 230.0),
        current=CURRENT[:count],
        input_power=np.where(output > 0, output / efficiency + 60.0 * (PARTS[:count] != 1.0), 9000.0),
    )
    if locked:
        readings = replace(readings, others={"locked_rotor": make_table(**locked)})
    job = make_job(kind, conditions or Conditions(supply_frequency=60.0), **{**PLATE, **plate})
    return job, reduce_test(job, make_rig(), readings)


def sentences(job, reduction):
    return " ".join(map(str, characteristic_of(job, reduction).proves))


def test_a_whole_curve_gives_every_figure():
    found = characteristic_of(*a_test())
    assert found.breakdown_torque_ratio.value == pytest.approx(2.80, abs=0.005)
    assert found.breakdown_speed.value == pytest.approx(1450 * RPM, abs=25 * RPM)
    assert found.pull_up_torque_ratio.value == pytest.approx(1.7)
    assert found.pull_up_speed.value == pytest.approx(400 * RPM)
    assert found.locked_rotor_torque_ratio.value == pytest.approx(2.1)
    assert found.locked_rotor_current_ratio.value == pytest.approx(84 / 13)
    assert found.kva_per_hp.value == pytest.approx(math.sqrt(3) * 230 * 84 / 5000)
    assert found.code_letter == "H"  # 6.69 kVA/hp
    assert found.design_letter == "B"
    assert tuple(map(str, found.proves[:3])) == (
        "Locked-rotor figures as measured at 230 V, the rated supply.",
        "Breakdown torque is the summit of the torque curve of an equivalent circuit through 3 points about the greatest "
        "one read, 57.13 N·m at 1450 rpm; its uncertainty covers the difference between the two.",
        "Pull-up torque is the least of 5 speeds from standstill to breakdown, at most 400 rpm apart.",
    )


def test_part_of_the_curve_proves_only_what_it_proves():
    job, reduction = a_test(6)
    found = characteristic_of(job, reduction)
    assert found.breakdown_torque is found.breakdown_speed is found.breakdown_torque_ratio is None
    assert found.pull_up_torque is found.locked_rotor_torque is found.code_letter is None
    assert f"Breakdown torque is above {1.25 * RATED:.3g} N·m, the greatest tested (1730 rpm)." in list(
        map(str, found.proves)
    )


def test_past_breakdown_but_not_down_to_standstill():
    job, reduction = a_test(11)
    assert characteristic_of(job, reduction).pull_up_torque is None
    assert "Tested down to 800 rpm: pull-up torque is not known." in sentences(job, reduction)


def test_no_word_of_breakdown_for_a_commutator_motor():
    for kind in ("universal", "dc"):
        job, reduction = a_test(6, kind=kind)
        found = characteristic_of(job, reduction)
        assert found.breakdown_torque is None
        assert "orque" not in " ".join(map(str, found.proves))


def test_torque_that_rises_to_standstill():
    speed = np.array([1780, 1700, 1500, 1200, 800, 400, 100, 0]) * RPM
    torque = np.array([0.5, 3, 9, 15, 20, 24, 26, 27])
    job = make_job(conditions=Conditions(supply_frequency=60.0), **PLATE)
    reduction = reduce_test(job, make_rig(), make_readings(speed=speed, torque=torque))
    assert "Torque rises down to standstill" in sentences(job, reduction)


@pytest.mark.parametrize(
    ("locked", "plate", "said"),
    [
        (
            {"voltage": [200.0], "current": [70.0], "torque": [25.0]}, {},
            "Locked-rotor figures scaled from 200 V to 230 V: current with voltage, torque with its square.",
        ),
        (
            {"voltage": [200.0], "current": [70.0], "torque": [25.0]}, {"voltage": None},
            "Locked-rotor figures as measured at 200 V, not scaled: the plate gives no voltage.",
        ),
        ({"current": [70.0]}, {}, "Locked-rotor current not scaled: the voltage was not measured."),
        (
            {"voltage": [200.0], "torque": [25.0]}, {},
            "Locked-rotor torque scaled from 200 V to 230 V: with the square of voltage.",
        ),
        (
            {"voltage": [60.0], "current": [20.0]}, {},
            "Locked-rotor current scaled from 60 V to 230 V: with voltage. "
            "With saturation the figures at rated voltage are higher.",
        ),
        (
            {"voltage": [200.0], "current": [70.0], "frequency": [50.0]}, {},
            "Locked-rotor current scaled from 200 V, 50 Hz to 230 V, 60 Hz: with volts per hertz.",
        ),
    ],
)  # fmt: skip
def test_how_locked_rotor_figures_were_scaled_is_said(locked, plate, said):
    assert str(characteristic_of(*a_test(6, locked=locked, **plate)).proves[0]) == said


def test_unscaled_figures_have_no_ratio_and_no_letter():
    found = characteristic_of(
        *a_test(6, locked={"voltage": [200.0], "current": [70.0], "torque": [25.0]}, voltage=None)
    )
    assert found.locked_rotor_current.value == pytest.approx(70.0)
    assert found.locked_rotor_torque.value == pytest.approx(25.0)
    assert found.locked_rotor_current_ratio is found.locked_rotor_torque_ratio is None
    assert found.kva_per_hp is found.code_letter is None


def test_a_direct_current_motor_is_left_as_read():
    found = characteristic_of(*a_test(6, kind="dc", locked={"voltage": [100.0], "current": [70.0]}))
    assert found.locked_rotor_current.value == pytest.approx(70.0)
    assert "Locked-rotor current as measured at 100 V, not scaled." in list(map(str, found.proves))
    assert found.kva_per_hp is None


def test_breakdown_off_rated_voltage_is_brought_to_it_by_its_square():
    job, reduction = a_test(voltage=208.0)
    found, at_rated = characteristic_of(job, reduction), characteristic_of(*a_test())
    assert "tested at 230 V and are brought to 208 V by the square of the voltage" in sentences(job, reduction)
    assert found.breakdown_torque.value == pytest.approx(at_rated.breakdown_torque.value * (208 / 230) ** 2)
    assert found.pull_up_torque_ratio.value == pytest.approx(1.7 * (208 / 230) ** 2)
    assert found.locked_rotor_torque_ratio.value == pytest.approx(2.1 * (208 / 230) ** 2)


def test_breakdown_from_far_below_rated_voltage_says_that_the_true_one_is_higher():
    assert "Saturation makes the true torques at rated voltage higher." in sentences(*a_test(voltage=400.0))


# Gears


def geared(ratio=15.0, no_load_rpm=99.7, *, poles=4, efficiency=0.9):
    speed = np.array([no_load_rpm, 98.6, 97.5, 95.5, 94.4]) * RPM
    job = make_job(
        conditions=Conditions(supply_frequency=50.0), power=200.0, voltage=400.0, frequency=50.0, speed=95 * RPM,
        poles=poles, gear=Gear(ratio, efficiency),
    )  # fmt: skip
    readings = make_readings(
        speed=speed, torque=[0.1, 6.0, 12.0, 20.0, 24.0], input_power=[66.0, 120.0, 180.0, 300.0, 360.0]
    )
    return job, reduce_test(job, make_rig(), readings)


def test_ratio_by_speed_and_loss_by_the_plates_efficiency():
    job, reduction = geared()
    found = characteristic_of(job, reduction)
    assert found.gear_ratio.value == pytest.approx(1500 / 99.7)
    assert found.gear_loss.value == pytest.approx(200 / 0.9 - 200)
    assert list(gear_cautions(job, characteristic_of(job, reduction))) == []


def test_another_ratio_than_the_plates_is_warned_of():
    job, reduction = geared(14.0)
    assert [str(one.because) for one in gear_cautions(job, characteristic_of(job, reduction))] == [
        "15.05 by speed, 14 on the plate"
    ]


def test_poles_found_by_the_plates_ratio_cannot_tell_the_ratio():
    job, reduction = geared(poles=None)
    assert reduction.poles.count == 4
    assert characteristic_of(job, reduction).gear_ratio is None


def test_without_efficiency_or_rated_power_no_gear_loss():
    assert characteristic_of(*geared(efficiency=None)).gear_loss is None
    job, reduction = geared()
    far = replace(reduction, operating={**reduction.operating, "at_rated_power": None})
    assert characteristic_of(job, far).gear_loss is None


# What is missing


def test_a_reader_is_told_of_an_untested_design_letter_and_class():
    job, reduction = a_test(4, design_letter="B")
    told = list(map(str, missing_characteristic(job, reduction, characteristic_of(job, reduction))))
    assert told == [
        "Efficiency class: rated power is outside the tested range.",
        "Design letter B: locked-rotor torque, pull-up torque, breakdown torque, locked-rotor current not tested.",
    ]


def test_nothing_is_missing_where_all_was_tested():
    job, reduction = a_test(design_letter="B")
    assert list(missing_characteristic(job, reduction, characteristic_of(job, reduction))) == []
