"""The readings of a load point as one point in a space where a motor's load points lie on a smooth curve.

All rows are brought to one voltage; input power is the abscissa (shaft torque where nothing gives the power of an
alternating-current motor), over which slip, the square of the current and torque bend least. How each reading moves
the point is kept beside it, so that readings shared by two axes (the voltage; a current from which the power was
formed) bring their correlation along.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from certgen.assessment.plausibility.learned_bends import Bend, bends_of
from certgen.assessment.plausibility.scatter_between_rows import Spread
from certgen.physics.domain import Array

#: quantities a row may hold, in the order they are tried
QUANTITIES = ("speed", "torque", "voltage", "current", "input_power", "power_factor")
#: How much the voltage may have differed between rows where nobody read it. Common practice, no source.
VOLTAGE_NOT_READ = 0.01
#: A voltage further from the others than this is taken at the bound. [1]
VOLTAGE_BOUNDS = (0.01, 100.0)
INDUCTION = ("three_phase", "single_phase")


@dataclass(frozen=True)
class TypedColumn:
    """A column as somebody typed it, and what it does to the quantity made of it.

    ``change`` is the change of the quantity [SI] for one typed unit, the same in all rows (a scale in kg feeds the
    torque with gravity times arm; one of three line currents feeds the current with a third). ``to_si`` is the SI
    value of one typed unit.
    """

    name: str
    quantity: str
    values: Array
    change: float = 1.0
    to_si: float = 1.0


@dataclass(frozen=True)
class LoadRows:
    """A load test as read and as reduced; arrays of shape (n,), NaN where a cell is empty.

    ``kind``: three_phase, single_phase, universal, dc or other. ``excitation`` of a dc motor: permanent_magnet,
    shunt, separate, series, compound, or None. ``speed`` [rad/s] and ``torque`` [N*m, net of zero and tare] at the
    shaft that was braked, ``gear_ratio`` the motor's speed over it. ``voltage`` [V, between lines], ``current`` [A],
    ``input_power`` [W, as wattmeters show it, None without any], ``power_factor`` [1, as a meter shows it].
    ``synchronous_speed`` [rad/s] of the motor itself. ``spread`` by quantity, ``columns`` as typed.
    """

    kind: str
    speed: Array
    torque: Array
    voltage: Array | None = None
    current: Array | None = None
    input_power: Array | None = None
    power_factor: Array | None = None
    spread: Mapping[str, Spread] = field(default_factory=dict)
    columns: tuple[TypedColumn, ...] = ()
    excitation: str | None = None
    synchronous_speed: float | None = None
    gear_ratio: float = 1.0


def machine_of(kind: str, excitation: str | None) -> str:
    """The kind of curve: a key of the table of bends."""
    if kind in (*INDUCTION, "universal"):
        return kind
    if kind == "dc":
        by_excitation = {"separate": "permanent_magnet", "permanent_magnet": "permanent_magnet", "shunt": "shunt"}
        return "series" if excitation == "series" else by_excitation.get(excitation or "", "unknown")
    return "unknown"


@dataclass(frozen=True)
class Axis:
    """One coordinate: the quantity it shows, in which form, and with which power of the voltage it goes."""

    quantity: str
    form: str  #: slip, log, square or plain
    voltage_power: float
    voltage_error: float  #: how far the power may be wrong


@dataclass(frozen=True)
class RowSpace:
    """The axes of a test (the last is the abscissa) and what is needed to place a row."""

    axes: tuple[Axis, ...]
    bends: tuple[Bend, ...]
    power_from: str  #: wattmeter, power_factor, volt_amperes, none
    synchronous_speed: float
    voltage: float  #: the voltage all rows are brought to
    spread: Mapping[str, Spread]
    quantities: tuple[str, ...]  #: what was read

    def place(self, row: Mapping[str, Array]) -> Array:
        """Coordinates of rows, shape (n, d): each quantity an array of shape (n,)."""
        ratio = self._voltage_ratio(row)
        columns = []
        for axis in self.axes:
            value = self._value(row, axis.quantity)
            if axis.form == "slip":
                columns.append(1.0 - value / self.synchronous_speed)
            elif axis.form == "log":
                columns.append(np.log(np.where(value > 0.0, value, np.nan)))
            else:
                plain = value**2 if axis.form == "square" else value
                columns.append(plain * ratio**-axis.voltage_power)
        return np.stack(columns, axis=-1)

    def directions(self, row: Mapping[str, Array], placed: Array) -> dict[str, Array]:
        """How the coordinates move with each quantity read: d(coordinate)/d(quantity), (n, d)."""
        zero = np.zeros_like(placed)
        moves = {name: zero.copy() for name in self.quantities}
        power_inputs = {"power_factor": ("voltage", "current", "power_factor"), "volt_amperes": ("voltage", "current")}
        for j, axis in enumerate(self.axes):
            if axis.quantity == "input_power" and self.power_from in power_inputs:
                for name in power_inputs[self.power_from]:
                    if name in moves:
                        moves[name][:, j] += _slope(placed[:, j], row[name], 1.0)
            elif axis.quantity == "speed" and axis.form == "slip":
                moves["speed"][:, j] += -1.0 / self.synchronous_speed
            elif axis.form == "log":
                moves[axis.quantity][:, j] += _slope(1.0, row[axis.quantity], 1.0)
            else:
                power = 2.0 if axis.form == "square" else 1.0
                slope = _slope(placed[:, j], row[axis.quantity], power)
                plain = self._voltage_ratio(row) ** -axis.voltage_power if power == 1.0 else slope
                moves[axis.quantity][:, j] += plain
            if "voltage" in moves and axis.form not in ("slip", "log"):
                moves["voltage"][:, j] -= axis.voltage_power * _slope(placed[:, j], row["voltage"], 1.0)
        return moves

    def covariance(self, row: Mapping[str, Array], placed: Array, moves: Mapping[str, Array]) -> Array:
        """Covariance between rows of the coordinates, (n, d, d)."""
        total = np.zeros((*placed.shape, placed.shape[1]))
        for name, move in moves.items():
            spread = self.spread.get(name, Spread(0.0, 0.003))
            step = move * spread.of(row[name])[:, None]
            total += step[:, :, None] * step[:, None, :]
        if "voltage" not in moves:
            step = placed * np.array([axis.voltage_power for axis in self.axes]) * VOLTAGE_NOT_READ
            total += step[:, :, None] * step[:, None, :]
        error = np.array([axis.voltage_error for axis in self.axes])
        off = np.abs(np.log(self._voltage_ratio(row))) if "voltage" in moves else np.full(len(placed), VOLTAGE_NOT_READ)
        own = error * off[:, None] * np.abs(placed)
        diagonal = np.arange(placed.shape[1])
        total[:, diagonal, diagonal] += own**2
        return total

    def _voltage_ratio(self, row: Mapping[str, Array]) -> Array:
        if "voltage" not in self.quantities:
            return np.ones_like(row["speed"])
        return np.clip(row["voltage"] / self.voltage, *VOLTAGE_BOUNDS)

    def _value(self, row: Mapping[str, Array], quantity: str) -> Array:
        if quantity != "input_power" or self.power_from == "wattmeter":
            return row[quantity]
        volts = row["voltage"] if "voltage" in self.quantities else 1.0
        factor = row["power_factor"] if self.power_from == "power_factor" else 1.0
        return volts * row["current"] * factor


def _slope(placed: Array | float, value: Array, power: float) -> Array:
    """d(coordinate)/d(value) of a coordinate that goes with a power of the value; a value near 0 is held off it."""
    safe = np.where(np.abs(value) > 1e-9, value, 1e-9)
    return power * np.asarray(placed) / safe


def quantities_of(rows: LoadRows) -> dict[str, Array]:
    """The quantities that were read, each a float array (n,); speed is the motor's own."""
    read = {
        name: np.asarray(getattr(rows, name), dtype=float) for name in QUANTITIES if getattr(rows, name) is not None
    }
    read["speed"] = read["speed"] * rows.gear_ratio
    return {name: values for name, values in read.items() if np.isfinite(values).sum() * 2 > values.size}


