"""Induction motors by their equivalent circuits: three-phase cages, and single-phase ones by revolving fields.

Sources: A. E. Fitzgerald, C. Kingsley Jr., S. D. Umans, Electric Machinery, chapters 6 and 9 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulated_tests.motor import ALUMINIUM, Array, Running, warmer

#: How magnetising current bends upwards with flux: share of it that saturates, and its power. Common practice, no source.
SATURATING, BEND = 0.3, 7.0


def _magnetising(reactance: float, flux: Array) -> Array:
    """Magnetising reactance at a part of rated flux [ohm]."""
    return reactance / (1.0 - SATURATING + SATURATING * np.minimum(flux, 1.4) ** (BEND - 1.0))


def _friction(torque: float, part: Array) -> Array:
    """Torque of bearings and fan at a part of synchronous speed [N*m]: half of it a fan's. Common practice, no source."""
    return torque * (0.5 + 0.5 * part**2)


@dataclass(frozen=True)
class ThreePhaseCage:
    """One phase of a star at rated frequency and hot; reactances grow with frequency, resistances with temperature."""

    name: str
    power: float
    voltage: float
    frequency: float
    poles: int
    hot: float
    R1: float
    X1: float
    R2: float
    X2: float
    Xm: float
    Rc: float
    E0: float  # voltage across the magnetising branch at the rating [V]
    friction: float  # torque at synchronous speed [N*m]
    stray: float  # stray load loss at synchronous speed over the rotor's current squared [ohm]
    kind: str = "three-phase induction"
    phases: int = 3

    def states(self) -> Array:
        return np.concatenate([np.linspace(0.0, 0.2, 41), np.geomspace(0.21, 1.0, 30)])

    def at(self, state: Array, voltage: Array, frequency: Array, temperature: Array) -> Running:
        slip = np.asarray(state)
        k = frequency / self.frequency
        synchronous = 4.0 * np.pi * frequency / self.poles
        R1, R2 = warmer(self.R1, temperature, self.hot), warmer(self.R2, temperature, self.hot, ALUMINIUM)
        V = voltage / np.sqrt(3.0)
        Z1 = R1 + 1j * k * self.X1
        y2 = slip / (R2 + 1j * slip * k * self.X2)
        yc = 1.0 / (self.Rc * k**0.7)
        E = V * 0.93 + 0.0 * slip
        for part in (0.75, 0.75, 0.75, 0.75, 1.0):  # damped: more voltage, less reactance, less voltage
            ym = 1.0 / (1j * k * _magnetising(self.Xm, np.abs(E) / (k * self.E0)))
            E = E + part * (V / (1.0 + Z1 * (y2 + yc + ym)) - E)
        stator = (V - E) / Z1
        rotor = np.abs(E * y2) ** 2
        across = 3.0 * np.abs(E) ** 2 * y2.real
        speed = (1.0 - slip) * synchronous
        rubbed, stray = _friction(self.friction, speed / synchronous), 3.0 * self.stray * rotor / synchronous
        return Running(
            speed=speed,
            torque=across / synchronous - rubbed - stray,
            current=np.abs(stator),
            voltage=voltage + 0.0 * slip,
            input_power=3.0 * (V * np.conj(stator)).real,
            losses={
                "stator": 3.0 * np.abs(stator) ** 2 * R1,
                "core": 3.0 * np.abs(E) ** 2 * yc,
                "rotor": slip * across,
                "friction": rubbed * speed,
                "stray": stray * speed,
            },
            phases=3,
        )


@dataclass(frozen=True)
class Wanted:
    """What a three-phase motor shall do at its rating."""

    power: float  # [W]
    voltage: float  # [V]
    frequency: float  # [Hz]
    poles: int
    slip: float
    efficiency: float
    power_factor: float
    hot: float  # [degC]


