"""Load points: every quantity of a row from its torque, speed and electrical input."""

from __future__ import annotations

import numpy as np

from certgen.physics import electrics
from certgen.physics.domain import Array
from certgen.physics.induction import slip
from certgen.physics.mechanics import shaft_power
from certgen.reduction.electrical import ElectricalInput
from certgen.reduction.model import LoadPoints

#: A point below this part of the greatest tested torque counts as running without load.
NO_LOAD_PART = 0.03
#: A point below this part of it runs near enough to synchronous speed to tell the number of poles.
LIGHT_PART = 1.0 / 3.0


def load_points(
    *,
    speed: Array,
    torque: Array,
    electrical: ElectricalInput,
    synchronous_speed: Array,
    frequency: Array,
    temperature: Array,
    time: Array,
    remarks: tuple[str, ...],
) -> LoadPoints:
    """Derive slip, shaft power, efficiency and losses and put the points together.

    Parameters
    ----------
    speed, torque : array, shape (n,)
        Of the judged shaft. [rad/s], [N*m]
    electrical : ElectricalInput
        Electrical side, arrays of shape (n,).
    synchronous_speed : array, shape (n,)
        At the judged shaft, ``nan`` where there is none. [rad/s]
    frequency, temperature, time : array, shape (n,)
        As measured. [Hz], [K], [s]
    remarks : tuple of str, length n
        The bench's words on each row.

    Returns
    -------
    LoadPoints
        The same n points with everything that follows from them. [SI]

    References
    ----------
    IEC 60034-2-1, direct measurement of efficiency (from memory): output over input, losses their difference.
    """
    output = np.asarray(shaft_power(torque, speed))
    return LoadPoints(
        speed=speed,
        slip=np.asarray(slip(speed, synchronous_speed)),
        torque=torque,
        shaft_power=output,
        input_power=electrical.active,
        apparent_power=electrical.apparent,
        current=electrical.current,
        voltage=electrical.voltage,
        power_factor=electrical.power_factor,
        efficiency=np.asarray(electrics.efficiency(output, electrical.active)),
        losses=np.asarray(electrics.losses(output, electrical.active)),
        temperature=temperature,
        current_unbalance=electrical.current_unbalance,
        voltage_unbalance=electrical.voltage_unbalance,
        frequency=frequency,
        time=time,
        remarks=remarks,
    )


def lightest_index(torque: Array) -> int | None:
    """Row of the lightest load, if it is light against the greatest.

    Parameters
    ----------
    torque : array, shape (n,)
        Torque of every row. [N*m]

    Returns
    -------
    int or None
        Index of the least torque in size, or ``None`` where even that is above a third of the greatest.
    """
    if torque.size < 2 or not np.isfinite(torque).any():
        return None
    least, greatest = int(np.nanargmin(np.abs(torque))), float(np.nanmax(torque))
    return least if greatest > 0.0 and abs(torque[least]) <= LIGHT_PART * greatest else None


def is_without_load(torque: Array, row: int) -> bool:
    """Whether a row [index] of torques [N*m], shape (n,), is so light that the motor ran without load."""
    return bool(abs(torque[row]) <= NO_LOAD_PART * np.nanmax(torque))
