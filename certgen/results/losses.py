"""Losses segregated where the readings allow it, the direct method with its reason where they do not."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np

from certgen.job.model import DC, OTHER, SINGLE_PHASE, UNIVERSAL, Job
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.readings.model import Readings
from certgen.reduction.loss_procedure import (
    Regression,
    Separated,
    brake_off_row,
    correction_of,
    loss_curve,
    missing_inputs,
    regress,
    separate,
)
from certgen.reduction.loss_segregation import (
    DirectCurrentLosses,
    LossCurve,
    Segregated,
    direct_current_losses,
    reference_temperature,
)
from certgen.reduction.model import BrakeFriction, LoadPoints, Reduction, TooFewReadings
from certgen.reduction.no_load import NoLoadTest
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, linear
from certgen.reduction.uncertainty.loss_errors import LossErrors, direct_current_errors, stator_loss
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.reduction.uncertainty.winding_errors import RiseErrors
from certgen.reduction.winding import WindingOfTest, winding_of_test, winding_with_cold
from certgen.results.heat import rise_with_errors
from certgen.results.model import Curve, Losses, LossPoint, Thermal
from certgen.results.stray_regression import stray_result
from certgen.results.uncertainty import errors_of, quantity, with_uncertainty
from certgen.standards.procedures import LossProcedure, procedure_of

# Uncertainties of the losses: none where the errors of the test were not propagated.


_RATED = "at_rated_power"


@dataclass(frozen=True, eq=False)
class TestUncertainties:
    """What the uncertainties of the losses of one test rest on; ``winding`` holds its rise and hot resistance."""

    job: Job
    reduction: Reduction
    winding: RiseErrors

    @property
    def errors(self) -> Errors | None:
        """The errors of the test."""
        return errors_of(self.reduction)

    def at_rated(self) -> Mapping[str, Sequence[Correlated]]:
        """The point at rated power, one value a quantity; empty where it has no errors."""
        uncertainties = self.reduction.uncertainties
        point: Mapping[str, Any] = (
            {} if uncertainties is None or not uncertainties.correlated else uncertainties.correlated.get(_RATED, {})
        )
        return {name: [figure] for name, figure in point.items()}

    def stator(self, winding: WindingOfTest, point: LoadPoints) -> Quantity | None:
        """Stator loss [W] at the point at rated power."""
        uncertainty = None
        if self.errors is not None and self.at_rated():
            uncertainty = self.errors.uncertainty(
                stator_loss(self.errors, winding, self.at_rated(), self.winding.resistance)
            )
        return quantity(float(winding.stator_loss(point)[0]), "W", uncertainty)

    def direct_current(
        self, winding: WindingOfTest, segregated: DirectCurrentLosses
    ) -> tuple[Uncertainty | None, Uncertainty | None]:
        """Of the armature's loss and of the constant loss of a direct-current motor."""
        if self.errors is None or not self.at_rated():
            return None, None
        losses = direct_current_errors(
            self.errors, self.job, segregated, winding=winding, point=self.at_rated(), hot=self.winding.resistance
        )
        armature, constant = (None if loss is None else self.errors.uncertainty(loss) for loss in losses)
        return armature, constant

    def of(self, separated: Separated) -> LossUncertainties:
        """Uncertainties of losses that were segregated."""
        if self.errors is None:
            return LossUncertainties(self, None)
        return LossUncertainties(self, LossErrors(self.errors, separated, self.job.motor.type, self.winding.resistance))


@dataclass(frozen=True, eq=False)
class LossUncertainties:
    """Uncertainties of segregated losses; ``losses`` is ``None`` where there are none."""

    test: TestUncertainties
    losses: LossErrors | None

    def at_rated(self) -> Mapping[str, Uncertainty]:
        """Of the losses at rated power, at the temperature of the test."""
        point = self.test.at_rated()
        return {} if self.losses is None or not point else self.uncertainties(self.losses.at_point(point))

    def rise_uncertainty(self) -> Uncertainty | None:
        """Of a temperature that rests on the winding's rise."""
        rise = self.test.winding.rise
        return None if self.losses is None or rise is None else self.losses.errors.uncertainty(rise)

    def uncertainties(self, values: Mapping[str, Correlated]) -> Mapping[str, Uncertainty]:
        """Uncertainties of values by name; those not known are left out."""
        if self.losses is None:
            return {}
        return {name: self.losses.errors.uncertainty(value) for name, value in values.items() if value is not None}

    def fitted(self, regression: Regression, brake_off: int | None) -> FittedUncertainties:
        """Uncertainties of the stray-load regression and of what follows from it."""
        return FittedUncertainties(self, regression, brake_off)


