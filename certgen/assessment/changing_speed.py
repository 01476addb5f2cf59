"""Results of tests of changing speed, as they stand in the results tree; all values in SI."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.quantity import Quantity


@dataclass(frozen=True)
class Sweep:
    """How the load points were made from the log of a sweep; inertia and torques at the judged shaft."""

    bandwidth: Quantity  # of the low-pass, -3 dB
    falling_runs: int
    rising_runs: int
    greatest_acceleration: Quantity  # in size, unit "rad/s^2"
    inertia: Quantity | None = None  # allowed for; None where the rig states none
    inertia_torque: Quantity | None = None  # the most it amounted to
    gap_speed: Quantity | None = None  # where torque with falling and with rising speed lie furthest apart
    falling_torque: Quantity | None = None  # there
    rising_torque: Quantity | None = None
    closing_inertia: Quantity | None = (
        None  # with which both would agree best; from the scatter, standard deviation x 2
    )


@dataclass(frozen=True)
class RunDown:
    """Friction by a run-down with the supply off; torques at the shaft whose speed was read."""

    coasting: str  # motor, rig, or motor and rig
    method: str
    lowest_speed: Quantity
    highest_speed: Quantity
    at_speed: Quantity  # rated speed, or the highest where that was not passed
    at_rated_speed: bool
    deceleration: Quantity  # there, unit "rad/s^2"
    residual: Quantity | None = None  # standard deviation of the speeds about the fit
    inertia: Quantity | None = None
    inertia_found: bool = False  # by the braked run, not stated
    inertia_stated: Quantity | None = None  # where a braked run found it and the files state it too
    friction_torque: Quantity | None = None
    friction_loss: Quantity | None = None
    constant_term: Quantity | None = None  # N*m; None where the readings do not carry the term
    viscous_term: Quantity | None = None  # unit "N*m*s"
    windage_term: Quantity | None = None  # unit "N*m*s^2"
    notes: tuple[str, ...] = ()
