"""A three-phase motor whose every loss is known, and the readings a bench would take of it.

The exact equivalent circuit gives currents and powers; a friction loss that goes with a power of speed and a stray load
loss a T^2 are taken off the shaft here. All leakage stands in the rotor branch, so that the core resistance feels the
voltage behind the stator resistance, as IEC 60034-2-1 takes it to be. Stator and rotor follow one linear law.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
import yaml
from builders import make_job, make_rig, make_table
from mesh_circuit import MeshCircuit

from certgen.job.model import ColdWinding, Conditions, Job, Winding
from certgen.readings.model import Readings, Zero
from certgen.reduction.model import Reduction
from certgen.reduction.reduce import reduce_test

ICE = 273.15
COLD = 20.0 + ICE
K = 235.0
FIELD_SPEED = 4.0 * math.pi * 50.0 / 4
LOADS = (1.25, 1.15, 1.0, 0.75, 0.5, 0.25)
VOLTAGES = (440.0, 400.0, 380.0, 360.0, 240.0, 200.0, 160.0, 120.0)


@dataclass(frozen=True)
class KnownMotor:
    """A 5.5 kW four-pole motor; ohms of one phase in star at 20 degC, W, W/(N*m)^2."""

    R1: float = 0.95
    R2: float = 0.75
    X: float = 3.2
    Xm: float = 48.0
    Rc: float = 850.0
    friction: float = 45.0
    exponent: float = 2.5
    stray: float = 0.06
    power: float = 5500.0
    voltage: float = 400.0

    def circuit(self, temperature: float) -> MeshCircuit:
        by = (K + temperature - ICE) / (K + COLD - ICE)
        return MeshCircuit(self.R1 * by, 0.0, self.R2 * by, self.X, self.Xm, 4, 50.0, Rc=self.Rc)

    def at_slip(self, slip: float, temperature: float, voltage: float) -> dict[str, float]:
        """Readings and true losses at a slip."""
        found = self.circuit(temperature).at(voltage / math.sqrt(3.0), slip)
        speed = FIELD_SPEED * (1.0 - slip)
        friction = self.friction * (1.0 - slip) ** self.exponent
        left = float(found.developed_power) - friction
        # a T^2 + w T - left = 0
        torque = (
            left / speed if self.stray == 0.0 else 2.0 * left / (speed + math.sqrt(speed**2 + 4 * self.stray * left))
        )
        return {
            "slip": slip, "speed": speed, "torque": torque, "shaft_power": torque * speed, "voltage": voltage,
            "current": float(found.current), "input_power": float(found.input_power),
            "stator": float(found.stator_loss), "core": float(found.core_loss), "rotor": float(found.rotor_loss),
            "friction_windage": friction, "stray": self.stray * torque**2, "winding_temperature": temperature,
        }  # fmt: skip

    def at(
        self, wanted: float, temperature: float, name: str = "shaft_power", voltage: float | None = None
    ) -> dict[str, float]:
        """The state on the running branch at a shaft power [W] or torque [N*m]."""
        low, high = 1e-9, 0.12
        for _ in range(80):
            middle = 0.5 * (low + high)
            state = self.at_slip(middle, temperature, voltage or self.voltage)
            low, high = (middle, high) if state[name] < wanted else (low, middle)
        return state

    def light(self, voltage: float, temperature: float) -> dict[str, float]:
        """Running without load, uncoupled."""
        return self.at(0.0, temperature, "torque", voltage)


@dataclass(frozen=True)
class LossBench:
    """How the motor is tested: temperatures [K], parts of rated power, and what the brake hides [N*m]."""

    motor: KnownMotor = field(default_factory=KnownMotor)
    temperatures: tuple[float, ...] = (95.0 + ICE,) * 6
    loads: tuple[float, ...] = LOADS
    voltages: tuple[float, ...] = VOLTAGES
    light_temperature: float = 95.0 + ICE
    hidden_drag: float = 0.0
    brake_off_row: bool = False
    relative_noise: float = 0.0  # standard deviation of power and torque
    seed: int = 1
    between: str | None = "lines"
    plate: dict[str, object] = field(default_factory=dict)

    def states(self) -> list[dict[str, float]]:
        """The true load points, heaviest first."""
        rated = self.motor.power
        states = [
            self.motor.at(load * rated, temperature)
            for load, temperature in zip(self.loads, self.temperatures, strict=True)
        ]
        if self.brake_off_row:
            states.append(self.motor.at(max(self.hidden_drag, 1e-6), self.temperatures[-1], "torque"))
        return states

    def job(self) -> Job:
        rated = self.motor.at(self.motor.power, 95.0 + ICE)
        plate = {
            "power": self.motor.power, "voltage": self.motor.voltage, "frequency": 50.0, "poles": 4,
            "speed": rated["speed"], "insulation_class": "B", **self.plate,
        }  # fmt: skip
        job = make_job(conditions=Conditions(supply_frequency=50.0), **plate)
        winding = Winding(cold=ColdWinding(2.0 * self.motor.R1, COLD), between=self.between)
        return replace(job, readings=replace(job.readings, winding=winding))

    def readings(self) -> Readings:
        noise = np.random.default_rng(self.seed)
        states = self.states()
        columns = {
            name: np.array([state[name] for state in states])
            for name in ("speed", "torque", "voltage", "current", "input_power", "winding_temperature")
        }
        columns["torque"] = (columns["torque"] - self.hidden_drag) * (
            1.0 + noise.normal(0, self.relative_noise, len(states))
        )
        columns["input_power"] *= 1.0 + noise.normal(0, self.relative_noise, len(states))
        columns["brake_current"] = np.linspace(5.0, 2.0, len(states))  # rows of one current would be repeats
        if self.brake_off_row:
            columns["brake_current"][-1] = 0.0
        light = [self.motor.light(voltage, self.light_temperature) for voltage in self.voltages]
        others = {}
        if light:
            names = ("voltage", "current", "input_power", "winding_temperature")
            others["no_load"] = make_table(**{name: [state[name] for state in light] for name in names})
        return Readings(make_table(**columns), Zero(), Zero(), others)

    def test(self) -> tuple[Job, Readings, Reduction]:
        """Job, readings and reduction."""
        job, readings = self.job(), self.readings()
        return job, readings, reduce_test(job, make_rig(), readings)


# The same test written as a job file.

RPM = 60.0 / (2.0 * math.pi)
LOAD_TEST = {
    "speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A", "input_power": "W", "brake_current": "A",
    "winding_temperature": "degC",
}  # fmt: skip
NO_LOAD = {"voltage": "V", "current": "A", "input_power": "W"}


def as_written(table, columns):
    """A table of SI values as a person would type it."""
    written = dict(table.columns)
    if "speed" in columns:
        written["speed"] = table.columns["speed"] * RPM
        written["winding_temperature"] = table.columns["winding_temperature"] - ICE
    rows = [[f"{written[name][row]:.6f}" for name in columns] for row in range(table.rows)]
    return {"columns": columns, "rows": rows}


def job_text(bench, **changes):
    readings = bench.readings()
    job = {
        "certificate": {"number": "L-1", "tested_on": "2026-01-01", "tested_by": "a tester"},
        "motor": {"type": "three-phase induction"},
        "nameplate": {
            "power": "5.5 kW", "voltage": "400 V", "frequency": "50 Hz", "poles": 4, "speed": "1435 rpm",
            "insulation_class": "B",
        },
        "rig": "../rig.yaml",
        "conditions": {"supply_frequency": "50 Hz"},
        "readings": {
            "load_test": as_written(readings.load_test, LOAD_TEST),
            "no_load": as_written(readings.others["no_load"], NO_LOAD),
            "winding": {"cold": {"resistance": "1.9 ohm", "temperature": "20 degC"}, "between": "lines"},
        },
    }  # fmt: skip
    for path, value in changes.items():
        *parents, last = path.split("__")
        place = job
        for name in parents:
            place = place[name]
        if value is None:
            del place[last]
        else:
            place[last] = value
    return yaml.safe_dump(job, sort_keys=False)
