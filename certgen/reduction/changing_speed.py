"""What tests of changing speed hand on: sweeps through the curve, and run-downs with the supply off. SI throughout."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SweepGap:
    """Where torque with falling and with rising speed lie furthest apart, the inertia allowed for.

    ``deviation`` [N*m] is the standard uncertainty of their difference by scatter and by what is stated of the inertia.
    ``closing_inertia`` [kg*m^2] is the inertia at the judged shaft with which the two would agree best,
    ``closing_deviation`` its standard deviation by scatter; ``nan`` where the runs do not tell it.
    """

    speed: float  # rad/s of the judged shaft
    falling: float  # N*m
    rising: float
    falling_current: float  # A, nan where not read
    rising_current: float
    deviation: float
    closing_inertia: float
    closing_deviation: float


@dataclass(frozen=True)
class SweepFound:
    """One sweep in single figures; speeds, torques and inertia at the judged shaft.

    ``inertia`` [kg*m^2] is what was allowed for, ``None`` where the rig states none; ``inertia_torque`` [N*m] the most
    it amounted to, in size, in either direction.
    """

    bandwidth: float  # Hz
    falling_runs: int
    rising_runs: int
    greatest_acceleration: float  # rad/s^2, in size
    inertia: float | None
    rotor_included: bool
    inertia_torque: float | None
    gap: SweepGap | None


@dataclass(frozen=True)
class Sure:
    """A value with its expanded uncertainty and coverage factor, ``None`` where something is not stated."""

    value: float
    expanded: float | None = None
    coverage_factor: float | None = None


@dataclass(frozen=True)
class RunDownFound:
    """What one or two run-downs tell.

    ``terms`` are the friction's constant part, its part with speed and its part with speed squared, at the shaft whose
    speed was read [N*m, N*m*s, N*m*s^2]; 0 where the readings do not carry one; all ``None`` without an inertia.
    """

    coasting: str
    lowest: float  # rad/s
    highest: float
    lasted: float  # s
    residual: float  # standard deviation of the speeds about the fit, rad/s; nan with too few rows
    rows: int
    deceleration: float  # at the speed of reference, rad/s^2
    at_speed: float  # the speed of reference: rated speed, or the highest where that was not passed, rad/s
    at_rated: bool
    inertia: Sure | None  # used, or found by a second run with a known load
    inertia_found: bool
    inertia_stated: float | None  # kg*m^2, where a second run found it and the files state it too
    terms: tuple[Sure, Sure, Sure] | None
    friction_torque: Sure | None  # N*m
    friction_loss: Sure | None  # W
    lacking: tuple[str, ...] = ()  # what to state for an inertia, or for the uncertainties


@dataclass(frozen=True)
class RunDownMissing:
    """Why a run-down tells nothing, as the end of a sentence."""

    why: str
