"""Induction motors by Kirchhoff's voltage law, a computation of the tests' own that uses nothing of the program.

Two meshes a phase, stator and rotor, with the magnetizing branch (and core resistance beside it) in common; the powers
are those of every resistance by itself, so that their sum against the power of the supply is a check of the solution.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize_scalar

Array = NDArray[np.float64]


@dataclass(frozen=True)
class State:
    """What the motor does at n slips, all phases together: A, W, N*m, rad/s; each of shape (n,) or a scalar's."""

    speed: Array
    current: Array
    input_power: Array
    stator_loss: Array
    core_loss: Array
    rotor_loss: Array
    developed_power: Array
    torque: Array  # developed, before friction


@dataclass(frozen=True)
class MeshCircuit:
    """One phase of the star equivalent: ohms, poles, Hz."""

    R1: float
    X1: float
    R2: float
    X2: float
    Xm: float
    poles: int
    frequency: float
    Rc: float = math.inf

    @property
    def field_speed(self) -> float:
        """Of the rotating field. [rad/s]"""
        return 2.0 * math.pi * self.frequency / (self.poles / 2)

    def at(self, phase_voltage: ArrayLike, slip: ArrayLike) -> State:
        """The state at slips on a voltage across one phase [V]. Unknown of the rotor: its current over slip."""
        volts, s = (np.asarray(one, dtype=np.float64) for one in np.broadcast_arrays(phase_voltage, slip))
        common = 1.0 / (1.0 / self.Rc + 1.0 / (1j * self.Xm))
        stator = np.full(s.shape, self.R1 + 1j * self.X1 + common)
        rotor = s * common + self.R2 + 1j * s * self.X2
        meshes = np.stack([stator, -s * common, np.full(s.shape, -common), rotor], axis=-1).reshape(*s.shape, 2, 2)
        supply = np.stack([volts.astype(complex), np.zeros(s.shape, dtype=complex)], axis=-1)
        solved = np.linalg.solve(meshes, supply[..., None])[..., 0]
        of_stator, over_slip = solved[..., 0], solved[..., 1]
        of_rotor = s * over_slip
        rotor_loss = 3.0 * self.R2 * np.abs(of_rotor) ** 2
        across_gap = 3.0 * self.R2 * s * np.abs(over_slip) ** 2
        return State(
            speed=self.field_speed * (1.0 - s),
            current=np.abs(of_stator),
            input_power=3.0 * np.real(volts * np.conj(of_stator)),
            stator_loss=3.0 * self.R1 * np.abs(of_stator) ** 2,
            core_loss=3.0 * np.abs(common * (of_stator - of_rotor)) ** 2 / self.Rc,
            rotor_loss=rotor_loss,
            developed_power=across_gap - rotor_loss,
            torque=across_gap / self.field_speed,
        )

    def breakdown_slip(self, phase_voltage: float) -> float:
        """Slip of the greatest torque, by search."""
        found = minimize_scalar(
            lambda s: -float(self.at(phase_voltage, s).torque), bounds=(1e-4, 1.0), method="bounded",
            options={"xatol": 1e-10},
        )  # fmt: skip
        return float(found.x)