def space_of(rows: LoadRows, read: Mapping[str, Array]) -> RowSpace | None:
    """The axes for what was read; None where too little was read to make a curve."""
    if "speed" not in read or "torque" not in read:
        return None
    machine = machine_of(rows.kind, rows.excitation)
    power_from = _power_from(rows.kind, read)
    over_torque = power_from == "none"
    names = ["speed", *(["current"] if "current" in read and power_from != "volt_amperes" else [])]
    names += [] if over_torque else ["torque"]
    bends = bends_of(machine, over_torque=over_torque)
    used = _used(read, power_from)
    if over_torque and names == ["speed"]:
        names = ["speed"]
    abscissa = "torque" if over_torque else "input_power"
    speeds = read["speed"][np.isfinite(read["speed"])]
    guess = 1.01 * float(np.max(speeds)) if speeds.size else 1.0
    voltage = float(np.nanmedian(read["voltage"])) if "voltage" in used else 1.0
    axes = [_axis(machine, name) for name in (*names, abscissa)]
    if power_from == "volt_amperes" and "voltage" not in used:
        # The abscissa is the current alone, and goes with the voltage as the current does.
        current = _axis(machine, "current")
        axes[-1] = replace(axes[-1], voltage_power=current.voltage_power, voltage_error=current.voltage_error)
    return RowSpace(
        axes=tuple(axes),
        bends=tuple(bends[name] for name in names),
        power_from=power_from,
        synchronous_speed=rows.synchronous_speed or guess,
        voltage=voltage if voltage > 0.0 else 1.0,
        spread=_motor_spread(rows),
        quantities=used,
    )


