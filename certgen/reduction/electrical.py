"""Electrical input of each row, from whatever meters there were."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.job.model import DC, OTHER, THREE_PHASE
from certgen.physics import electrics
from certgen.physics.domain import Array
from certgen.readings.model import Table


@dataclass(frozen=True, eq=False)
class ElectricalInput:
    """Electrical side of the load test, each shape (n,), ``nan`` where not measured.

    voltage [V] and current [A] are means of the lines where three were read; active [W], apparent [VA].
    """

    voltage: Array
    current: Array
    active: Array
    apparent: Array
    power_factor: Array
    voltage_unbalance: Array
    current_unbalance: Array


def electrical_input(table: Table, motor_type: str) -> ElectricalInput:
    """Voltage, current, power and power factor of every row.

    Parameters
    ----------
    table : Table
        The load test; any of the electrical columns. [SI]
    motor_type : str
        Kind of motor; decides how volts and amps make apparent power.

    Returns
    -------
    ElectricalInput
        Arrays of shape (n,).

    Notes
    -----
    Power in comes from a wattmeter, else from two, else from volts x amps x power factor, else (direct
    current) from volts x amps. The power factor is active over apparent power, else the meter's own.

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 19 (three-phase power, two wattmeters).
    """
    voltage, voltage_unbalance = _lines(table, "voltage", ("voltage_ab", "voltage_bc", "voltage_ca"))
    current, current_unbalance = _lines(table, "current", ("current_a", "current_b", "current_c"))
    apparent = apparent_power(voltage, current, motor_type)
    metered = table.column("power_factor")
    active = _active(table, apparent, (voltage, current), motor_type)
    measured = np.asarray(electrics.power_factor(active, apparent))
    if "wattmeter_1" in table.columns and "power_factor" not in table.columns:
        metered = np.asarray(
            electrics.two_wattmeter_power_factor(table.column("wattmeter_1"), table.column("wattmeter_2"))
        )
    factor = np.where(np.isfinite(measured), measured, metered)
    return ElectricalInput(voltage, current, active, apparent, factor, voltage_unbalance, current_unbalance)


def _lines(table: Table, mean: str, lines: tuple[str, str, str]) -> tuple[Array, Array]:
    if lines[0] not in table.columns:
        return table.column(mean), np.full(table.rows, np.nan)
    values = [table.column(name) for name in lines]
    return np.asarray(electrics.mean_of_lines(*values)), np.asarray(electrics.unbalance(*values))


def apparent_power(voltage: Array, current: Array, motor_type: str) -> Array:
    """Apparent power by the kind of motor.

    Parameters
    ----------
    voltage, current : array, shape (n,)
        Line values where there are three phases. [V], [A]
    motor_type : str
        Kind of motor.

    Returns
    -------
    array, shape (n,)
        sqrt(3) V I or V I; ``nan`` for direct current and for other machines, which have none. [VA]
    """
    if motor_type == THREE_PHASE:
        return np.asarray(electrics.three_phase_apparent_power(voltage, current))
    if motor_type in (DC, OTHER):
        return np.full(voltage.shape, np.nan)
    return np.asarray(electrics.single_phase_apparent_power(voltage, current))


def _active(table: Table, apparent: Array, supply: tuple[Array, Array], motor_type: str) -> Array:
    active = table.column("input_power")
    if "wattmeter_1" in table.columns:
        total = electrics.two_wattmeter_power(table.column("wattmeter_1"), table.column("wattmeter_2"))
        active = np.asarray(total)
    by_factor = np.asarray(electrics.active_power(apparent, table.column("power_factor")))
    active = np.where(np.isfinite(active), active, by_factor)
    if motor_type == DC:
        active = np.where(np.isfinite(active), active, electrics.direct_current_power(*supply))
    return active