@dataclass(frozen=True, eq=False)
class FittedUncertainties:
    """Uncertainties of the stray-load regression, the brake's own friction, and the losses over the load."""

    of: LossUncertainties
    regression: Regression
    brake_off: int | None

    @cached_property
    def _values(self) -> dict[str, Correlated]:
        losses = self.of.losses
        if losses is None:
            return {}
        correction = losses.correction(self.brake_off)
        slope, intercept = losses.regression(self.regression, correction)
        return {"slope": slope, "intercept": intercept, "correction": correction}

    @cached_property
    def _uncertainties(self) -> Mapping[str, Uncertainty]:
        return self.of.uncertainties(self._values)

    @property
    def slope(self) -> Uncertainty | None:
        """Of the slope."""
        return self._uncertainties.get("slope")

    @property
    def intercept(self) -> Uncertainty | None:
        """Of the intercept."""
        return self._uncertainties.get("intercept")

    @property
    def correction(self) -> Uncertainty | None:
        """Of the torque of the brake's own friction."""
        return self._uncertainties.get("correction")

    def at_loads(
        self, curve: LossCurve, powers: Sequence[float], reference: float | None, *, by_rise: bool
    ) -> list[Mapping[str, Uncertainty]]:
        """Of every loss at shaft powers [W]; ``by_rise`` where the reference temperature [K] rests on the rise."""
        losses, rise = self.of.losses, self.of.test.winding.rise
        if losses is None:
            return [{} for _ in powers]
        wanted: Correlated = reference
        if reference is not None and by_rise and rise is not None:
            wanted = linear(reference, [(1.0, rise)])
        slope, correction = self._values["slope"], self._values["correction"]
        by_load = losses.at_loads(curve, powers, slope=slope, correction=correction, reference=wanted)
        return [self.of.uncertainties(at_load) for at_load in by_load] or [{} for _ in powers]


# What a reader must know of a segregation.


def segregation_notes(
    job: Job, separated: Separated, correction: float | None, friction: BrakeFriction | None = None
) -> tuple[Message, ...]:
    """Sentences on what a segregation rests on."""
    return tuple(_notes(job, separated, correction, friction))


def _notes(
    job: Job, separated: Separated, correction: float | None, friction: BrakeFriction | None
) -> Iterator[Message]:
    procedure, winding = separated.procedure, winding_with_cold(job)
    taken = winding is not None and winding.between is None
    key = "losses.stator_winding_between_lines" if taken else "losses.stator_winding"
    yield Message(key, basis=separated.winding.basis, constant=procedure.copper_constant)
    yield Message("losses.no_load_winding", basis=separated.no_load_basis)
    yield Message(
        "losses.from_low_voltages",
        count=separated.no_load.low_voltages,
        voltage=Message(f"losses.{procedure.core_loss_at.replace(' ', '_')}"),
        source=procedure.source("core_loss_at"),
    )
    if friction is not None and friction.used:
        yield Message("losses.brake_off_in_points", correction=friction.torque.value)
    elif correction is not None:
        why = Message("brake_friction.not_known") if friction is None else friction.reason
        yield Message("losses.brake_off", correction=correction, reason=why)


#: How far the constant loss of a no-load test may be off by its method: a straight line through low voltages whose rotor
#: loss is left in, core loss at another voltage than that of the row. [1] Common practice, no source.
NO_LOAD_METHOD = 0.02


