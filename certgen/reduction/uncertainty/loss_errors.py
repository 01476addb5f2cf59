"""Losses segregated, with the errors of every reading they rest on."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.losses import (
    constant_loss,
    dynamometer_correction,
    inner_voltage,
    residual_loss,
    three_phase_winding_loss,
    winding_loss,
)
from certgen.physics.mechanics import shaft_power
from certgen.physics.uncertainty import line_covariance
from certgen.reduction.electrical import electrical_input
from certgen.reduction.loss_procedure import Regression, Separated
from certgen.reduction.loss_segregation import DirectCurrentLosses, LossCurve, segregate
from certgen.reduction.model import LoadPoints
from certgen.reduction.no_load import NoLoadTest
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import (
    Correlated,
    all_propagated,
    combined,
    linear,
    nominal,
    nominals,
    propagated,
    single,
    straight_line,
    weighted,
)
from certgen.reduction.uncertainty.model import Measured
from certgen.reduction.uncertainty.winding_errors import along, at_temperatures, of_load_test, resistances
from certgen.reduction.winding import WindingOfTest

# The no-load test with the errors of its readings: core loss over voltage, friction and windage.


_NO_LOAD_SCATTER = Message("input.no_load_scatter")


@dataclass(frozen=True, eq=False)
class NoLoadErrors:
    """What :class:`NoLoadTest` says, with errors: voltage [V] and constant loss [W] of each of its voltages."""

    found: NoLoadTest
    voltage: Sequence[Correlated]
    constant_loss: Sequence[Correlated]
    friction_windage: Correlated  # W

    def core_loss(self, voltage: Sequence[Correlated]) -> list[Correlated]:
        """Core loss [W] at line voltages [V], n values; ``None`` outside the readings."""
        at = nominals(voltage)
        values = self.found.core_loss(at)
        by_loss, by_voltage = self.found.core.by_points(at)
        slopes = np.asarray(self.found.core.slope(at))
        # Each point of the curve is a constant loss less friction and windage.
        slopes_of = np.vstack([by_loss, by_voltage, -by_loss.sum(axis=0)]).T
        found = combined(values.tolist(), slopes_of, [*self.constant_loss, *self.voltage, self.friction_windage])
        return [
            linear(nominal(one), [(1.0, one), (float(slope), volts)]) if math.isfinite(nominal(one)) else None
            for one, slope, volts in zip(found, slopes, voltage, strict=True)
        ]


def electrical_errors(errors: Errors, motor_type: str) -> Mapping[str, list[Correlated]]:
    """Voltage [V], current [A] and power [W] of the no-load readings, row by row."""

    def of(measured: Measured) -> Mapping[str, Array]:
        found = electrical_input(measured.readings.load_test, motor_type)
        return {"voltage": found.voltage, "current": found.current, "active": found.active}

    return errors.of_table(errors.tables["no_load"], of)


def no_load_errors(
    errors: Errors, found: NoLoadTest, electrical: Mapping[str, list[Correlated]], resistance: Sequence[Correlated]
) -> NoLoadErrors:
    """The no-load test of a three-phase motor with its errors.

    Parameters
    ----------
    errors : Errors
        The errors of the test.
    found : NoLoadTest
        The test as found.
    electrical : mapping
        Of :func:`electrical_errors`, n rows. [SI]
    resistance : sequence of Correlated
        Resistance between lines at each row. [ohm]

    Returns
    -------
    NoLoadErrors
        Friction and windage carry the scatter of the low-voltage readings about their line, too.

    References
    ----------
    JCGM 100:2008, H.3.
    """

    def loss_of(active: Array, current: Array, ohms: Array) -> Array:
        return np.asarray(constant_loss(active, three_phase_winding_loss(current, ohms)))

    rows = propagated(loss_of, [electrical["active"], electrical["current"], resistance])
    at = nominals(electrical["voltage"])
    voltage, loss = [], []
    for level in found.voltage:
        same = [row for row in np.flatnonzero(at == level) if rows[row] is not None]
        share = np.full(len(same), 1.0 / len(same))
        voltage.append(weighted([electrical["voltage"][row] for row in same], share))
        loss.append(weighted([rows[row] for row in same], share))
    low = found.low_voltages
    squared = [linear(nominal(one) ** 2, [(2.0 * nominal(one), one)]) for one in voltage[:low]]
    friction = straight_line(squared, loss[:low])[1]
    abscissae = nominals(squared)
    lever = math.sqrt(1.0 / low + float(abscissae.mean() ** 2 / np.sum((abscissae - abscissae.mean()) ** 2)))
    scatter = found.line.residual_standard_deviation * lever
    return NoLoadErrors(found, voltage, loss, errors.scattered(friction, _NO_LOAD_SCATTER, scatter, low - 2))


# Losses segregated, with the errors of every reading they rest on.


PARTS = ("stator", "core", "rotor", "friction_windage")
_STRAY_SCATTER = Message("input.stray_loss_scatter")
Quantities = Mapping[str, Sequence[Correlated]]


@dataclass(frozen=True, eq=False)
class LossErrors:
    """The losses of one test with their errors.

    ``hot`` is the resistance of the hot winding as read [ohm], ``None`` where it was not.
    """

    errors: Errors
    separated: Separated
    motor_type: str
    hot: Correlated

    @cached_property
    def resistance(self) -> list[Correlated]:
        """Resistance between lines at each load point. [ohm]"""
        return of_load_test(self.errors, self.separated.winding, self.hot)

    @cached_property
    def no_load(self) -> NoLoadErrors:
        """The no-load test."""
        table, winding = self.errors.tables["no_load"], self.separated.winding
        ohms = resistances(
            self.errors,
            winding.readings,
            self.errors.read("no_load"),
            rows=table.rows,
            otherwise=self.resistance[winding.lightest],
        )
        electrical = electrical_errors(self.errors, self.motor_type)
        return no_load_errors(self.errors, self.separated.no_load, electrical, ohms)

    def along(self, torque: Array) -> list[Correlated]:
        """Resistance between lines at torques of shape (m,) [N*m], straight between load points. [ohm]"""
        return along(self.separated.winding, self.resistance, torque)

    def parts(self, points: Quantities, resistance: Sequence[Correlated], slip: Sequence[Correlated], *,
              at_test: Sequence[Correlated]) -> dict[str, list[Correlated]]:  # fmt: skip
        """Stator, core, rotor, and friction and windage losses of n points.

        Parameters
        ----------
        points : mapping
            Current [A], input power [W] and voltage [V], n values each.
        resistance, slip : sequence of Correlated
            At the temperature the losses are wanted at. [ohm], [1]
        at_test : sequence of Correlated
            Resistance at the temperature of the test, which core loss goes by. [ohm]

        Returns
        -------
        dict
            n values each, ``None`` where not known. [W]
        """
        core = self._core(points, at_test)
        friction = [self.no_load.friction_windage] * len(core)
        arguments = [points["current"], points["input_power"], resistance, slip, core, friction]
        return all_propagated(self._segregated, arguments)

    def _segregated(self, current: Array, power: Array, *at: Array) -> Mapping[str, Array]:
        ohms, slip, core, friction = at
        points = replace(self.separated.points, current=current, input_power=power)
        exponent = self.separated.procedure.friction_exponent
        found = segregate(points, resistance=ohms, slip=slip, core=core, friction_windage=friction, exponent=exponent)
        return {name: getattr(found, name) for name in PARTS}

    def _core(self, points: Quantities, resistance: Sequence[Correlated]) -> list[Correlated]:
        rated = self.separated.core_rule.rated_voltage
        if rated is not None:
            return self.no_load.core_loss([rated]) * len(resistance)
        inner = propagated(
            lambda *at: np.asarray(inner_voltage(*at)),
            [points["voltage"], points["current"], points["input_power"], resistance],
        )
        return self.no_load.core_loss(inner)

    @cached_property
    def tested(self) -> dict[str, list[Correlated]]:
        """The losses of the load points at the temperature of the test. [W]"""
        points = self.errors.points
        return self.parts(points, self.resistance, points["slip"], at_test=self.resistance)

    def at_point(self, point: Quantities) -> dict[str, Correlated]:
        """The same losses at a point of the load curve, by its quantities, at the temperature of the test. [W]"""
        ohms = self.along(nominals(point["torque"]))
        return {name: one[0] for name, one in self.parts(point, ohms, point["slip"], at_test=ohms).items()}

    def correction(self, brake_off: int | None) -> Correlated:
        """Torque of the brake's own friction from the row with the brake off; 0 where there is none. [N*m]"""
        if brake_off is None:
            return 0.0
        points, parts = self.errors.points, self.tested
        core = self.no_load.core_loss([points["voltage"][brake_off]])[0]
        names = ("input_power", "slip", "speed", "torque")
        known = {name: points[name][brake_off] for name in names}
        known |= {"core_loss": core, "stator_loss": parts["stator"][brake_off]}
        known["friction_windage"] = parts["friction_windage"][brake_off]

        def torque(*at: Array) -> Array:
            return np.asarray(dynamometer_correction(**dict(zip(known, at, strict=True))))

        return single(torque, *known.values())

    def regression(self, found: Regression, correction: Correlated) -> tuple[Correlated, Correlated]:
        """Slope [W/(N*m)^2] and intercept [W] of the stray-load line, with the scatter about it.

        The scatter has n - 2 degrees of freedom (JCGM 100:2008, H.3.2).
        """
        points, parts, rows = self.errors.points, self.tested, found.fit.rows
        columns = [[points[name][row] for row in rows] for name in ("input_power", "torque", "speed")]
        columns += [[correction] * len(rows), *([parts[name][row] for row in rows] for name in PARTS)]
        residual = propagated(_residual, columns)
        torque = propagated(lambda read, added: (read + added) ** 2, [columns[1], columns[3]])
        slope, intercept = straight_line(torque, residual)
        covariance = line_covariance(nominals(torque), nominals(residual))
        freedom = covariance.degrees_of_freedom
        return (
            self.errors.scattered(slope, _STRAY_SCATTER, covariance.slope, freedom),
            self.errors.scattered(intercept, _STRAY_SCATTER, covariance.intercept, freedom),
        )

    def at_loads(
        self, curve: LossCurve, powers: Sequence[float], *, slope: Correlated, correction: Correlated,
        reference: Correlated,
    ) -> list[dict[str, Correlated]]:  # fmt: skip
        """Every loss where the shaft power found by segregation has given values.

        Parameters
        ----------
        curve : LossCurve
            The losses along the load curve.
        powers : sequence of float
            Shaft powers that it reaches, m values. [W]
        slope, correction : Correlated
            Of stray load loss [W/(N*m)^2]; torque of the brake's own friction [N*m].
        reference : Correlated
            Winding temperature the losses are given at; ``None`` for that of the test. [K]

        Returns
        -------
        list of dict
            m times by name: losses and input power [W], and efficiency [1]. Empty without errors of the load curve.

        References
        ----------
        The implicit function theorem for the load at which the shaft power is met; JCGM 100:2008, 5.1.
        """
        if self.errors.along is None:
            return []
        found = [(power, curve.place(power)) for power in powers]
        places = [place for _, place in found if place is not None]
        assert len(places) == len(found)  # the caller asks for what the curve reaches
        torque = np.array([curve.between(curve.torque, place) for place in places])
        fixed = self._at_torque(torque, slope, correction, reference)
        return [
            _met(power, {name: values[row] for name, values in fixed.items()}, curve.steepness(place))
            for row, (power, place) in enumerate(zip(powers, places, strict=True))
        ]

    def _at_torque(
        self, torque: Array, slope: Correlated, correction: Correlated, reference: Correlated
    ) -> dict[str, list[Correlated]]:
        """Every loss and the shaft power at fixed torques."""
        assert self.errors.along is not None
        read, count = self.errors.along.at(torque), torque.size
        field_speed = _field_speed(self.separated.points)
        slip = propagated(lambda speed, hertz: 1.0 - speed / (field_speed * hertz), [read["speed"], read["frequency"]])
        tested = self.along(torque)
        wanted = tested
        if reference is not None:
            wanted = at_temperatures(self.errors, self.separated.winding.readings, [reference] * count)
            slip = propagated(lambda slip, hot, ohms: slip * hot / ohms, [slip, wanted, tested])
        parts = self.parts(read, wanted, slip, at_test=tested)
        parts["stray"] = propagated(
            lambda slope, added: slope * (torque + added) ** 2, [[slope] * count, [correction] * count]
        )
        parts["input_power"] = list(read["input_power"])
        parts["shaft_power"] = propagated(_left, [parts["input_power"], *(parts[name] for name in (*PARTS, "stray"))])
        return parts