def cage_of(wanted: Wanted, leakage: tuple[float, float], shares: tuple[float, float, float]) -> ThreePhaseCage | None:
    """The circuit whose rating is exactly the wanted one, or ``None`` where there is none.

    Parameters
    ----------
    leakage : two floats
        Leakage reactance of stator and rotor as parts of rated phase voltage over current.
    shares : three floats
        Friction, stray load loss and core loss as parts of all losses.
    """
    synchronous = 4.0 * np.pi * wanted.frequency / wanted.poles
    speed = (1.0 - wanted.slip) * synchronous
    taken = wanted.power / wanted.efficiency
    friction, stray, core = (share * (taken - wanted.power) for share in shares)
    across = (wanted.power + friction + stray) / (1.0 - wanted.slip)
    stator = taken - core - across
    V = wanted.voltage / np.sqrt(3.0)
    size = taken / (3.0 * V * wanted.power_factor)
    current = size * (wanted.power_factor - 1j * np.sqrt(1.0 - wanted.power_factor**2))
    X1, X2 = (part * V / size for part in leakage)
    R1 = stator / (3.0 * size**2)
    E = V - current * (R1 + 1j * X1)
    half = 0.5 * abs(E) ** 2 / (across / 3.0)
    if stator <= 0.05 * (taken - wanted.power) or half <= X2:
        return None
    over_slip = half + np.sqrt(half**2 - X2**2)  # R2 / s, the stable one of the two
    rotor = across / 3.0 / over_slip
    magnetising = (E * np.conj(current)).imag - rotor * X2
    if magnetising <= 0.15 * V * size:
        return None
    part = speed / synchronous
    return ThreePhaseCage(
        "three-phase cage", wanted.power, wanted.voltage, wanted.frequency, wanted.poles, wanted.hot,
        R1=R1, X1=X1, R2=wanted.slip * over_slip, X2=X2, Xm=abs(E) ** 2 / magnetising, Rc=3.0 * abs(E) ** 2 / core,
        E0=abs(E), friction=friction / speed / (0.5 + 0.5 * part**2), stray=stray / part / (3.0 * rotor),
    )  # fmt: skip


@dataclass(frozen=True)
class SinglePhaseCage:
    """A main winding, and where ``capacitor`` is not 0 an auxiliary one that stays in circuit.

    Each winding's field is taken apart into one that turns with the rotor and one against it. The auxiliary winding has
    ``ratio`` times the turns of the main one.
    """

    name: str
    power: float
    voltage: float
    frequency: float
    poles: int
    hot: float
    R1: float
    X1: float
    R2: float
    X2: float
    Xm: float
    core: float  # loss at rated voltage and frequency [W]
    friction: float  # torque at synchronous speed [N*m]
    ratio: float = 1.0
    auxiliary: float = 0.0  # its resistance hot [ohm]
    capacitor: float = 0.0  # [F]
    kind: str = "single-phase induction"
    phases: int = 1

    def states(self) -> Array:
        return np.concatenate([np.linspace(0.0, 0.3, 61), np.geomspace(0.31, 1.0, 20)])

    def _field(self, slip: Array, k: Array, flux: Array, R2: Array) -> Array:
        """Half of the impedance that one of the two turning fields stands for [ohm]."""
        magnetising = 1.0 / (1j * k * _magnetising(self.Xm, flux))
        return 0.5 / (magnetising + slip / (R2 + 1j * slip * k * self.X2))

    def at(self, state: Array, voltage: Array, frequency: Array, temperature: Array) -> Running:
        slip = np.asarray(state)
        k = frequency / self.frequency
        synchronous = 4.0 * np.pi * frequency / self.poles
        R1, R2 = warmer(self.R1, temperature, self.hot), warmer(self.R2, temperature, self.hot, ALUMINIUM)
        flux = voltage / (k * self.voltage)
        Zf, Zb = (self._field(one, k, flux, R2) for one in (slip, 2.0 - slip))
        main, own, coupled = R1 + 1j * k * self.X1, Zf + Zb, 1j * self.ratio * (Zf - Zb)
        Ra = warmer(self.auxiliary, temperature, self.hot)
        if self.capacitor > 0.0:
            other = Ra + 1j * k * self.ratio**2 * self.X1 - 1j / (2.0 * np.pi * frequency * self.capacitor)
            across = other + self.ratio**2 * own
            whole = (main + own) * across + coupled * coupled
            Im, Ia = voltage * (across + coupled) / whole, voltage * (main + own - coupled) / whole
        else:
            Im = voltage / (main + own)
            Ia = 0.0 * Im
        forward = np.abs(Im - 1j * self.ratio * Ia) ** 2 * Zf.real
        backward = np.abs(Im + 1j * self.ratio * Ia) ** 2 * Zb.real
        core = self.core * flux**2 * k**1.3
        line = Im + Ia + core / voltage
        speed = (1.0 - slip) * synchronous
        rubbed = _friction(self.friction, speed / synchronous)
        return Running(
            speed=speed,
            torque=(forward - backward) / synchronous - rubbed,
            current=np.abs(line),
            voltage=voltage + 0.0 * slip,
            input_power=voltage * line.real,
            losses={
                "stator": np.abs(Im) ** 2 * R1 + np.abs(Ia) ** 2 * Ra,
                "core": core + 0.0 * slip,
                "rotor": slip * forward + (2.0 - slip) * backward,
                "friction": rubbed * speed,
            },
        )
