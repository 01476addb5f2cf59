"""Figures of heat, insulation, starting and direct current in closed form: JCGM 100:2008, 5.1.2, 5.1.6 and 4.3.7."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table

from certgen.assessment.insulation import insulation_findings, insulation_result
from certgen.job.model import ColdWinding, Conditions, HotWinding, Insulation, Job, Winding
from certgen.job.rig import Ammeter, Meters, Ohmmeter, Thermometer, Voltmeter, Watch
from certgen.pipeline import assess_job
from certgen.quantity import Quantity
from certgen.readings.model import COOLING, Readings, Table
from certgen.reduction.reduce import reduce_test
from certgen.results.heat import heat_figures
from certgen.results.insulation import insulation_figures
from certgen.results.losses import losses_of
from certgen.standards.criteria import TablesBeside

SQRT3, SQRT12 = math.sqrt(3.0), math.sqrt(12.0)
ICE, K = 273.15, 235.0
SPEED = np.array([156.0, 153.0, 150.0, 147.0])
TORQUE = np.array([0.1, 2.0, 4.0, 6.0])
COLD, AT, ROOM = 4.0, 20.0 + ICE, 22.0 + ICE
THERMOMETERS = {
    "winding_temperature": Thermometer(digits=6, resolution=0.1),
    "ambient_temperature": Thermometer(digits=3, resolution=0.1),
}


def standard(quantity: Quantity | None) -> float:
    assert quantity is not None and quantity.expanded_uncertainty is not None, quantity
    assert quantity.coverage_factor is not None
    return quantity.expanded_uncertainty / quantity.coverage_factor


def a_job(hot: HotWinding | None = None, insulation: Insulation | None = None, **keys) -> Job:
    job = make_job(conditions=Conditions(supply_frequency=50.0, ambient=ROOM), poles=4, **keys)
    winding = Winding(cold=ColdWinding(COLD, AT), hot=hot, between="lines")
    return replace(job, readings=replace(job.readings, winding=winding, insulation=insulation))


def readings_with(**others: Table) -> Readings:
    return replace(make_readings(speed=SPEED, torque=TORQUE), others=others)


def thermal_of(job: Job, readings: Readings, meters: Meters):
    reduction = reduce_test(job, make_rig(meters=meters), readings)
    return heat_figures(job, readings, reduction, TablesBeside()).thermal


def test_a_part_of_the_ohmmeters_reading_leaves_the_rise_alone():
    job = a_job(HotWinding(resistance=5.0, after=20.0))
    found = thermal_of(job, readings_with(), Meters(winding_resistance=Ohmmeter(reading=0.01), **THERMOMETERS))
    # t2 = R2/R1 (k + t1) - k: 0.6 K of the cold temperature count 5/4 times, 0.3 K of the room once
    assert standard(found.winding_rise) == pytest.approx(math.hypot(1.25 * 0.6, 0.3) / SQRT3, rel=1e-6)
    assert standard(found.hot_resistance) == pytest.approx(0.05 / SQRT3, rel=1e-6)


def test_the_last_digits_of_two_resistances_do_not_cancel():
    job = a_job(HotWinding(resistance=5.0, after=20.0))
    meter = Ohmmeter(reading=1e-9, resolution=0.01)
    found = thermal_of(job, readings_with(), Meters(winding_resistance=meter, **THERMOMETERS))
    by_digit = 0.01 / SQRT12 * math.hypot(1.0 / COLD, 5.0 / COLD**2) * (K + 20.0)
    expected = math.hypot(by_digit, 1.25 * 0.6 / SQRT3, 0.3 / SQRT3)
    assert standard(found.winding_rise) == pytest.approx(expected, rel=1e-6)


def cooling(constant: float, scatter: float = 0.0) -> Table:
    """Resistances after switching off from a rise of 60 K, without or with a scatter of so much [K]."""
    time = np.array([20.0, 40.0, 60.0, 80.0, 100.0])
    rise = 60.0 * np.exp(-time / constant) + scatter * np.array([1.0, -1.0, 0.5, -1.0, 0.5])
    return make_table(time=time, winding_resistance=COLD * (K + ROOM - ICE + rise) / (K + AT - ICE))


def test_the_instant_of_switching_off_shifts_a_rise_carried_back():
    """ln(rise) = a - t / tau: all times late by dt lower the rise at zero by rise dt / tau."""
    job = a_job(HotWinding())
    meters = Meters(winding_resistance=Ohmmeter(reading=0.01), time=Watch(digits=5, resolution=1.0), **THERMOMETERS)
    found = thermal_of(job, readings_with(**{COOLING: cooling(400.0)}), meters)
    assert found.winding_rise.value == pytest.approx(60.0, abs=0.01)
    by_time = 60.0 * 5.0 / 400.0
    # the warm temperatures' errors, carried back as their rises are: 0.3 K of the room is not in proportion to the rise
    assert standard(found.winding_rise) >= by_time / SQRT3
    quiet = Meters(winding_resistance=Ohmmeter(reading=0.01), time=Watch(digits=1, resolution=1e-6), **THERMOMETERS)
    still = thermal_of(job, readings_with(**{COOLING: cooling(400.0)}), quiet)
    expected = math.hypot(standard(still.winding_rise), by_time / SQRT3)
    assert standard(found.winding_rise) == pytest.approx(expected, rel=1e-4)


def test_a_cooling_series_carries_its_scatter():
    """JCGM 100:2008, H.3: u(intercept) of ln(rise) over time from scipy, n - 2 = 3 degrees of freedom."""
    from scipy.stats import linregress, norm, t

    tight = {name: Thermometer(digits=1, resolution=1e-6) for name in THERMOMETERS}
    meters = Meters(winding_resistance=Ohmmeter(reading=0.001), time=Watch(digits=1, resolution=1e-6), **tight)
    table = cooling(400.0, scatter=0.5)
    found = thermal_of(a_job(HotWinding()), readings_with(**{COOLING: table}), meters)
    time, resistance = table.columns["time"], table.columns["winding_resistance"]
    rise = resistance / COLD * (K + AT - ICE) - K - (ROOM - ICE)
    line = linregress(time, np.log(rise))
    assert found.winding_rise.value == pytest.approx(math.exp(line.intercept), rel=1e-6)
    expected = math.exp(line.intercept) * line.intercept_stderr
    assert standard(found.winding_rise) == pytest.approx(expected, rel=1e-3)
    assert found.winding_rise.coverage_factor == pytest.approx(t.ppf(norm.cdf(2.0), 3), rel=1e-3)


def test_unstated_meters_are_assumed_and_marked():
    job = a_job(HotWinding(resistance=5.0, after=20.0))
    found = thermal_of(job, readings_with(), Meters(**THERMOMETERS))
    assert found.winding_rise.assumed
    stated = thermal_of(job, readings_with(), Meters(winding_resistance=Ohmmeter(reading=0.001), **THERMOMETERS))
    assert not stated.winding_rise.assumed
    assert stated.winding_rise.expanded_uncertainty < 0.5 * found.winding_rise.expanded_uncertainty
    reduction = reduce_test(job, make_rig(meters=Meters(**THERMOMETERS)), readings_with())
    assert any("meters.winding_resistance" in str(one.to_state) for one in reduction.uncertainties.assumed)


def insulation(at_1_min: float, voltage: float = 500.0):
    read = Insulation(voltage=voltage, at_1_min=at_1_min, at_10_min=3.0 * at_1_min, temperature=40.0 + ICE)
    job = a_job(insulation=read, insulation_class="F", voltage=400.0)
    rig = make_rig(meters=Meters(insulation_resistance=Ohmmeter(reading=0.1), **THERMOMETERS))
    figures = insulation_figures(job, reduce_test(job, rig, readings_with()))
    findings = insulation_findings(job, figures)
    return insulation_result(figures, findings), findings


def test_one_insulation_tester_leaves_the_index_alone():
    found, _ = insulation(200e6)
    assert standard(found.at_1_min) == pytest.approx(20e6 / SQRT3, rel=1e-6)
    assert found.polarization_index.value == pytest.approx(3.0)
    assert found.polarization_index.expanded_uncertainty is None  # nothing but the tester's part of reading


@pytest.mark.parametrize(
    ("megohms", "outcome"), [(20.0, "pass"), (5.2, "conditional pass"), (4.8, "conditional fail"), (2.0, "fail")]
)
def test_insulation_is_decided_with_a_guard_band(megohms, outcome):
    """ILAC-G8:09/2019, 4.2.3: 5 Mohm are asked (IEEE Std 43, from memory), U is near 12 % of the value."""
    found, findings = insulation(megohms * 1e6)
    resistance = next(one for one in findings if one.id == "insulation")
    assert (resistance.outcome, found.outcome) == (outcome, outcome)
    assert resistance.expanded_uncertainty == pytest.approx(found.at_40_degC.expanded_uncertainty)


def test_locked_rotor_current_at_rated_voltage():
    """I2 = I1 V2 / V1: relative variances of ammeter, voltmeter and both last digits add."""
    path = Path(__file__).parents[3] / "example_jobs" / "capacitor_start_us_units" / "job.yaml"
    results = assess_job(path).results
    found = results.characteristic
    amperes, volts = found.locked_rotor_current.value * 114.9 / 115.0, 114.9
    parts = (
        (0.006 * amperes + 0.001 * 50.0) / SQRT3 / amperes,
        0.01 / SQRT12 / amperes,
        (0.005 * volts + 0.001 * 150.0) / SQRT3 / volts,
        0.1 / SQRT12 / volts,
    )
    relative = math.hypot(*parts)
    assert standard(found.locked_rotor_current) / found.locked_rotor_current.value == pytest.approx(relative, rel=1e-3)
    assert standard(found.kva_per_hp) / found.kva_per_hp.value == pytest.approx(relative, rel=1e-3)
    letter = next(one for one in results.findings if one.id == "code_letter")
    assert letter.decision_rule == "guarded acceptance"


def test_losses_of_a_direct_current_motor():
    """P = I^2 R at the load and V0 I0 - I0^2 R without: derivatives by hand; meters err alike in both tables."""
    volts, amperes = np.full(4, 180.0), np.array([0.5, 2.4, 4.5, 6.6])
    readings = replace(
        make_readings(speed=SPEED, torque=TORQUE, voltage=volts, current=amperes),
        others={"no_load": make_table(voltage=[180.0], current=[0.45])},
    )
    job = make_job("dc", voltage=180.0, power=600.0)
    winding = Winding(hot=HotWinding(resistance=1.5, after=20.0))
    job = replace(job, readings=replace(job.readings, winding=winding))
    meters = Meters(
        voltage=Voltmeter(reading=0.004), current=Ammeter(reading=0.003), winding_resistance=Ohmmeter(reading=0.01)
    )
    reduction = reduce_test(job, make_rig(meters=meters), readings)
    losses = losses_of(job, readings, reduction, None, "iec-60034-2-1")
    idle, ohms = 0.45, 1.5
    by_ampere = (180.0 - 2.0 * idle * ohms) * 0.003 * idle
    expected = math.hypot(idle * 0.004 * 180.0, by_ampere, idle**2 * 0.01 * ohms) / SQRT3
    assert losses.constant.value == pytest.approx(180.0 * idle - idle**2 * ohms)
    # the voltage the loss is read at is exact, and there is one reading
    assert standard(losses.constant) == pytest.approx(expected, rel=1e-4)
    assert losses.rotor.assumed  # the torque sensor's error is not stated
    assert not losses.constant.assumed
