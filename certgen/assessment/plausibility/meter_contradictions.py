"""Readings of electrical meters that contradict each other: watts, volt-amperes, power factor, currents.

Each check takes SI arrays of shape (n,), NaN where a cell is empty, with their standard uncertainties, and returns
entries of evidence. A contradiction counts beyond ``BEYOND`` standard uncertainties, with an allowance for what wave
form and unbalance may make; the allowances are common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np

from certgen.assessment.plausibility.evidence import BEYOND, LOAD_TEST, NO_LOAD, Evidence, Suggestion, entries
from certgen.physics.domain import Array

#: Difference between a power factor and watts over volt-amperes that wave form and unbalance may make. [1]
WAVE_FORM = 0.03
#: Part of the volt-amperes by which two wattmeters may differ from the ammeters by unbalance. [1]
UNBALANCE = 0.08


@np.errstate(all="ignore")
def watts_above_volt_amperes(
    input_power: Array,
    power_uncertainty: Array,
    apparent_power: Array,
    apparent_uncertainty: Array,
    table: str = LOAD_TEST,
) -> tuple[Evidence, ...]:
    """Rows with more watts than volt-amperes.

    Parameters
    ----------
    input_power, power_uncertainty : array, shape (n,)
        [W]
    apparent_power, apparent_uncertainty : array, shape (n,)
        V*I, of three phases sqrt(3)*V*I. [VA]
    table : str

    Returns
    -------
    tuple of Evidence
        Sizes: input_power, apparent_power, power_factor. Suggests phase_for_line (volts or amperes of a phase where a
        line's are wanted) where all rows agree with it, watts_times_ten where they agree with that.
    """
    limit = apparent_power + BEYOND * np.hypot(power_uncertainty, apparent_uncertainty)
    read = np.isfinite(input_power) & np.isfinite(apparent_power) & (apparent_power > 0.0)
    rows = np.flatnonzero(read & (input_power > limit) & (input_power > 1.005 * apparent_power))
    if len(rows) == 0:
        return ()
    factor = input_power / apparent_power
    sizes = {"input_power": input_power, "apparent_power": apparent_power, "power_factor": factor}
    suggestion = None
    if 2 * len(rows) > read.sum():
        highest = float(np.max(factor[read]))
        suggestion = Suggestion("phase_for_line") if 1.0 < highest < 1.03 * math.sqrt(3.0) else None
        suggestion = Suggestion("watts_times_ten") if 3.0 < highest < 10.1 else suggestion
    return entries(
        "watts_above_volt_amperes",
        table,
        rows,
        sizes,
        suggestion=suggestion,
        effect="no_verdict",
        cell="input_power",
        whole=int(read.sum()),
    )


@np.errstate(all="ignore")
def power_factor_against_watts(
    power_factor: Array,
    factor_uncertainty: Array,
    input_power: Array,
    apparent_power: Array,
    *,
    ratio_uncertainty: Array,
    table: str = LOAD_TEST,
) -> tuple[Evidence, ...]:
    """Rows whose power-factor column disagrees with watts over volt-amperes.

    Parameters
    ----------
    power_factor, factor_uncertainty : array, shape (n,)
        As a meter shows it. [1]
    input_power, apparent_power : array, shape (n,)
        [W], [VA]
    ratio_uncertainty : array, shape (n,)
        Standard uncertainty of watts over volt-amperes. [1]
    table : str

    Returns
    -------
    tuple of Evidence
        Sizes: power_factor, watts_over_volt_amperes, difference.
    """
    ratio = input_power / np.where(apparent_power > 0.0, apparent_power, np.nan)
    difference = np.abs(power_factor) - ratio
    rows = np.flatnonzero(np.abs(difference) > BEYOND * np.hypot(factor_uncertainty, ratio_uncertainty) + WAVE_FORM)
    sizes = {"power_factor": power_factor, "watts_over_volt_amperes": ratio, "difference": difference}
    read = int(np.isfinite(difference).sum())
    return entries(
        "power_factor_against_watts",
        table,
        rows,
        sizes,
        suggestion=None,
        effect="caps",
        cell="power_factor",
        whole=read,
    )


@np.errstate(all="ignore")
def lost_sign_of_wattmeter(
    wattmeter_1: Array, wattmeter_2: Array, apparent_power: Array, relative_uncertainty: Array, table: str = LOAD_TEST
) -> tuple[Evidence, ...]:
    """Rows where the two wattmeters agree with the volt-amperes only with the sign of the lighter one turned.

    Two wattmeters on a balanced load give P = W1 + W2 and Q = sqrt(3)*(W1 - W2), so that 2*sqrt(W1^2 + W2^2 - W1*W2)
    is the apparent power; below a power factor of one half the lighter one reads negative.

    Parameters
    ----------
    wattmeter_1, wattmeter_2 : array, shape (n,)
        [W]
    apparent_power : array, shape (n,)
        sqrt(3)*V*I. [VA]
    relative_uncertainty : array, shape (n,)
        Relative standard uncertainty of the comparison. [1]
    table : str

    Returns
    -------
    tuple of Evidence
        Sizes: apparent_power, apparent_of_wattmeters, apparent_with_sign. [VA]
    """

    def apparent(product: Array) -> Array:
        return 2.0 * np.sqrt(np.maximum(wattmeter_1**2 + wattmeter_2**2 - product, 0.0))

    as_read, turned = apparent(wattmeter_1 * wattmeter_2), apparent(-wattmeter_1 * wattmeter_2)
    allowed = (BEYOND * relative_uncertainty + UNBALANCE) * apparent_power
    rows = np.flatnonzero(
        (np.abs(as_read - apparent_power) > allowed) & (np.abs(turned - apparent_power) < 0.5 * allowed)
    )
    sizes = {"apparent_power": apparent_power, "apparent_of_wattmeters": as_read, "apparent_with_sign": turned}
    suggestion = Suggestion("sign_of_lighter_wattmeter")
    read = int(np.isfinite(as_read * apparent_power).sum())
    found: list[Evidence] = []
    for row in rows:
        lighter = "wattmeter_1" if abs(wattmeter_1[row]) < abs(wattmeter_2[row]) else "wattmeter_2"
        found += entries(
            "lost_sign_of_wattmeter",
            table,
            [row],
            sizes,
            suggestion=suggestion,
            effect="no_verdict",
            cell=lighter,
            whole=read,
        )
    return tuple(found)


@np.errstate(all="ignore")
def no_load_watts_above_loaded(
    no_load_power: Array,
    no_load_voltage: Array,
    input_power: Array,
    voltage: Array,
    *,
    torque: Array,
    relative_uncertainty: float,
) -> tuple[Evidence, ...]:
    """Rows of the no-load table that take more watts than a loaded row at about the same voltage.

    Parameters
    ----------
    no_load_power, no_load_voltage : array, shape (k,)
        [W], [V]
    input_power, voltage, torque : array, shape (n,)
        Of the load test. [W], [V], [N*m]
    relative_uncertainty : float
        Relative standard uncertainty of comparing two powers. [1]

    Returns
    -------
    tuple of Evidence
        Sizes: no_load_power, loaded_power [W], load_row.
    """
    found = []
    top = np.nanmax(torque, initial=-np.inf)
    for row, (power, volts) in enumerate(zip(no_load_power, no_load_voltage, strict=True)):
        beside = (np.abs(voltage / volts - 1.0) < 0.03) & (torque > 0.25 * top) & np.isfinite(input_power)
        if not beside.any():
            continue
        least = int(np.flatnonzero(beside)[np.argmin(input_power[beside])])
        if power > input_power[least] * (1.0 + BEYOND * relative_uncertainty + 0.05):
            sizes = {"no_load_power": float(power), "loaded_power": float(input_power[least]), "load_row": float(least)}
            found.append(Evidence("no_load_watts_above_loaded", NO_LOAD, row, "input_power", sizes, None, "caps"))
    return tuple(found)


@np.errstate(all="ignore")
def currents_cannot_sum(
    current_a: Array, current_b: Array, current_c: Array, uncertainty: Array, table: str = LOAD_TEST
) -> tuple[Evidence, ...]:
    """Rows whose three line currents cannot sum to zero: one is greater than the two others together.

    Parameters
    ----------
    current_a, current_b, current_c : array, shape (n,)
        Of a motor on three wires. [A]
    uncertainty : array, shape (n,)
        Standard uncertainty of one current. [A]
    table : str

    Returns
    -------
    tuple of Evidence
        The cell is the greatest current. Sizes: current, sum_of_others. [A]
    """
    currents = np.stack([current_a, current_b, current_c], axis=1)
    greatest = np.max(currents, axis=1)
    others = currents.sum(axis=1) - greatest
    found = []
    for row in np.flatnonzero(greatest - others > BEYOND * math.sqrt(3.0) * uncertainty + 0.01 * others):
        cell = ("current_a", "current_b", "current_c")[int(np.argmax(currents[row]))]
        sizes = {"current": float(greatest[row]), "sum_of_others": float(others[row])}
        found.append(Evidence("currents_cannot_sum", table, int(row), cell, sizes, None, "caps"))
    return tuple(found)


@np.errstate(all="ignore")
def torque_without_power(
    shaft_power: Array, shaft_uncertainty: Array, input_power: Array, input_uncertainty: Array
) -> tuple[Evidence, ...]:
    """Rows that give more at the shaft than they take, or give torque while they take nothing.

    Parameters
    ----------
    shaft_power, shaft_uncertainty : array, shape (n,)
        [W]
    input_power, input_uncertainty : array, shape (n,)
        As read; volt-amperes do where no wattmeter was there. [W]

    Returns
    -------
    tuple of Evidence
        Check ``torque_without_power`` where the input is less than a tenth of the output, else
        ``output_above_input``. Sizes: shaft_power, input_power. [W]
    """
    read = np.isfinite(shaft_power) & np.isfinite(input_power)
    rows = np.flatnonzero(read & (shaft_power - input_power > BEYOND * np.hypot(shaft_uncertainty, input_uncertainty)))
    nothing = [row for row in rows if input_power[row] < 0.1 * shaft_power[row]]
    more = [row for row in rows if row not in nothing]
    sizes = {"shaft_power": shaft_power, "input_power": input_power}
    whole = int(read.sum())
    return (
        *entries(
            "torque_without_power",
            LOAD_TEST,
            nothing,
            sizes,
            suggestion=None,
            effect="no_verdict",
            cell="input_power",
            whole=whole,
        ),
        *entries(
            "output_above_input", LOAD_TEST, more, sizes, suggestion=None, effect="no_verdict", cell=None, whole=whole
        ),
    )
