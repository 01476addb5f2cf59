"""How sure the losses are: nothing where the errors of the test were not propagated."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from certgen.assessment.doubts import errors_of, quantity
from certgen.job.model import Job
from certgen.quantity import Quantity
from certgen.reduction.direct_current import DirectCurrentLosses
from certgen.reduction.loss_test import Separated
from certgen.reduction.model import LoadPoints, Reduction
from certgen.reduction.residual import Regression
from certgen.reduction.segregation import LossCurve
from certgen.reduction.uncertainty.direct_current_errors import direct_current_errors
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, linear
from certgen.reduction.uncertainty.loss_errors import LossErrors, stator_loss
from certgen.reduction.uncertainty.model import Doubt
from certgen.reduction.uncertainty.winding_errors import RiseErrors
from certgen.reduction.winding_of_test import WindingOfTest

_RATED = "at_rated_power"


@dataclass(frozen=True, eq=False)
class TestDoubts:
    """What the doubts of the losses of one test rest on; ``winding`` holds its rise and hot resistance."""

    job: Job
    reduction: Reduction
    winding: RiseErrors

    @property
    def errors(self) -> Errors | None:
        """The errors of the test."""
        return errors_of(self.reduction)

    def at_rated(self) -> Mapping[str, Sequence[Correlated]]:
        """The point at rated power, one value a quantity; empty where it has no errors."""
        sure = self.reduction.uncertainties
        point: Mapping[str, Any] = {} if sure is None or not sure.correlated else sure.correlated.get(_RATED, {})
        return {name: [one] for name, one in point.items()}

    def stator(self, winding: WindingOfTest, point: LoadPoints) -> Quantity | None:
        """Stator loss [W] at the point at rated power."""
        doubt = None
        if self.errors is not None and self.at_rated():
            doubt = self.errors.doubt(stator_loss(self.errors, winding, self.at_rated(), self.winding.resistance))
        return quantity(float(winding.stator_loss(point)[0]), "W", doubt)

    def direct_current(self, winding: WindingOfTest, found: DirectCurrentLosses) -> tuple[Doubt | None, Doubt | None]:
        """Of the armature's loss and of the constant loss of a direct-current motor."""
        if self.errors is None or not self.at_rated():
            return None, None
        losses = direct_current_errors(
            self.errors, self.job, found, winding=winding, point=self.at_rated(), hot=self.winding.resistance
        )
        armature, constant = (None if one is None else self.errors.doubt(one) for one in losses)
        return armature, constant

    def of(self, separated: Separated) -> LossDoubts:
        """How sure losses are that were told apart."""
        if self.errors is None:
            return LossDoubts(self, None)
        return LossDoubts(self, LossErrors(self.errors, separated, self.job.motor.type, self.winding.resistance))


@dataclass(frozen=True, eq=False)
class LossDoubts:
    """Doubts of losses told apart; ``losses`` is ``None`` where there are none."""

    test: TestDoubts
    losses: LossErrors | None

    def at_rated(self) -> Mapping[str, Doubt]:
        """Of the losses at rated power, at the temperature of the test."""
        point = self.test.at_rated()
        return {} if self.losses is None or not point else self.doubts(self.losses.at_point(point))

    def rise_doubt(self) -> Doubt | None:
        """Of a temperature that rests on the winding's rise."""
        rise = self.test.winding.rise
        return None if self.losses is None or rise is None else self.losses.errors.doubt(rise)

    def doubts(self, values: Mapping[str, Correlated]) -> Mapping[str, Doubt]:
        """Doubts of values by name; those not known are left out."""
        if self.losses is None:
            return {}
        return {name: self.losses.errors.doubt(one) for name, one in values.items() if one is not None}

    def fitted(self, regression: Regression, brake_off: int | None) -> FittedDoubts:
        """How sure the stray-load regression and what follows from it are."""
        return FittedDoubts(self, regression, brake_off)


@dataclass(frozen=True, eq=False)
class FittedDoubts:
    """Doubts of the stray-load regression, the brake's own friction, and the losses over the load."""

    of: LossDoubts
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
    def _doubts(self) -> Mapping[str, Doubt]:
        return self.of.doubts(self._values)

    @property
    def slope(self) -> Doubt | None:
        """Of the slope."""
        return self._doubts.get("slope")

    @property
    def intercept(self) -> Doubt | None:
        """Of the intercept."""
        return self._doubts.get("intercept")

    @property
    def correction(self) -> Doubt | None:
        """Of the torque of the brake's own friction."""
        return self._doubts.get("correction")

    def at_loads(
        self, curve: LossCurve, powers: Sequence[float], reference: float | None, *, by_rise: bool
    ) -> list[Mapping[str, Doubt]]:
        """Of every loss at shaft powers [W]; ``by_rise`` where the reference temperature [K] rests on the rise."""
        losses, rise = self.of.losses, self.of.test.winding.rise
        if losses is None:
            return [{} for _ in powers]
        wanted: Correlated = reference
        if reference is not None and by_rise and rise is not None:
            wanted = linear(reference, [(1.0, rise)])
        slope, correction = self._values["slope"], self._values["correction"]
        found = losses.at_loads(curve, powers, slope=slope, correction=correction, reference=wanted)
        return [self.of.doubts(one) for one in found] or [{} for _ in powers]
