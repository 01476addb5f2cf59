"""A plate with two ratings: which of them the readings were taken at."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.job.plate_ratings import BY_READINGS, undecided, with_choice
from certgen.job.rig import Rig
from certgen.physics.domain import Array
from certgen.physics.induction import synchronous_speed
from certgen.physics.mechanics import gear_motor_speed
from certgen.readings.model import Readings, Table
from certgen.reduction.electrical import electrical_input
from certgen.reduction.speed import gear_ratio, shaft_speeds

#: Readings below this part of the greatest are of a motor that was switched off or starting. [1]
_SWITCHED_ON = 0.5
#: Farther from every voltage of the plate the readings tell nothing. [1] Common practice, no source.
_FARTHEST_VOLTAGE = 0.30
#: The same for the frequency. [1] Common practice, no source.
_FARTHEST_FREQUENCY = 0.08
#: Reading of a tachometer above the true speed at most, as part of it. [1] Common practice, no source.
_TACHOMETER = 0.005
#: Slip of an induction motor at its lightest load at most. [1] Common practice, no source.
_LIGHT_SLIP = 0.03
_MOST_POLES = 12


def rated_as_tested(job: Job, rig: Rig, readings: Readings) -> Job:
    """The job with the rating of its plate that the readings belong to.

    Parameters
    ----------
    job : Job
        Its plate may have several values in one place; those that the job itself decides stay as decided. [SI]
    rig : Rig
        Its drive, for the speed of the tested shaft.
    readings : Readings
        The load test. [SI]

    Returns
    -------
    Job
        The voltage is the nearest to that read, the frequency the nearest to that read or stated; an induction motor's
        speed, where no frequency is known, is the greatest that it passed at its lightest load. What goes with them on the
        plate is that of the same place; what nothing shows stays open.
    """
    if not undecided(job.nameplate):
        return job
    table = readings.load_test
    known = {"voltage": _voltage(job, table), "frequency": _frequency(job, table)}
    chosen = {name: index for name, index in known.items() if index is not None}
    plate = with_choice(job.nameplate, chosen, BY_READINGS)
    by_speed = _by_speed(replace(job, nameplate=plate), rig, table)
    return replace(job, nameplate=with_choice(plate, by_speed, BY_READINGS))


def _open_values(job: Job, name: str) -> tuple[float, ...]:
    found = undecided(job.nameplate).get(name)
    return () if found is None else found.values


def _voltage(job: Job, table: Table) -> int | None:
    return _nearest(
        _running(electrical_input(table, job.motor.type).voltage), _open_values(job, "voltage"), _FARTHEST_VOLTAGE
    )


def _frequency(job: Job, table: Table) -> int | None:
    measured = _running(table.column("frequency"))
    stated = job.conditions.supply_frequency
    known = measured if math.isfinite(measured) else (math.nan if stated is None else stated)
    return _nearest(known, _open_values(job, "frequency"), _FARTHEST_FREQUENCY)


def _running(values: Array) -> float:
    """The middle of the readings taken while the motor was on."""
    known = values[np.isfinite(values)]
    if not known.size:
        return math.nan
    return float(np.median(known[known >= _SWITCHED_ON * known.max()]))


def _nearest(value: float, plate: tuple[float, ...], farthest: float) -> int | None:
    if not plate or not math.isfinite(value) or value <= 0.0:
        return None
    distances = [abs(math.log(value / one)) for one in plate]
    nearest = int(np.argmin(distances))
    return nearest if distances[nearest] <= farthest else None


def _by_speed(job: Job, rig: Rig, table: Table) -> dict[str, int]:
    """An induction motor runs at its lightest load between its rated and its synchronous speed."""
    speeds, frequencies = _open_values(job, "speed"), _open_values(job, "frequency")
    read, _ = shaft_speeds(table.column("speed"), rig)
    if job.motor.type not in INDUCTION or not np.isfinite(read).any():
        return {}
    lightest = float(np.nanmax(read))
    if speeds:
        passed = [(speed, index) for index, speed in enumerate(speeds) if speed <= lightest * (1.0 + _TACHOMETER)]
        index = max(passed)[1] if passed else None
        if index is None:
            return {}
        return {"speed": index, "frequency": index} if len(frequencies) == len(speeds) else {"speed": index}
    fitting = [index for index, hertz in enumerate(frequencies) if _fits(job, lightest, hertz)]
    return {"frequency": fitting[0]} if len(fitting) == 1 else {}


def _fits(job: Job, lightest: float, frequency: float) -> bool:
    """Whether a synchronous speed of this frequency lies just above the speed at the lightest load."""
    poles = job.nameplate.poles
    of_motor = float(gear_motor_speed(lightest, gear_ratio(job)))
    for count in range(2, _MOST_POLES + 1, 2) if poles is None else (poles,):
        slip = 1.0 - of_motor / float(synchronous_speed(frequency, count))
        if -_TACHOMETER <= slip <= _LIGHT_SLIP:
            return True
    return False