def friction_of_brake(test: LossTest) -> Quantity | None:
    """Torque that a run with the brake off shows beyond that of the load points [N*m], its uncertainty with k = 2.

    ``None`` where no such run carries it.

    Raises
    ------
    TooFewReadings
        The losses of the load points cannot be found.
    """
    power, missing = test.job.nameplate.power, missing_inputs(test.job, test.readings, test.reduction.points)
    if missing or power is None:
        raise TooFewReadings(Message("losses.missing", missing=missing))
    separated = separate(test.job, test.readings, test.reduction.points, winding=test.winding, procedure=test.procedure)
    row = brake_off_row(separated, test.reduction.brake_current, power)
    found = correction_of(separated, test.reduction.brake_current, power)
    errors = test.uncertainties.of(separated).losses
    if row is None or found is None or errors is None:
        return None if found is None else Quantity(found, "N*m")
    known = errors.errors.uncertainty(errors.correction(row))
    if known.standard is None:
        return Quantity(found, "N*m")
    watts = separated.parts.friction_windage[row] + separated.no_load.core_loss(separated.points.voltage[[row]])[0]
    of_method = NO_LOAD_METHOD * float(watts / separated.points.speed[row]) / math.sqrt(3.0)
    return Quantity(found, "N*m", 2.0 * math.hypot(known.standard, of_method), 2.0, bool(known.assumed))


# The losses of one test: by segregation where the readings allow it, else by the direct method with its reason.


SEGREGATION = Message("losses.segregation")
DIRECT = Message("losses.direct")
#: Parts of rated load at which the losses are given: those of IEC 60034-2-1, load curve test, from memory.
LOADS = (0.25, 0.5, 0.75, 1.0, 1.15, 1.25)
#: Where the tested range ends just short of such a load, by this part of it, its end is given, with its own load.
#: Common practice, no source.
_END = 0.02
_PARTS = ("stator", "rotor", "core", "friction_windage")
#: The losses at rated power as tested, given where they cannot be given over the load.
AsTested = Callable[[], dict[str, Quantity | None]]


@dataclass(frozen=True, eq=False)
class LossTest:
    """Everything the losses of one test rest on."""

    job: Job
    readings: Readings
    reduction: Reduction
    thermal: Thermal | None
    procedure_name: str

    @property
    def procedure(self) -> LossProcedure:
        """The procedure by its name."""
        return procedure_of(self.procedure_name)

    @property
    def at_rated_power(self) -> LoadPoints | None:
        """The point at rated power, where it lies within the tested range."""
        rated = self.reduction.operating.get("at_rated_power")
        return None if rated is None or rated.extrapolated else rated.point

    @property
    def winding(self) -> WindingOfTest:
        """The winding over the load test."""
        given = self.job.readings.winding
        hot = None if given is None or given.hot is None else given.hot.resistance
        if self.thermal is not None and self.thermal.hot_resistance is not None:
            hot = self.thermal.hot_resistance.value
        torque, constant = self.reduction.points.torque, self.procedure.copper_constant
        return winding_of_test(self.job, self.readings, torque, hot=hot, constant=constant)

    @cached_property
    def uncertainties(self) -> TestUncertainties:
        """Uncertainties of its losses."""
        winding = rise_with_errors(self.job, self.readings, self.reduction, self.procedure_name)
        return TestUncertainties(self.job, self.reduction, winding)


def losses_of(
    job: Job, readings: Readings, reduction: Reduction, thermal: Thermal | None, procedure: str
) -> Losses | None:
    """Losses of one test, by the procedure of a name.

    ``None`` for kinds of motor no procedure is written for, and where input power was not measured.
    """
    kind = job.motor.type
    if kind in (UNIVERSAL, OTHER) or not np.isfinite(reduction.points.input_power).any():
        return None
    test = LossTest(job, readings, reduction, thermal, procedure)
    if kind == SINGLE_PHASE:
        return _direct(test, Message("losses.single_phase"))
    if job.nameplate.gear is not None:
        return _direct(test, Message("losses.geared"))
    return _direct_current(test) if kind == DC else _three_phase(test)


