"""Simulated tests of a motor whose every loss is known: errors of losses, efficiency by segregation and winding rise."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from builders import make_rig, make_table
from loss_bench import COLD, ICE, K, LossBench
from numpy.typing import NDArray

from certgen.assessment.assess import assess
from certgen.document.build import Toleranced
from certgen.job.model import ColdWinding, Conditions, HotWinding, Job
from certgen.job.rig import Ammeter, Meter, Meters, Ohmmeter, Tachometer, Thermometer, TorqueMeter, Voltmeter, Wattmeter
from certgen.quantity import Quantity
from certgen.readings.model import Readings, Zero
from certgen.reduction.reduce import reduce_test
from certgen.results.compute import compute_figures
from certgen.results.model import Results
from certgen.standards.criteria import shipped_criteria

Array = NDArray[np.float64]

BENCH = LossBench()
STATES = BENCH.states()
LIGHT = [BENCH.motor.light(voltage, BENCH.light_temperature) for voltage in BENCH.voltages]
RATED = BENCH.motor.at(BENCH.motor.power, BENCH.temperatures[0])
WARM, ROOM = BENCH.temperatures[0], 23.0 + ICE
FREQUENCY_LIMIT = 0.02

#: No one of their limits outweighs the others (JCGM 100:2008, G.6.5).
METERS = Meters(
    torque=TorqueMeter(reading=0.0008, resolution=0.05),
    voltage=Voltmeter(reading=0.002, resolution=0.1),
    current=Ammeter(reading=0.003, resolution=0.01),
    input_power=Wattmeter(reading=0.0008, resolution=2.0),
    winding_temperature=Thermometer(digits=10, resolution=0.1),
    ambient_temperature=Thermometer(digits=12, resolution=0.1),
    winding_resistance=Ohmmeter(reading=0.002, range=0.001, full_scale=5.0, resolution=0.02),
)
TACHOMETER = Tachometer(pulses_per_revolution=60, gate=2.0, tolerance=0.05)
CRITERIA = shipped_criteria("iec-60034-1")

FIGURES = ("stator loss", "rotor loss", "stray load loss", "efficiency by segregation", "winding rise")
TRUTH = {
    "stator loss": RATED["stator"],
    "rotor loss": RATED["rotor"],
    "stray load loss": RATED["stray"],
    "efficiency by segregation": BENCH.motor.power / RATED["input_power"],
    "winding rise": WARM - ROOM,
}


class Errors:
    """The errors of one bench: a part of each meter's limit, drawn once."""

    def __init__(self, generator: np.random.Generator) -> None:
        self._generator = generator
        self._parts: dict[str, float] = {}

    def within(self, limit: float, count: int | None = None) -> Array | float:
        """Errors nowhere likelier than elsewhere within a limit."""
        return self._generator.uniform(-limit, limit, count)

    def shown(self, name: str, true: Array, origin: float = 0.0) -> Array:
        """What a meter shows of true values: wrong by its part of its limit, and rounded."""
        meter: Meter = getattr(METERS, name)
        part = self._parts.setdefault(name, float(self.within(1.0)))
        resolution = meter.resolution or 0.0
        limit = (meter.reading or 0.0) * (true - origin) + (meter.range or 0.0) * (meter.full_scale or 0.0)
        limit = limit + (meter.digits or 0) * resolution
        shown = true + part * limit
        if meter.digits:
            return shown  # they hold the rounding, which is not drawn apart
        # True values lie anywhere to the steps of a display. Here they are the same in every test: the steps move.
        phase = self.within(0.5 * resolution, true.size)
        return np.asarray(np.round((shown + phase) / resolution) * resolution - phase)


def readings_of(errors: Errors) -> Readings:
    """Load test and no-load test as such a bench shows them."""
    true = {name: np.array([one[name] for one in STATES]) for name in STATES[0]}
    light = {name: np.array([one[name] for one in LIGHT]) for name in LIGHT[0]}
    names = ("voltage", "current", "input_power")
    columns = {name: errors.shown(name, true[name]) for name in names}
    columns["torque"] = errors.shown("torque", true["torque"])
    pulse = 2.0 * math.pi / (60.0 * 2.0)
    columns["speed"] = true["speed"] + errors.within(0.05) + errors.within(pulse, len(STATES))
    columns["winding_temperature"] = errors.shown("winding_temperature", true["winding_temperature"], ICE)
    others = {name: errors.shown(name, light[name]) for name in names}
    others["winding_temperature"] = errors.shown("winding_temperature", light["winding_temperature"], ICE)
    zero = errors.shown("torque", np.zeros(2))
    return Readings(
        make_table(**columns), Zero(float(zero[0]), float(zero[1])), Zero(), {"no_load": make_table(**others)}
    )


def job_of(errors: Errors) -> Job:
    """The job with its resistances and temperatures as read, on a supply of nearly the stated frequency."""
    resistance = 2.0 * BENCH.motor.R1
    hot_true = resistance * (K + WARM - ICE) / (K + COLD - ICE)
    cold, hot = errors.shown("winding_resistance", np.array([resistance, hot_true])).tolist()
    cold_at = float(errors.shown("winding_temperature", np.array([COLD]), ICE)[0])
    room = float(errors.shown("ambient_temperature", np.array([ROOM]), ICE)[0])
    job = BENCH.job()
    assert job.readings.winding is not None
    winding = replace(
        job.readings.winding,
        cold=ColdWinding(cold, cold_at),
        hot=HotWinding(resistance=hot, after=10.0, ambient=room),
    )
    stated = 50.0 + float(errors.within(FREQUENCY_LIMIT))
    frequency = Toleranced(stated, tolerance=FREQUENCY_LIMIT)
    conditions = Conditions(supply_frequency=frequency, ambient=room)  # type: ignore[arg-type]
    return replace(job, conditions=conditions, readings=replace(job.readings, winding=winding))


def results_of(seed: np.random.SeedSequence) -> Results:
    """One simulated test, judged."""
    errors = Errors(np.random.default_rng(seed))
    job, readings = job_of(errors), readings_of(errors)
    rig = make_rig(meters=METERS, tachometer=TACHOMETER)
    reduction = reduce_test(job, rig, readings)
    figures = compute_figures(job, rig, readings, reduction, CRITERIA)
    return assess(job, rig, reduction, figures, criteria=CRITERIA, not_evaluated=(), inputs={})


def one_loss_test(seed: np.random.SeedSequence) -> list[float]:
    """Errors of the watched figures, as parts of their expanded uncertainties, in one simulated test."""
    results = results_of(seed)
    losses, thermal = results.losses, results.thermal
    assert losses is not None and thermal is not None and losses.efficiency is not None, losses
    told: dict[str, Quantity | None] = {
        "stator loss": losses.stator,
        "rotor loss": losses.rotor,
        "stray load loss": losses.stray,
        "efficiency by segregation": losses.efficiency,
        "winding rise": thermal.winding_rise,
    }
    parts = []
    for name in FIGURES:
        one = told[name]
        assert one is not None and one.expanded_uncertainty is not None, name
        parts.append((one.value - TRUTH[name]) / one.expanded_uncertainty)
    return parts
