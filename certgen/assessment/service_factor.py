"""The service factor: whether rated power times service factor was reached, and for how long."""

from __future__ import annotations

import numpy as np

from certgen.assessment.operating import Judged
from certgen.assessment.results import Finding, Limits
from certgen.reduction.held_run import HeldRun
from certgen.reduction.model import Reduction
from certgen.standards.criteria import Criterion
from certgen.standards.temperature_limits import SteadyRule

#: Shorter than this a load was shown briefly: the shortest short-time rating, duty S2 10 min.
#: Source: IEC 60034-1, 4.2.2, from memory.
BRIEFLY = 600.0
#: How a note says that the load was not held to a steady temperature.
NOT_STEADY = "not shown to be steady"
#: A point this near below the wanted power counts as held at it.
_NEARLY = 0.99


def service_factor_finding(
    row: Criterion, wanted: float, judged: Judged, reduction: Reduction, source: str, *, steady: SteadyRule
) -> Finding:
    """Whether the service-factor load was reached.

    Reached means a tested or barely extrapolated point of that power; a machine whose greatest power lies below
    it fails; a test that stopped short proves nothing. How long the load was held, and whether the motor became
    steady at it, is told in the note.
    """
    points = reduction.points
    greatest = float(np.nanmax(np.where(points.impossible, np.nan, points.shaft_power), initial=-np.inf))
    measured: float | None = greatest if np.isfinite(greatest) else None
    if judged.point is not None:
        outcome = "pass"
        measured = float(judged.point.shaft_power[0])
        note = "; ".join(part for part in (judged.note, held(reduction, wanted, steady)) if part)
    elif judged.unreachable is not None:
        outcome, note, measured = "fail", judged.note, judged.unreachable
    else:
        outcome, note = "not tested", judged.note
    return Finding(
        id=row.id,
        title=row.title,
        outcome=outcome,
        unit="W",
        declared=wanted,
        measured=measured,
        required=Limits(low=wanted),
        source=source,
        note=note,
    )


def held(reduction: Reduction, wanted: float, steady: SteadyRule) -> str:
    """In words, for how long the load was at or above a wanted power [W], and whether it was held to a steady end."""
    at_load = [run for run in reduction.held_runs if run.load is not None and run.load >= _NEARLY * wanted]
    longest = max(at_load, key=lambda run: run.length, default=None)
    if longest is None or longest.length < BRIEFLY:
        return _between_readings(reduction, wanted)
    return f"held for {longest.length / 60.0:.0f} min ({longest.where}), {_end_of(longest, steady)}"


def _end_of(run: HeldRun, steady: SteadyRule) -> str:
    change, by = run.change_within(steady.within), run.steady_by(steady.change, steady.within)
    if change is None:
        return f"{NOT_STEADY}: the {run.part} was watched for less than {steady.within / 60.0:.0f} min"
    if by is None:
        return f"{NOT_STEADY}: {run.part} {change:+.1f} K in the last {steady.within / 60.0:.0f} min"
    return f"{run.part} steady by {by / 60.0:.0f} min"


def _between_readings(reduction: Reduction, wanted: float) -> str:
    points = reduction.points
    at_load = points.shaft_power >= _NEARLY * wanted
    count = int(at_load.sum())
    if count == 0:
        return "read off the curve; not held at this load"
    times = points.time[at_load]
    if reduction.log is not None:
        plateaus = reduction.log.plateaus
        times = np.array([when for row in np.flatnonzero(at_load) for when in (plateaus[row].start, plateaus[row].end)])
    elif not np.isfinite(times).all() or count < 2:
        return f"reached at {count} tested point{'s' if count > 1 else ''}; how long it was held is not recorded"
    minutes = float(np.ptp(times)) / 60.0
    if minutes * 60.0 < BRIEFLY:
        return f"reached briefly: {minutes:.1f} min between its first and last reading"
    return f"held for {minutes:.0f} min; steady temperature is not judged"