def stator_loss(errors: Errors, winding: WindingOfTest, point: Quantities, hot: Correlated) -> Correlated:
    """Loss of a three-phase winding [W] at a point of the load curve, by the hot reading [ohm] where a row has none."""
    ohms = along(winding, of_load_test(errors, winding, hot), nominals(point["torque"]))[0]
    return single(lambda current, at: np.asarray(three_phase_winding_loss(current, at)), point["current"][0], ohms)


def _met(power: float, fixed: Mapping[str, Correlated], steepness: Mapping[str, float]) -> dict[str, Correlated]:
    """Values at a fixed torque, moved along the curve until the shaft power is met again."""
    found = {
        name: linear(nominal(value), [(1.0, value), (-steepness[name], fixed["shaft_power"])])
        for name, value in fixed.items()
        if name != "shaft_power" and value is not None
    }
    taken = found.get("input_power")
    if taken is not None:
        found["efficiency"] = linear(power / nominal(taken), [(-power / nominal(taken) ** 2, taken)])
    return found


def _residual(taken: Array, torque: Array, speed: Array, added: Array, *parts: Array) -> Array:
    return np.asarray(residual_loss(taken, shaft_power(torque + added, speed), *parts))


def _left(taken: Array, *parts: Array) -> Array:
    return np.asarray(residual_loss(taken, 0.0, *parts))


