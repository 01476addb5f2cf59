"""What stands beside the tables of a run-down test: what coasted, and what braked it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from certgen.document.build import Toleranced as TolerancedValue
from certgen.document.vocabulary import Choice, Measure, Toleranced, key
from certgen.job.columns import COLUMNS

MOTOR, RIG, MOTOR_AND_RIG = "motor", "rig", "motor and rig"


def _positive(dimension: str, example: str) -> Toleranced:
    return Toleranced(Measure(dimension, above=0.0, example=example, bounds="more than zero"))


@dataclass(frozen=True)
class Coasting:
    """What turned while the speed fell, and how much inertia it has."""

    coasting: str | None = key(Choice((MOTOR, RIG, MOTOR_AND_RIG)), "What turned on.", required=True)
    inertia: TolerancedValue | None = key(
        _positive("inertia", "0.007 kg*m^2"),
        "Of all that turned, at the shaft whose speed was read; left out: motor.rotor_inertia and the rig's inertia.",
    )


@dataclass(frozen=True)
class Braking:
    """The known load that was added for the second run; one of the two."""

    added_torque: TolerancedValue | None = key(_positive("torque", "0.5 N*m"), "Torque added, the same at all speeds.")
    added_power: TolerancedValue | None = key(_positive("power", "1 kW"), "Power added, the same at all speeds.")


RUN_DOWN_COLUMNS = {
    name: replace(kind, evaluated=name in ("time", "speed", "remark"))
    for name, kind in COLUMNS.items()
    if name in ("time", "speed", "voltage", "current", "frame_temperature", "ambient_temperature", "remark")
}