def _motor_spread(rows: LoadRows) -> dict[str, Spread]:
    """The spreads, that of the speed brought to the motor's shaft as the speed is."""
    spreads = dict(rows.spread)
    if "speed" in spreads:
        spreads["speed"] = Spread(spreads["speed"].absolute * rows.gear_ratio, spreads["speed"].relative)
    return spreads


def _power_from(kind: str, read: Mapping[str, Array]) -> str:
    if "input_power" in read:
        return "wattmeter"
    if "current" in read and kind == "dc":
        return "volt_amperes"
    if {"current", "voltage", "power_factor"} <= set(read):
        return "power_factor"
    return "none"


def _used(read: Mapping[str, Array], power_from: str) -> tuple[str, ...]:
    unused = {"power_factor"} if power_from != "power_factor" else set()
    return tuple(name for name in QUANTITIES if name in read and name not in unused)


def _axis(machine: str, quantity: str) -> Axis:
    """Form of a quantity and its power of the voltage, by the kind of machine."""
    if machine in INDUCTION:
        forms = {"speed": ("slip", 0.0, 0.0), "current": ("square", 2.0, 2.0)}
    elif machine in ("universal", "series"):
        forms = {"speed": ("log", 0.0, 0.03), "current": ("plain", 1.0, 0.25)}
    elif machine == "permanent_magnet":
        forms = {"speed": ("plain", 1.0, 0.25), "current": ("plain", 1.0, 0.25), "torque": ("plain", 1.0, 0.25)}
    elif machine == "shunt":
        forms = {"speed": ("plain", 0.0, 0.25), "current": ("plain", 1.0, 0.25)}
    else:
        forms = {"speed": ("plain", 0.5, 0.5), "current": ("plain", 1.0, 0.5), "torque": ("plain", 1.5, 0.5)}
    form, power, error = forms.get(quantity, ("plain", 2.0, 0.25))
    return Axis(quantity, form, power, error)
