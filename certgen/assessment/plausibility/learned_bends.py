"""How far the curves of a motor bend between its load points.

A relation y over input power (or torque) is written y = a + b*t + c2*L2(t) + c3*L3(t), L the Legendre polynomials and
t in [-1, 1] over the span of the loads. The straight part is the motor's own; how much c2 and c3 may be is common to
all motors of a kind. The figures below were learned on simulated tests of our own (equivalent circuits of random
motors over the usual range of parameters, heating and voltage changing between rows); they have no published source.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Bend:
    """What is known beforehand of one relation, in parts of its rise over the span.

    ``c2`` and ``c3`` are expected at ``square`` and ``cube`` with standard deviations ``square_sd`` and ``cube_sd``.
    The polynomial itself is true to within ``share`` of y and ``part`` of the rise (one standard deviation).
    ``of_mean``: all are parts of the mean of y, for speeds that hardly change.
    """

    square: float
    square_sd: float
    cube: float
    cube_sd: float
    share: float
    part: float
    of_mean: bool = False
    least: float = 1e-6  #: the rise is taken as at least this part of the mean of y


#: kind of motor -> quantity -> bend over input power
OVER_POWER: dict[str, dict[str, Bend]] = {
    "three_phase": {
        "speed": Bend(0.021, 0.020, 0.002, 0.008, 0.018, 0.005),
        "current": Bend(0.15, 0.050, 0.0, 0.012, 0.004, 0.002, least=0.3),
        "torque": Bend(-0.023, 0.018, 0.0, 0.003, 0.002, 0.0015),
    },
    "single_phase": {
        "speed": Bend(0.018, 0.025, 0.001, 0.012, 0.020, 0.008),
        "current": Bend(0.11, 0.070, 0.0, 0.015, 0.006, 0.004, least=0.3),
        "torque": Bend(-0.021, 0.024, 0.0, 0.006, 0.004, 0.006),
    },
    "universal": {
        "speed": Bend(0.060, 0.050, -0.012, 0.030, 0.0, 0.010),
        "current": Bend(0.011, 0.012, 0.001, 0.005, 0.0015, 0.002),
        "torque": Bend(0.028, 0.026, 0.003, 0.009, 0.003, 0.003),
    },
    "series": {
        "speed": Bend(0.095, 0.065, -0.015, 0.035, 0.0, 0.010),
        "current": Bend(0.001, 0.001, 0.001, 0.001, 0.001, 0.001),
        "torque": Bend(0.020, 0.020, 0.0, 0.007, 0.002, 0.002),
    },
    "permanent_magnet": {
        "speed": Bend(0.0, 0.010, 0.0, 0.004, 0.0, 0.004, of_mean=True),
        "current": Bend(0.001, 0.001, 0.001, 0.001, 0.001, 0.001),
        "torque": Bend(-0.010, 0.020, -0.001, 0.005, 0.004, 0.002),
    },
    "shunt": {
        "speed": Bend(0.0, 0.020, 0.0, 0.008, 0.0, 0.012, of_mean=True),
        "current": Bend(0.001, 0.001, 0.001, 0.001, 0.001, 0.001),
        "torque": Bend(-0.007, 0.040, -0.001, 0.015, 0.012, 0.006),
    },
    "unknown": {
        "speed": Bend(0.0, 0.050, 0.0, 0.030, 0.0, 0.010, of_mean=True),
        "current": Bend(0.06, 0.10, 0.0, 0.03, 0.006, 0.006),
        "torque": Bend(-0.010, 0.035, 0.0, 0.010, 0.006, 0.006),
    },
}

#: The same over shaft torque, where nothing gives the input power of an alternating-current motor.
OVER_TORQUE: dict[str, dict[str, Bend]] = {
    "three_phase": {
        "speed": Bend(0.045, 0.035, 0.002, 0.010, 0.015, 0.006),
        "current": Bend(0.15, 0.060, 0.003, 0.015, 0.005, 0.004, least=0.3),
    },
    "single_phase": {
        "speed": Bend(0.045, 0.035, 0.002, 0.014, 0.015, 0.010),
        "current": Bend(0.13, 0.080, 0.003, 0.020, 0.008, 0.006, least=0.3),
    },
    "universal": {
        "speed": Bend(0.055, 0.060, -0.012, 0.035, 0.0, 0.012),
        "current": Bend(-0.017, 0.040, -0.006, 0.012, 0.003, 0.003),
    },
    "unknown": {
        "speed": Bend(0.0, 0.060, 0.0, 0.030, 0.0, 0.012, of_mean=True),
        "current": Bend(0.06, 0.12, 0.0, 0.04, 0.008, 0.008),
    },
}


def bends_of(kind: str, *, over_torque: bool) -> dict[str, Bend]:
    """The bends of a kind of motor, quantity by quantity; those of an unknown motor where the kind has none."""
    table = OVER_TORQUE if over_torque else OVER_POWER
    return table.get(kind, table["unknown"])