def _field_speed(points: LoadPoints) -> float:
    """Synchronous speed for each hertz. [rad/s/Hz]"""
    known = np.isfinite(points.slip) & (points.slip < 1.0) & (points.frequency > 0.0)
    return float(np.mean((points.speed / (1.0 - points.slip) / points.frequency)[known]))


# Losses of a direct-current motor with the errors of the readings they rest on.


def direct_current_errors(
    errors: Errors,
    job: Job,
    found: DirectCurrentLosses,
    *,
    winding: WindingOfTest,
    point: Mapping[str, Sequence[Correlated]],
    hot: Correlated,
) -> tuple[Correlated, Correlated]:
    """Armature loss and constant loss of a direct-current motor with their errors.

    Parameters
    ----------
    errors : Errors
        The tables. [SI]
    job : Job
        Rated voltage, which is exact. [SI]
    found : DirectCurrentLosses
        The losses as found. [W]
    winding : WindingOfTest
        The armature over the load test.
    point : mapping
        Torque [N*m], current [A] and voltage [V] at the load, one value each.
    hot : Correlated
        Resistance of the hot armature as read. [ohm]

    Returns
    -------
    tuple of (Correlated, Correlated)
        Both in W; straight between the no-load readings, as the loss was found.
    """
    of_rows = of_load_test(errors, winding, hot)
    loaded = along(winding, of_rows, nominals(point["torque"]))[0]
    armature = single(lambda current, ohms: np.asarray(winding_loss(current, ohms)), point["current"][0], loaded)
    table = errors.tables["no_load"]
    ohms = resistances(
        errors, winding.readings, errors.read("no_load"), rows=table.rows, otherwise=of_rows[winding.lightest]
    )
    electrical = electrical_errors(errors, job.motor.type)

    def loss_of(active: Array, current: Array, resistance: Array) -> Array:
        return np.asarray(constant_loss(active, winding_loss(current, resistance)))

    losses = propagated(loss_of, [electrical["active"], electrical["current"], ohms])
    wanted: Correlated = job.nameplate.voltage or point["voltage"][0]
    return armature, _at_voltage(electrical["voltage"], losses, wanted, found.constant)


def _at_voltage(
    voltage: Sequence[Correlated], losses: Sequence[Correlated], wanted: Correlated, value: float
) -> Correlated:
    """A loss between the readings around a voltage, by the straight line through them."""
    volts = nominals(voltage)
    known = np.flatnonzero(np.isfinite(volts) & np.isfinite(nominals(losses)))
    order = known[np.argsort(volts[known], kind="stable")]
    at = nominal(wanted)
    weights = [float(np.interp(at, volts[order], row)) for row in np.eye(order.size)]
    above = int(np.searchsorted(volts[order], at))
    slope = 0.0
    if 0 < above < order.size:
        low, high = order[above - 1], order[above]
        slope = (nominal(losses[high]) - nominal(losses[low])) / (volts[high] - volts[low])
    terms = [(weight, losses[row]) for weight, row in zip(weights, order, strict=True)]
    terms += [(-slope * weight, voltage[row]) for weight, row in zip(weights, order, strict=True)]
    return linear(value, [*terms, (slope, wanted)])