def missing_losses(job: Job, losses: Losses | None) -> tuple[Message, ...]:
    """A sentence where no-load readings were made and losses are not segregated all the same."""
    if losses is None or losses.method == SEGREGATION or job.readings.no_load is None:
        return ()
    return (Message("losses.not_apart", reason=losses.reason),)


def _direct(test: LossTest, reason: Message, **known: Any) -> Losses:
    """The direct method: efficiency is output over input at rated power, as measured."""
    return Losses(method=DIRECT, reason=reason, efficiency=_direct_efficiency(test), **known)


def _direct_efficiency(test: LossTest) -> Quantity | None:
    """Output over input at rated power. [1]"""
    point, uncertainties = test.at_rated_power, test.reduction.uncertainties
    uncertainty = None if uncertainties is None else uncertainties.operating.get("at_rated_power", {}).get("efficiency")
    return None if point is None else quantity(float(point.efficiency[0]), "1", uncertainty)


def _three_phase(test: LossTest) -> Losses:
    at_rated, points = test.at_rated_power, test.reduction.points
    missing = missing_inputs(test.job, test.readings, points)
    as_tested: AsTested = dict
    no_load: dict[str, Any] = {}
    try:
        winding = test.winding
        if at_rated is not None:
            as_tested = partial(_stator, test, winding, at_rated)
        if missing:
            raise TooFewReadings(Message("losses.missing", missing=missing))
        separated = separate(test.job, test.readings, points, winding=winding, procedure=test.procedure)
        no_load = no_load_curves(separated.no_load)
        of_losses = test.uncertainties.of(separated)
        if at_rated is not None:
            as_tested = partial(_watts, separated.of(at_rated), of_losses)
        return _regressed(test, separated, of_losses, as_tested)
    except TooFewReadings as lack:
        known, missing_readings = as_tested(), Message("losses.missing", missing=missing)
        reasons = tuple(dict.fromkeys((*missing, *(() if lack.message == missing_readings else (lack.message,)))))
        return _direct(
            test,
            Message("losses.missing_as_tested" if known else "losses.direct_because", reasons=reasons),
            **known,
            **no_load,
        )


def no_load_curves(test: NoLoadTest) -> dict[str, Curve]:
    """The constant loss over voltage as read, and its straight part over voltage squared from zero voltage on."""
    units = {"voltage": "V", "constant_loss": "W"}
    end = float(test.voltage[test.low_voltages - 1])
    line = (test.friction_windage, test.friction_windage + test.line.slope * end**2)
    columns = {"voltage": tuple(test.voltage.tolist()), "constant_loss": tuple(test.constant_loss.tolist())}
    return {
        "no_load": Curve(columns, units),
        "no_load_line": Curve({"voltage": (0.0, end), "constant_loss": line}, units),
    }


def _stator(test: LossTest, winding: WindingOfTest, point: LoadPoints) -> dict[str, Quantity | None]:
    return {"stator": test.uncertainties.stator(winding, point)}


def _watts(parts: Segregated, of_losses: LossUncertainties) -> dict[str, Quantity | None]:
    uncertainties = of_losses.at_rated()
    return {name: quantity(float(getattr(parts, name)[0]), "W", uncertainties.get(name)) for name in _PARTS}


