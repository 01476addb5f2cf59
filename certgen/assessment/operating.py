"""Where on the load a criterion is judged: a point of the load curve, or one tested point near enough."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from certgen.job.model import Job
from certgen.reduction.load_curve import REACH, READ_OFF_BY
from certgen.reduction.model import LoadPoints, Reduction
from certgen.reduction.uncertainty.model import Doubt
from certgen.standards.criteria import PLACES

#: Declared value that defines each place.
_DECLARED = {
    "rated current": "current",
    "rated power": "power",
    "rated speed": "speed",
    "service factor": "service_factor_power",
}


@dataclass(frozen=True)
class Judged:
    """A point to judge at, or ``None`` with the reason; ``note`` tells a reader what kind of point it is.

    ``doubts`` holds how sure each quantity of the point is, as far as that is known.
    """

    point: LoadPoints | None  # of one row
    note: str
    unreachable: float | None = None  # the greatest power of the machine, where that is what was missed [W]
    doubts: Mapping[str, Doubt] = field(default_factory=dict)


def judged_point(place: str, job: Job, reduction: Reduction, declared: dict[str, float | None]) -> Judged:
    """The load point for a place such as 'rated current'.

    With a load curve it is read off the curve. Without one (fewer than three different torques) the tested
    point nearest the place is judged, if it is within 5 % of it, and the note says how far off it is.
    """
    quantity, name = READ_OFF_BY[PLACES[place]], _DECLARED[place]
    wanted = declared[name]
    if wanted is None:
        return Judged(None, f"the nameplate gives no {name.replace('_', ' ')}")
    if reduction.curve is None:
        return _tested_near(place, quantity, wanted, reduction)
    found = reduction.operating[PLACES[place]]
    if found is not None:
        note = "extrapolated, at most 5 % beyond the tested range" if found.extrapolated else ""
        sure = reduction.uncertainties
        return Judged(found.point, note, doubts=sure.operating.get(PLACES[place], {}) if sure else {})
    peak = None if reduction.peak is None else float(reduction.peak.shaft_power[0])
    if quantity == "shaft_power" and peak is not None and peak < wanted:
        return Judged(None, f"the greatest power reached was {peak / wanted:.0%} of it", peak)
    return Judged(None, f"{_words(place)} lies outside the tested range")


def _tested_near(place: str, quantity: str, wanted: float, reduction: Reduction) -> Judged:
    points, sure = reduction.points, reduction.uncertainties
    values = np.where(points.impossible, np.nan, getattr(points, quantity))
    if not np.isfinite(values).any():
        return Judged(None, f"{quantity.replace('_', ' ')} was not measured")
    nearest = int(np.nanargmin(np.abs(values - wanted)))
    off = float(values[nearest]) / wanted - 1.0
    limit = REACH
    if quantity == "speed" and np.isfinite(points.slip[nearest]):
        # 5 % of speed is more than a whole slip, so nearness of an induction motor is told by slip.
        synchronous = points.speed[nearest] / (1.0 - points.slip[nearest])
        off = float(points.slip[nearest] / (1.0 - wanted / synchronous)) - 1.0
    if not abs(off) <= limit:
        return Judged(None, f"no tested point is within 5 % of {_words(place)}, and there are too few for a curve")
    note = f"judged at a tested point, {off:+.1%} off {_words(place)}"
    return Judged(points.chosen(np.array([nearest])), note, doubts=sure.points[nearest] if sure else {})


def _words(place: str) -> str:
    return "the service-factor load" if place == "service factor" else place
