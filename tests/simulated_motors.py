"""Load tests of random motors, computed from equations of this module alone.

Three-phase motors by the equivalent circuit per phase, single-phase motors by the double revolving field (main winding
alone, or main and auxiliary winding with a capacitor), universal and series motors by voltage equation and a
saturating field, permanent-magnet and shunt motors by armature equations (Fitzgerald, Kingsley, Umans: Electric
Machinery, chapters on polyphase induction, single-phase and dc machines). Parameters are drawn over the usual range,
the winding heats during the test, the supply's voltage wanders, the rig reads with errors of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.plausibility.row_relations import LoadRows, TypedColumn
from certgen.assessment.plausibility.scatter_between_rows import meter_spread, speed_spread, torque_spread
from certgen.assessment.plausibility.slips import resolution_of

Array = NDArray[np.float64]
RPM = 2.0 * math.pi / 60.0
G = 9.81
KINDS = ("three_phase", "single_phase", "universal", "series", "permanent_magnet", "shunt")


@dataclass(frozen=True)
class Motor:
    """A random motor: its curves as functions of voltage, winding temperature and load."""

    kind: str
    volts: float
    power: float
    frequency: float
    poles: int
    circuit: dict[str, float] = field(default_factory=dict)

    @property
    def synchronous(self) -> float | None:
        if self.kind in ("three_phase", "single_phase"):
            return 4.0 * math.pi * self.frequency / self.poles
        return None


@dataclass(frozen=True)
class State:
    """What a motor truly does in each row, SI."""

    speed: Array
    torque: Array
    voltage: Array
    current: Array
    power: Array


def random_motor(rng: np.random.Generator, kind: str) -> Motor:
    frequency = float(rng.choice([50.0, 60.0]))
    poles = int(rng.choice([2, 4, 4, 4, 6, 8])) if kind in ("three_phase", "single_phase") else 2
    power = float(np.exp(rng.uniform(math.log(100.0), math.log(15000.0 if kind == "three_phase" else 2500.0))))
    volts = float(rng.choice([230.0, 400.0] if kind == "three_phase" else [115.0, 230.0]))
    if kind in ("permanent_magnet", "shunt", "series"):
        volts = float(rng.choice([12.0, 24.0, 90.0, 180.0, 220.0]))
        if volts < 50.0:
            power = min(power, 500.0)
    size = np.clip((math.log10(power) - 2.0) / 2.2, 0.0, 1.0)  # 0 at 100 W, 1 at 15 kW
    u = rng.uniform
    if kind == "three_phase":
        slow = (poles - 2) / 6.0
        circuit = {
            "r1": (0.11 - 0.085 * size) * u(0.7, 1.4),
            "x1": u(0.06, 0.13),
            "r2": (0.085 - 0.06 * size) * u(0.7, 1.4),
            "x2": u(0.06, 0.15),
            "xm": (1.2 + 1.4 * size) * (1.0 - 0.4 * slow) * u(0.85, 1.3),
            "saturation": u(0.05, 0.35),
            "core": (0.06 - 0.035 * size) * u(0.6, 1.5),
            "friction": (0.03 - 0.02 * size) * u(0.4, 1.6),
            "stray": u(0.005, 0.02),
            "bars": u(0.0, 0.3),
        }
    elif kind == "single_phase":
        circuit = {
            "r1": u(0.05, 0.12), "x1": u(0.06, 0.13), "r2": u(0.04, 0.10), "x2": u(0.05, 0.12),
            "xm": u(1.2, 2.4), "saturation": u(0.05, 0.3), "core": u(0.03, 0.08), "friction": u(0.01, 0.04),
            "capacitor": float(rng.random() < 0.5), "turns": u(0.9, 1.5), "xc": u(1.5, 4.0), "ra": u(0.08, 0.2),
        }  # fmt: skip
    elif kind in ("universal", "series"):
        circuit = {"r": u(0.06, 0.2), "x": u(0.15, 0.5) if kind == "universal" else 0.0, "knee": u(0.4, 2.0),
                   "friction": u(0.01, 0.08), "core": u(0.01, 0.06), "speed": u(3000.0, 20000.0) * RPM}  # fmt: skip
        if kind == "series":
            circuit["speed"] = u(1000.0, 6000.0) * RPM
    else:
        circuit = {"r": u(0.04, 0.25), "friction": u(0.01, 0.08), "core": u(0.005, 0.04), "brush": u(0.0, 0.01),
                   "field": u(0.05, 0.15), "reaction": u(0.0, 0.08), "speed": u(1000.0, 5000.0) * RPM}  # fmt: skip
    return Motor(kind, volts, power, frequency, poles, circuit)


def runs(motor: Motor, torque: Array, voltage: Array, heat: Array) -> State | None:
    """The state in each row at a share of the rated torque (1 at rated current), voltage [pu] and relative heating.

    None where a torque is beyond breakdown.
    """
    solve = {"three_phase": _three_phase, "single_phase": _single_phase}.get(motor.kind, _commutator)
    slips = _axis(motor)
    rated = solve(motor, np.ones(1), slips[None, :], np.zeros(1))
    top = int(np.argmax(rated["torque"][0]))
    rated_torque = _rated_torque(motor, rated, slips, top)
    curves = solve(motor, voltage, np.broadcast_to(slips, (len(torque), len(slips))), heat)
    found = []
    for k, wanted in enumerate(torque * rated_torque):
        rising = curves["torque"][k, : int(np.argmax(curves["torque"][k])) + 1]
        if wanted > rising[-1] * 0.98 or wanted < rising[0] - 1e-9:
            return None
        found.append(float(np.interp(wanted, rising, slips[: len(rising)])))
    return _scaled(motor, solve(motor, voltage, np.array(found)[:, None], heat), voltage)


def past_breakdown(motor: Motor, voltage: Array, heat: Array, places: Array) -> State:
    """States at given slips in units of the breakdown slip (induction motors)."""
    solve = {"three_phase": _three_phase, "single_phase": _single_phase}[motor.kind]
    slips = _axis(motor)
    rated = solve(motor, np.ones(1), slips[None, :], np.zeros(1))
    breakdown = slips[int(np.argmax(rated["torque"][0]))]
    chosen = np.clip(places * breakdown, 1e-4, 0.95)
    return _scaled(motor, solve(motor, voltage, chosen[:, None], heat), voltage)


def _axis(motor: Motor) -> Array:
    if motor.kind in ("three_phase", "single_phase"):
        return np.concatenate([np.linspace(1e-4, 0.12, 240), np.geomspace(0.1205, 0.98, 160)])
    return np.linspace(0.005, 2.2, 500)  # armature current, pu


def _rated_torque(motor: Motor, rated: dict[str, Array], slips: Array, top: int) -> float:
    current, torque = rated["current"][0, : top + 1], rated["torque"][0, : top + 1]
    if motor.kind in ("three_phase", "single_phase"):
        at = int(np.argmin(np.abs(current - 1.0))) if current[-1] > 1.0 else top
        return float(min(torque[at], 0.55 * torque[top]))
    return float(np.interp(1.0, slips[: top + 1], torque))


def _scaled(motor: Motor, pu: dict[str, Array], voltage: Array) -> State:
    """From per unit (power = volts * amperes = 1, speed = 1) to SI; the power of the plate sets the scale."""
    base_speed = motor.synchronous or motor.circuit["speed"]
    phases = math.sqrt(3.0) if motor.kind == "three_phase" else 1.0
    base_current = motor.power / (0.7 * phases * motor.volts)
    base_power = phases * motor.volts * base_current
    flat = {name: values[:, 0] for name, values in pu.items()}
    return State(
        speed=flat["speed"] * base_speed,
        torque=flat["torque"] * base_power / base_speed,
        voltage=voltage * motor.volts,
        current=flat["current"] * base_current,
        power=flat["power"] * base_power,
    )


def _three_phase(motor: Motor, voltage: Array, slip: Array, heat: Array) -> dict[str, Array]:
    c = motor.circuit
    volts = voltage[:, None]
    r1, r2 = c["r1"] * (1.0 + heat)[:, None], c["r2"] * (1.0 + heat)[:, None] * (1.0 + c["bars"] * np.sqrt(slip))
    rotor = r2 / slip + 1j * c["x2"]
    gap = np.ones_like(slip)
    for _ in range(8):
        xm = c["xm"] / (1.0 + c["saturation"] * gap**6)
        branch = 1.0 / (1.0 / (1j * xm) + c["core"] + 1.0 / rotor)
        current = volts / (r1 + 1j * c["x1"] + branch)
        gap = 0.5 * gap + 0.5 * np.abs(current * branch)
    rotor_current = np.abs(current * branch / rotor)
    air_gap = rotor_current**2 * r2 / slip
    speed = 1.0 - slip
    torque = air_gap - c["friction"] * speed - c["stray"] * rotor_current**2
    power = volts * np.real(current)
    return {"speed": speed, "torque": torque, "current": np.abs(current), "power": power}


def _single_phase(motor: Motor, voltage: Array, slip: Array, heat: Array) -> dict[str, Array]:
    c = motor.circuit
    volts = voltage[:, None].astype(complex)
    hot = (1.0 + heat)[:, None]
    xm = 0.5 * c["xm"] / (1.0 + c["saturation"] * np.abs(volts) ** 6)
    forward = 1.0 / (1.0 / (1j * xm) + 1.0 / (0.5 * c["r2"] * hot / slip + 0.5j * c["x2"]))
    backward = 1.0 / (1.0 / (1j * xm) + 1.0 / (0.5 * c["r2"] * hot / (2.0 - slip) + 0.5j * c["x2"]))
    own = c["r1"] * hot + 1j * c["x1"]
    if c["capacitor"]:
        a = c["turns"]
        auxiliary = c["ra"] * hot + 1j * a * a * c["x1"] - 1j * c["xc"]
        m11, m12 = own + forward + backward, -1j * a * (forward - backward)
        m21, m22 = 1j * a * (forward - backward), auxiliary + a * a * (forward + backward)
        determinant = m11 * m22 - m12 * m21
        main, aux = volts * (m22 - m12) / determinant, volts * (m11 - m21) / determinant
        torque = np.abs(main - 1j * a * aux) ** 2 * forward.real - np.abs(main + 1j * a * aux) ** 2 * backward.real
    else:
        main, aux = volts / (own + forward + backward), 0.0
        torque = np.abs(main) ** 2 * (forward.real - backward.real)
    current = main + aux + volts * c["core"]
    speed = 1.0 - slip
    return {
        "speed": speed,
        "torque": torque - c["friction"] * speed,
        "current": np.abs(current),
        "power": np.abs(volts) * current.real,
    }


def _commutator(motor: Motor, voltage: Array, armature: Array, heat: Array) -> dict[str, Array]:
    c = motor.circuit
    volts = voltage[:, None]
    resistance = c["r"] * (1.0 + heat)[:, None]
    if motor.kind in ("universal", "series"):
        flux = np.tanh(armature * c["knee"]) / math.tanh(c["knee"])
        across = np.sqrt(np.maximum(volts**2 - (armature * c["x"]) ** 2, 0.0)) - armature * resistance
        full = math.sqrt(1.0 - c["x"] ** 2) - c["r"]
        speed = np.maximum(across, 0.0) / (full * flux)
        core = c["core"] * flux**2 * np.minimum(speed, 4.0) ** 1.3
        torque = (
            full * flux * armature
            - c["friction"] * (0.3 + 0.7 * np.minimum(speed, 6.0))
            - core / np.maximum(speed, 0.05)
        )
        power = across * armature + armature**2 * resistance
        return {"speed": speed, "torque": torque, "current": np.broadcast_to(armature, power.shape), "power": power}
    field_current = c["field"] * volts / (1.0 + heat)[:, None] if motor.kind == "shunt" else 0.0 * volts
    flux = 1.0 + 0.0 * volts
    if motor.kind == "shunt":
        excitation = volts / (1.0 + heat)[:, None]
        flux = 1.5 * excitation / (0.5 + excitation) * (1.0 - c["reaction"] * armature**2)
    else:
        flux = (1.0 - 0.15 * heat)[:, None] * (1.0 - 0.3 * c["reaction"] * armature**2)
    across = volts - armature * resistance - c["brush"]
    full = 1.0 - c["r"] - c["brush"]
    speed = across / (full * flux)
    torque = full * flux * armature - c["friction"] * (0.5 + 0.5 * speed) - c["core"] * speed
    current = np.broadcast_to(armature + field_current, speed.shape)
    return {"speed": speed, "torque": torque, "current": current, "power": volts * current}


@dataclass(frozen=True)
class Rig:
    """What a bench reads with: limits of error and steps of its displays."""

    meters: float  #: relative limit of the electrical meters
    speed_step: float  #: [rpm]
    speed_limit: float  #: [rpm]
    scale_part: float  #: step of the scale as a part of the greatest reading
    scatter: float  #: true scatter between rows over the stated one
    voltmeter: bool = True
    ammeter: bool = True
    power: str = "wattmeter"  #: wattmeter, two_wattmeters, power_factor, none
    currents: int = 1
    pounds: bool = False


RIGS = (
    Rig(0.005, 0.1, 0.5, 1.0 / 8000.0, 1.0),
    Rig(0.015, 1.0, 1.0, 1.0 / 3000.0, 1.0),
    Rig(0.03, 1.0, 3.0, 1.0 / 800.0, 1.0),
)


@dataclass(frozen=True)
class SimulatedTest:
    """Columns as a person would type them, and what reduces them."""

    motor: Motor
    rig: Rig
    typed: dict[str, Array]
    arm: float
    zero: float
    gear: float
    truth: State
    past: bool = False
    heating: float = 0.0

    def with_typed(self, name: str, row: int, value: float) -> SimulatedTest:
        column = self.typed[name].copy()
        column[row] = value
        return replace(self, typed={**self.typed, name: column})

    def rows(self) -> LoadRows:
        """The readings as the checks take them."""
        typed = self.typed
        kilogram = 0.45359237 if self.rig.pounds else 1.0
        per_scale = kilogram * G * self.arm
        columns = [
            TypedColumn("speed", "speed", typed["speed"], RPM, RPM),
            TypedColumn("scale", "torque", typed["scale"], per_scale, kilogram),
        ]
        made = {"speed": typed["speed"] * RPM, "torque": (typed["scale"] - self.zero) * per_scale}
        currents = [name for name in typed if name.startswith("current")]
        for names, quantity, change in (
            ([name for name in typed if name == "voltage"], "voltage", 1.0),
            (currents, "current", 1.0 / max(len(currents), 1)),
            ([name for name in typed if name in ("input_power", "wattmeter_1", "wattmeter_2")], "input_power", 1.0),
            ([name for name in typed if name == "power_factor"], "power_factor", 1.0),
        ):
            if names:
                columns += [TypedColumn(name, quantity, typed[name], change) for name in names]
                made[quantity] = change * np.sum([typed[name] for name in names], axis=0)
        limits = dict.fromkeys(("voltage", "current", "input_power", "power_factor"), self.rig.meters)
        spread = {
            "speed": speed_spread(
                resolution_of(typed["speed"]) * RPM,
                self.rig.speed_limit * RPM,
                mains_sets_speed=self.motor.synchronous is not None,
            ),
            "torque": torque_spread(resolution_of(typed["scale"]) * per_scale, 2.0 * self.scale_step() * per_scale),
        }
        for quantity, limit in limits.items():
            own = [column for column in columns if column.quantity == quantity]
            if own:
                spread[quantity] = meter_spread(quantity, max(resolution_of(column.values) for column in own), limit)
        excitation = self.motor.kind if self.motor.kind in ("series", "permanent_magnet", "shunt") else None
        return LoadRows(
            kind="dc" if excitation else self.motor.kind,
            excitation=excitation,
            synchronous_speed=self.motor.synchronous,
            gear_ratio=self.gear,
            spread=spread,
            columns=tuple(columns),
            speed=made["speed"],
            torque=made["torque"],
            voltage=made.get("voltage"),
            current=made.get("current"),
            input_power=made.get("input_power"),
            power_factor=made.get("power_factor"),
        )

    def scale_step(self) -> float:
        return _step(float(np.max(np.abs(self.typed["scale"]))) * self.rig.scale_part)


def _step(size: float) -> float:
    """The power of ten next to a size."""
    return float(10.0 ** round(math.log10(max(size, 1e-9))))


def _written(values: Array, step: float) -> Array:
    places = max(0, -round(math.log10(step)))
    return np.round(np.round(values / step) * step, places)


def random_rig(rng: np.random.Generator, kind: str) -> Rig:
    rig = RIGS[int(rng.integers(3))]
    choice = rng.random()
    power = "wattmeter"
    if kind == "three_phase":
        power = (
            "wattmeter"
            if choice < 0.6
            else "two_wattmeters"
            if choice < 0.8
            else "power_factor"
            if choice < 0.9
            else "none"
        )
    elif kind in ("single_phase", "universal"):
        power = "wattmeter" if choice < 0.7 else "power_factor" if choice < 0.8 else "none"
    else:
        power = "wattmeter" if choice < 0.15 else "none"
    voltmeter = bool(rng.random() > 0.12) or power in ("power_factor", "two_wattmeters")
    currents = 3 if kind == "three_phase" and rng.random() < 0.3 else 1
    return replace(
        rig, power=power, voltmeter=voltmeter, currents=currents, pounds=bool(rng.random() < 0.2),
        scatter=float(rng.uniform(0.5, 1.1)), ammeter=bool(rng.random() > 0.05 and voltmeter) or power != "wattmeter",
    )  # fmt: skip


def random_loads(rng: np.random.Generator, count: int) -> Array:
    top = rng.uniform(0.9, 1.35)
    bottom = rng.uniform(0.0, 0.35)
    if rng.random() < 0.5:
        loads = np.linspace(bottom, top, count)
        loads = loads + rng.normal(0.0, 0.02, count)
    else:
        loads = np.concatenate([[bottom, top], rng.uniform(bottom, top, count - 2)])
    loads = np.clip(loads, 0.0, None)
    order = rng.random()
    return np.sort(loads) if order < 0.4 else np.sort(loads)[::-1] if order < 0.7 else rng.permutation(loads)


def random_test(
    rng: np.random.Generator,
    kind: str,
    count: int,
    *,
    past: bool = False,
    scatter: float | None = None,
    rig: Rig | None = None,
) -> SimulatedTest:
    """A sound load test of a random motor."""
    while True:
        motor = random_motor(rng, kind)
        rig_here = rig or random_rig(rng, kind)
        rig_here = rig_here if scatter is None else replace(rig_here, scatter=scatter)
        loads = random_loads(rng, count)
        if motor.kind in ("universal", "series"):
            loads = np.maximum(loads, rng.uniform(0.15, 0.4))
        wander = 10.0 ** rng.uniform(math.log10(0.002), math.log10(0.02))
        voltage = rng.uniform(0.95, 1.05) * (1.0 + rng.normal(0.0, wander, count) - rng.uniform(0.0, wander) * loads)
        heating, pace = rng.uniform(0.0, 0.25), rng.uniform(0.3, 1.5)  # 0.25: 60 K of copper
        heat = heating * (1.0 - np.exp(-pace * np.linspace(0.0, 1.0, count))) + rng.uniform(0.0, 0.2)
        if past:
            places = np.concatenate([np.linspace(0.03, rng.uniform(0.4, 0.7), count - 3), rng.uniform(0.9, 3.0, 3)])
            state: State | None = past_breakdown(motor, voltage, heat, np.sort(places))
        else:
            state = runs(motor, loads, voltage, heat)
        if state is None or np.any(state.power <= 0.0) or np.any(state.speed <= 0.0) or np.any(state.torque < 0.0):
            continue
        if np.max(state.power) < 1.25 * np.min(state.power):  # a motor nobody builds: its input hardly knows the load
            continue
        return _read(rng, motor, rig_here, state, past, float(heating))


def _read(rng: np.random.Generator, motor: Motor, rig: Rig, state: State, past: bool, heating: float) -> SimulatedTest:
    count = len(state.speed)
    gear = float(rng.uniform(5.0, 40.0)) if rng.random() < 0.12 else 1.0
    efficiency = rng.uniform(0.75, 0.95) if gear > 1.0 else 1.0
    motor_side = state.torque * efficiency
    arm = float(rng.choice([0.2, 0.3, 0.5]))
    kilogram = 0.45359237 if rig.pounds else 1.0
    scale = motor_side * gear / (G * arm * kilogram) * (1.0 + rng.uniform(-0.5, 0.5) * 0.01)
    step = _step(float(np.max(np.abs(scale))) * rig.scale_part)
    zero = float(np.round(rng.uniform(-3.0, 3.0)) * step)

    def noise(size: float | Array) -> Array:
        return rng.normal(0.0, 1.0, count) * size * rig.scatter

    mains = 3e-4 if motor.synchronous else 5e-4
    speed_step = rig.speed_step if np.max(state.speed / gear / RPM) > 300.0 else 0.1 * rig.speed_step
    typed = {
        "speed": _written(
            state.speed / gear / RPM * (1.0 + noise(mains))
            + noise(0.35 * rig.speed_limit * speed_step / rig.speed_step),
            speed_step,
        ),
        "scale": _written(scale * (1.0 + noise(0.002)) + zero + noise(0.7 * step), step),
    }

    def meter(values: Array, part: float, digits: float) -> Array:
        gained = values * (1.0 + rng.uniform(-1.0, 1.0) * rig.meters) * (1.0 + noise(part * rig.meters))
        return _written(gained, _step(float(np.max(np.abs(values))) / digits))

    digits = float(rng.choice([400.0, 2000.0])) if rig.meters > 0.01 else 3000.0
    if rig.voltmeter:
        typed["voltage"] = meter(state.voltage, 0.25, digits)
    if rig.currents == 3:
        for name, share in zip(("current_a", "current_b", "current_c"), 1.0 + rng.uniform(-0.02, 0.02, 3), strict=True):
            typed[name] = meter(state.current * share, 0.25, digits)
    elif rig.ammeter:
        typed["current"] = meter(state.current, 0.25, digits)
    phases = math.sqrt(3.0) if motor.kind == "three_phase" else 1.0
    apparent = phases * state.voltage * state.current
    if rig.power == "wattmeter":
        typed["input_power"] = meter(state.power, 0.20, digits)
    elif rig.power == "two_wattmeters":
        lag = np.arccos(np.clip(state.power / apparent, 0.0, 1.0))
        typed["wattmeter_1"] = meter(apparent / math.sqrt(3.0) * np.cos(lag - math.pi / 6.0), 0.20, digits)
        typed["wattmeter_2"] = meter(apparent / math.sqrt(3.0) * np.cos(lag + math.pi / 6.0), 0.20, digits)
    elif rig.power == "power_factor":
        typed["power_factor"] = np.clip(
            _written((state.power / apparent) * (1.0 + noise(0.25 * rig.meters)), 0.001), 0.0, 1.0
        )
    return SimulatedTest(motor, rig, typed, arm, zero, gear, state, past, heating)