def _regressed(test: LossTest, separated: Separated, of_losses: LossUncertainties, as_tested: AsTested) -> Losses:
    """Losses by segregation, or by the direct method where the rule refuses the regression."""
    power, curve = test.job.nameplate.power, test.reduction.curve
    if power is None or curve is None:
        raise TooFewReadings(test.reduction.curve_missing or Message("losses.no_rated_power"))
    friction = test.reduction.brake_friction
    in_points = friction.torque if friction is not None and friction.used else None
    correction = None if in_points else correction_of(separated, test.reduction.brake_current, power)
    added = 0.0 if correction is None else correction
    regression = regress(separated, test.reduction, rated_power=power, correction=added)
    brake_off = None if in_points else brake_off_row(separated, test.reduction.brake_current, power)
    fitted = of_losses.fitted(regression, brake_off)
    stray = stray_result(regression, test.procedure, slope=fitted.slope, intercept=fitted.intercept)
    common: dict[str, Any] = {
        "stray_regression": stray,
        "dynamometer_correction": in_points or quantity(correction, "N*m", fitted.correction),
        **no_load_curves(separated.no_load),
    }
    notes = segregation_notes(test.job, separated, correction, friction)
    if not stray.accepted[test.procedure.title]:
        known = as_tested()
        reason = Message("losses.refused_as_tested" if known else "losses.refused", note=stray.note)
        return _direct(test, reason, notes=notes, **known, **common)
    rise = None if test.thermal is None or test.thermal.winding_rise is None else test.thermal.winding_rise.value
    reference, basis = reference_temperature(test.job, test.reduction, rise, test.procedure)
    by_rise = rise is not None and reference == test.procedure.reference_coolant + rise
    slope = regression.fit.line.slope
    along = loss_curve(separated, curve, slope=slope, correction=added, reference=reference)
    reached_loads = list(_loads_reached(along, power))
    uncertainties = fitted.at_loads(along, [reached for _, reached in reached_loads], reference, by_rise=by_rise)
    at_loads = tuple(
        _loss_point(part, along, reached, of) for (part, reached), of in zip(reached_loads, uncertainties, strict=True)
    )
    rated = next((point for point in at_loads if point.load.value == 1.0), None)
    of_test = loss_curve(separated, curve, slope=slope, correction=added, reference=None)
    return Losses(
        method=SEGREGATION,
        reason=Message("losses.by_procedure", procedure=test.procedure.name),
        **{name: getattr(rated, name, None) for name in (*_PARTS, "stray", "efficiency")},
        reference_temperature=quantity(reference, "K", of_losses.rise_uncertainty() if by_rise else None),
        at_loads=at_loads,
        direct_efficiency=_direct_efficiency(test),
        efficiency_as_tested=_efficiency_as_tested(of_test, fitted, power),
        notes=(basis, *notes),
        **common,
    )


def _efficiency_as_tested(curve: LossCurve, fitted: FittedUncertainties, power: float) -> Quantity | None:
    """Efficiency by segregation at rated power [W] and the temperature of the test."""
    found = curve.at(power)
    if found is None:
        return None
    (known,) = fitted.at_loads(curve, [power], None, by_rise=False)
    return quantity(found["efficiency"], "1", known.get("efficiency"))


def _loads_reached(curve: LossCurve, rated_power: float) -> Iterator[tuple[float, float]]:
    """Parts of rated load that the curve reaches, each with its shaft power [W]."""
    for load in LOADS:
        wanted = load * rated_power
        reached = curve.reached(wanted, _END)
        if curve.at(reached) is not None:
            yield (load if reached == wanted else reached / rated_power), reached


def _loss_point(
    load: float, curve: LossCurve, shaft_power: float, uncertainties: Mapping[str, Uncertainty]
) -> LossPoint:
    losses = curve.at(shaft_power)
    assert losses is not None  # asked for only where the curve reaches it
    units = {name: "1" if name == "efficiency" else "W" for name in losses}
    figures = {
        name: with_uncertainty(Quantity(value, units[name]), uncertainties.get(name)) for name, value in losses.items()
    }
    return LossPoint(load=Quantity(load, "1"), **figures)


def _direct_current(test: LossTest) -> Losses:
    at_rated, nearness = test.at_rated_power, test.procedure.voltage_nearness
    try:
        if at_rated is None:
            raise TooFewReadings(Message("losses.rated_power_not_reached"))
        winding = test.winding
        segregated = direct_current_losses(
            test.job, test.readings, at_rated, winding=winding, voltage_nearness=nearness
        )
    except TooFewReadings as lack:
        return _direct(test, lack.message)
    notes = (Message("losses.armature_winding", basis=winding.basis), Message("losses.rest", rest=segregated.rest))
    reason = Message("losses.direct_current")
    armature, rest = test.uncertainties.direct_current(winding, segregated)
    rotor, constant = quantity(segregated.armature, "W", armature), quantity(segregated.constant, "W", rest)
    return _direct(test, reason, rotor=rotor, constant=constant, notes=notes)
