"""A run-down test reduced: friction over speed from a known inertia, or both from a second run with a known load."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from certgen.document.build import Toleranced
from certgen.job.model import MOTOR, RIG, Braking, Coasting, Job
from certgen.job.rig import Rig
from certgen.job.table import TableSource
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.run_down import CoastingRun, RunDownFit, fit_run_down, speeds_to_use
from certgen.physics.uncertainty import combine, effective_degrees_of_freedom, expanded, half_width_to_standard
from certgen.readings.model import Readings, Table
from certgen.reduction.log.faulty_samples import reasons_by_ratio
from certgen.reduction.log.model import LeftOut, Reason, Reasons, listed, marked
from certgen.reduction.log.steady import usual_interval
from certgen.reduction.model import RunDownFound, RunDownMissing, TooFewReadings, UncertainValue
from certgen.reduction.speed import shaft_speeds
from certgen.reduction.torque import rig_at_shaft, rotor_at_shaft

#: Of a log of so many rows the beginning is left out, in which the speed has not yet fallen by this part of its fall: the
#: supply may still have been on. Common practice, no source.
_MANY_ROWS = 20
#: Scatter of the speeds about the fit, in parts of the highest, above which they follow no friction. Common practice, no
#: source.
_MOST_RESIDUAL = 0.02
_BEGINNING = 0.02
#: Rows left out for one reason that lie no further apart than so many intervals stand in one entry.
_APART = 5.0
#: Below this part of the highest speed one that doubles from row to row may do so by itself; and most rows are this part
#: of all, or nobody can say which are right. Common practice, no source.
_SLOW, _MOST_OF_ROWS = 0.05, 0.6


@dataclass(frozen=True)
class _Known:
    """A figure the files give, with its standard uncertainty; ``nan`` where that is not stated."""

    value: float
    standard: float

    @property
    def relative(self) -> float:
        return self.standard / self.value


def run_down_of(job: Job, rig: Rig, readings: Readings) -> RunDownFound | RunDownMissing | None:
    """Friction and inertia by the run-down tables of a job.

    Parameters
    ----------
    job : Job
        What coasted, what was added, the rotor's inertia. [SI]
    rig : Rig
        Its inertia, drive and tachometer. [SI]
    readings : Readings
        The tables. [SI]

    Returns
    -------
    RunDownFound, RunDownMissing or None
        ``None`` where there is no such table. Torque and inertia are those at the shaft named by what coasted: the
        absorber's for the rig alone, else the tested shaft. [SI]

    References
    ----------
    See :func:`certgen.physics.run_down.fit_run_down`; JCGM 100:2008 (GUM), 5.1 and 5.2.
    """
    source, table = job.readings.run_down, readings.others.get("run_down")
    if source is None or table is None or not isinstance(source.also, Coasting):
        return None
    coasting = source.also.coasting or MOTOR
    braked, added = readings.others.get("run_down_braked"), _added(job.readings.run_down_braked)
    try:
        runs = [_run(table, rig, coasting, "run_down")]
        if braked is not None and added is not None:
            runs.append(_run(braked, rig, coasting, "run_down_braked", added))
        free = runs[0].coasting
        fit = fit_run_down([run.coasting for run in runs])
        if fit is None:
            raise TooFewReadings(Message("run_down.not_by_friction"))
        if fit.residual > _MOST_RESIDUAL * float(free.speed.max()):
            raise TooFewReadings(Message("run_down.scattered", residual=fit.residual / float(free.speed.max())))
    except TooFewReadings as refusal:
        return RunDownMissing(refusal.message)
    stated, missing = _stated_inertia(job, rig, source.also)
    found = _figures(job, rig, coasting, free, fit=fit, stated=stated, load=_of_load(added), missing_inputs=missing)
    return replace(found, left_out=tuple(entry for run in runs for entry in run.left_out))


def _added(source: TableSource | None) -> Braking | None:
    return source.also if source is not None and isinstance(source.also, Braking) else None


def _of_load(added: Braking | None) -> _Known | None:
    if added is None:
        return None
    stated = added.added_torque or added.added_power
    return None if stated is None else _known(stated)


def _known(stated: Toleranced) -> _Known:
    if stated.tolerance is not None:
        return _Known(stated.value, float(half_width_to_standard(stated.tolerance, "rectangular")))
    if stated.expanded_uncertainty is not None:
        return _Known(stated.value, float(half_width_to_standard(stated.expanded_uncertainty, "normal")))
    return _Known(stated.value, math.nan)


@dataclass(frozen=True, eq=False)
class _Run:
    """A run-down and what was left out of its table."""

    coasting: CoastingRun
    left_out: tuple[LeftOut, ...]


def _run(table: Table, rig: Rig, coasting: str, name: str, added: Braking | None = None) -> _Run:
    """The rows in which the speed falls, down to the stop, without those that are faults."""
    time, read = table.column("time"), table.column("speed")
    shaft, absorber = shaft_speeds(read, rig)
    speed = absorber if coasting == RIG else shaft
    why = _faults(time, speed)
    rows = np.flatnonzero(why == 0)
    left_out = listed(why, time, _APART * usual_interval(time))
    time, speed = time[rows], speed[rows]
    standing = np.flatnonzero(speed <= 0.0)
    end = int(standing[0]) if standing.size else speed.size
    if end < 2:
        raise TooFewReadings(Message("run_down.few_rows", table=name))
    start = int(np.argmax(speed[:end]))
    if end >= _MANY_ROWS:
        fallen = float(speed[:end].max()) - _BEGINNING * float(np.ptp(speed[:end]))
        start = int(np.flatnonzero(speed[:end] >= fallen)[-1])
    if end - start < 2:
        raise TooFewReadings(Message("run_down.no_fall", table=name))
    torque, power = (getattr(added, name, None) for name in ("added_torque", "added_power"))
    run = CoastingRun(
        time[start:end],
        speed[start:end],
        added_torque=torque.value if torque else 0.0,
        added_power=power.value if power else 0.0,
    )
    return _Run(run, left_out)


def _wrong_pulses(speed: Array) -> Reasons:
    """Rows whose speed is twice or half what most rows have, from one jump to the next: shape (n,)."""
    fast = (speed[1:] > _SLOW * speed.max()) & (speed[:-1] > _SLOW * speed.max())
    ratio = np.divide(speed[1:], speed[:-1], out=np.ones(speed.size - 1), where=fast)
    jumps = reasons_by_ratio(ratio)
    doubled, halved = (marked(jumps, reason) for reason in (Reason.PULSE_DOUBLED, Reason.PULSE_MISSED))
    power = np.concatenate(([0], np.cumsum(doubled.astype(int) - halved.astype(int))))
    powers, counts = np.unique(power, return_counts=True)
    most = int(np.argmax(counts))
    if counts[most] < _MOST_OF_ROWS * speed.size:
        raise TooFewReadings(Message("run_down.pulses"))
    off = power - powers[most]
    return np.where(off > 0, Reason.PULSE_DOUBLED, np.where(off < 0, Reason.PULSE_MISSED, 0)).astype(np.int8)


def _faults(time: Array, speed: Array) -> Reasons:
    """The reason to leave out each row: no speed, zero though the shaft turned later, wrong pulses, far off the others."""
    turning = np.flatnonzero(speed > 0.0)
    last = int(turning[-1]) if turning.size else -1
    dropped = ~np.isfinite(speed)
    dropped[: last + 1] |= speed[: last + 1] == 0.0
    why = np.where(dropped, np.int8(Reason.DROPPED_OUT), np.int8(0))
    if dropped.all():
        return why
    known = np.flatnonzero(why == 0)
    why[known] = _wrong_pulses(speed[known])
    known = np.flatnonzero(why == 0)
    kept = known[speeds_to_use(time[known], speed[known])]
    off = np.setdiff1d(known, kept)
    if off.size:
        beside = np.interp(time[off], time[kept], speed[kept])
        why[off] = reasons_by_ratio(np.divide(speed[off], beside, out=np.ones(off.size), where=beside > 0.0))
    return why


def _stated_inertia(job: Job, rig: Rig, beside: Coasting) -> tuple[_Known | None, tuple[Message, ...]]:
    """Inertia of what coasted as the files give it, and what to state where they do not."""
    if beside.inertia is not None:
        return _known(beside.inertia), ()
    parts = []
    if beside.coasting != RIG:
        parts.append((rotor_at_shaft(job), Message("run_down.missing_rotor_inertia")))
    if beside.coasting != MOTOR:
        parts.append(
            (rig.inertia if beside.coasting == RIG else rig_at_shaft(rig), Message("run_down.missing_rig_inertia"))
        )
    missing = tuple(message for inertia, message in parts if inertia is None)
    if missing:
        return None, missing
    known = [_known(inertia) for inertia, _ in parts if inertia is not None]
    return _Known(sum(part.value for part in known), math.hypot(*(part.standard for part in known))), ()


def _figures(
    job: Job,
    rig: Rig,
    coasting: str,
    run: CoastingRun,
    *,
    fit: RunDownFit,
    stated: _Known | None,
    load: _Known | None,
    missing_inputs: tuple[Message, ...],
) -> RunDownFound:
    lowest, highest = float(run.speed.min()), float(run.speed.max())
    at_speed, at_rated = _reference(job, rig, coasting, (lowest, highest))
    scale = (
        _Scale(fit, load) if load is not None else None if stated is None else _Scale(fit, stated, by_known_load=False)
    )
    missing = list(missing_inputs) if scale is None else []
    if scale is not None and not math.isfinite(scale.known.standard):
        missing.append(
            Message("run_down.missing_tolerance_of_load" if load else "run_down.missing_tolerance_of_inertia")
        )
    of_tachometer = _standard_of_speed(rig)
    torque = None if scale is None else scale.torque(at_speed, of_tachometer)
    return RunDownFound(
        coasting=coasting,
        lowest=lowest,
        highest=highest,
        lasted=float(np.ptp(run.time)),
        residual=fit.residual,
        rows=run.time.size,
        deceleration=fit.deceleration(at_speed),
        at_speed=at_speed,
        at_rated=at_rated,
        inertia=None if scale is None else scale.inertia(),
        inertia_found=load is not None,
        inertia_stated=stated.value if stated is not None and load is not None else None,
        terms=None if scale is None else scale.terms(),
        friction_torque=torque,
        friction_loss=None if torque is None else _times(torque, at_speed),
        missing_inputs=tuple(missing),
    )


def _times(quantity: UncertainValue, factor: float) -> UncertainValue:
    wider = None if quantity.expanded is None else quantity.expanded * factor
    return UncertainValue(quantity.value * factor, wider, quantity.coverage_factor)


def _reference(job: Job, rig: Rig, coasting: str, passed: tuple[float, float]) -> tuple[float, bool]:
    """Rated speed where the run passed it, else the highest speed it did."""
    rated = job.nameplate.speed
    if rated is not None and coasting == RIG and rig.drive.kind == "belt" and rig.drive.ratio:
        rated = rated / rig.drive.ratio
    if rated is not None and passed[0] <= rated <= passed[1]:
        return rated, True
    return passed[1], False


def _standard_of_speed(rig: Rig) -> float:
    limit = rig.tachometer.tolerance
    return 0.0 if limit is None else float(half_width_to_standard(limit, "rectangular"))


@dataclass(frozen=True)
class _Scale:
    """What turns decelerations into torques: an inertia found ``by_known_load``, or one that is known itself."""

    fit: RunDownFit
    known: _Known  # the load, or the inertia
    by_known_load: bool = True

    @property
    def _inertia(self) -> float:
        return 1.0 / self.fit.per_inertia if self.by_known_load else self.known.value

    def inertia(self) -> UncertainValue:
        """The inertia. [kg*m^2]"""
        if not self.by_known_load:
            return self._with_uncertainty(self._inertia, 0.0)
        by_scatter = self._inertia**2 * math.sqrt(float(self.fit.covariance[3, 3]))
        return self._with_uncertainty(self._inertia, by_scatter)

    def torque(self, speed: float, of_speed: float) -> UncertainValue:
        """Friction torque at a speed [rad/s] whose standard uncertainty is ``of_speed`` [rad/s]. [N*m]"""
        by_scatter = self._scatter(self.fit.gradient(speed), self.fit.deceleration(speed))
        shifted = self._inertia * self.fit.slope(speed) * of_speed
        return self._with_uncertainty(self._inertia * self.fit.deceleration(speed), by_scatter, shifted)

    def terms(self) -> tuple[UncertainValue, UncertainValue, UncertainValue]:
        """Coefficients of friction over powers of speed. [N*m, N*m*s, N*m*s^2]"""
        first, second, third = (self._term(index) for index in range(3))
        return first, second, third

    def _term(self, index: int) -> UncertainValue:
        coefficient = float(self.fit.coefficients[index])
        if coefficient == 0.0:
            return UncertainValue(0.0)
        return self._with_uncertainty(self._inertia * coefficient, self._scatter(np.eye(4)[index], coefficient))

    def _scatter(self, gradient: Array, rate: float) -> float:
        """Standard uncertainty of inertia times a rate, by the scatter of the speeds."""
        by_all = self._inertia * gradient
        if self.by_known_load:
            by_all = by_all + np.array([0.0, 0.0, 0.0, -(self._inertia**2) * rate])
        return math.sqrt(max(0.0, float(by_all @ self.fit.covariance @ by_all)))

    def _with_uncertainty(self, value: float, by_scatter: float, shifted: float = 0.0) -> UncertainValue:
        of_known = abs(value) * self.known.relative
        parts = np.array([by_scatter, of_known, shifted])
        if not np.isfinite(parts).all():
            return UncertainValue(value)
        standard = combine(parts)
        if standard == 0.0:
            return UncertainValue(value)
        freedom = effective_degrees_of_freedom(parts, np.array([max(self.fit.degrees_of_freedom, 1), np.inf, np.inf]))
        half_width, factor = expanded(standard, freedom)
        return UncertainValue(value, half_width, factor)
