"""How sure the single figures of the machine are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.doubts import errors_of, in_proportion, with_doubt, with_errors
from certgen.assessment.results import Characteristic
from certgen.assessment.speed_character import rated_place
from certgen.job.model import Job
from certgen.quantity import Quantity
from certgen.reduction.load_points import lightest_index
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, linear, nominal, single, weighted
from certgen.reduction.uncertainty.starting_errors import locked_rotor_errors

#: Figures that are others over a rated value, which is exact; and which those are.
_IN_PROPORTION = {
    "locked_rotor_torque_ratio": "locked_rotor_torque",
    "locked_rotor_current_ratio": "locked_rotor_current",
    "pull_up_torque_ratio": "pull_up_torque",
    "breakdown_torque_ratio": "breakdown_torque",
    "kva_per_hp": "locked_rotor_current",
}


def with_doubts(found: Characteristic, job: Job, reduction: Reduction) -> Characteristic:
    """The same figures, each with its uncertainty where what it rests on is stated.

    Rated torque and the loss of a gear are those of the plate alone, and exact.
    """
    errors = errors_of(reduction)
    if errors is None:
        return found
    changed: dict[str, Any] = {}
    for name, figure in (*_at_points(found, reduction), *_made(found, job, reduction, errors)):
        if figure is not None:
            changed[name] = figure
    sure = replace(found, **changed)
    of_others: dict[str, Any] = {
        name: in_proportion(getattr(sure, name), getattr(sure, of)) for name, of in _IN_PROPORTION.items()
    }
    return replace(sure, **{name: figure for name, figure in of_others.items() if figure is not None})


def _at_points(found: Characteristic, reduction: Reduction) -> Iterator[tuple[str, Quantity]]:
    """Figures with the uncertainty of the load point they were read at: no load, breakdown, pull-up."""
    points, idle, extremes, sure = (
        reduction.points, reduction.no_load_point, reduction.extremes, reduction.uncertainties
    )  # fmt: skip
    places: list[tuple[float, dict[str, str]]] = []
    if idle is not None:
        places.append((float(idle.torque[0]), {"no_load_speed": "speed", "no_load_current": "current"}))
    for name in ("breakdown", "pull_up"):
        extreme = getattr(extremes, name, None)
        if extreme is not None:
            figures = {f"{name}_torque": "torque", f"{name}_speed": "speed"}
            if reduction.sweep is not None:
                del figures[f"{name}_speed"]  # where a flat summit lies is far less sure than any speed read
            places.append((extreme.torque, figures))
    for torque, quantities in places:
        rows = np.flatnonzero(points.torque == torque)
        for figure, quantity in quantities.items():
            known = getattr(found, figure)
            if known is not None and rows.size and sure is not None:
                yield figure, with_doubt(known, sure.points[int(rows[0])].get(quantity))


def _made(
    found: Characteristic, job: Job, reduction: Reduction, errors: Errors
) -> Iterator[tuple[str, Quantity | None]]:
    """Figures made from several readings."""
    supply = mean_frequency(errors)
    if supply is not None and found.synchronous_speed is not None:
        by_hertz = found.synchronous_speed.value / nominal(supply)
        yield "synchronous_speed", with_errors(found.synchronous_speed, linear(0.0, [(by_hertz, supply)]), errors)
    held = reduction.locked_rotor
    if held is not None:
        for name, value in locked_rotor_errors(errors, job, held, reduction.points).items():
            yield f"locked_rotor_{name}", with_errors(getattr(found, f"locked_rotor_{name}"), value, errors)
    yield "peak_power", with_errors(found.peak_power, _peak(reduction, errors), errors)
    yield "gear_ratio", with_errors(found.gear_ratio, _gear_ratio(found, reduction, errors, supply), errors)
    ratio = _light_load_speed_ratio(job, reduction, errors)
    yield "light_load_speed_ratio", with_errors(found.light_load_speed_ratio, ratio, errors)


def mean_frequency(errors: Errors) -> Correlated:
    """Supply frequency over the test [Hz]; ``None`` where it is not known."""
    known = [one for one in errors.points["frequency"] if one is not None]
    return weighted(known, np.full(len(known), 1.0 / max(len(known), 1)))


def _peak(reduction: Reduction, errors: Errors) -> Correlated:
    """At its summit the power does not move with torque: only the speed there makes it unsure."""
    if reduction.peak is None or errors.along is None:
        return None
    speed = errors.along.at(reduction.peak.torque)["speed"][0]
    return linear(nominal(speed), [(float(reduction.peak.torque[0]), speed)])


def _gear_ratio(found: Characteristic, reduction: Reduction, errors: Errors, supply: Correlated) -> Correlated:
    if found.gear_ratio is None or reduction.no_load_point is None:
        return None
    row = int(np.flatnonzero(reduction.points.torque == reduction.no_load_point.torque[0])[0])
    speed = errors.points["speed"][row]
    by_hertz = found.gear_ratio.value * nominal(speed) / nominal(supply)
    return single(lambda hertz, at: by_hertz * hertz / at, supply, speed)


def _light_load_speed_ratio(job: Job, reduction: Reduction, errors: Errors) -> Correlated:
    place, row = rated_place(job, reduction), lightest_index(reduction.points.torque)
    if place is None or row is None or reduction.uncertainties is None:
        return None
    name, judged = place
    operating = (reduction.uncertainties.correlated or {}).get(name, {})
    rated = operating.get("speed")
    if reduction.curve is None:
        rows: NDArray[np.intp] = np.flatnonzero(reduction.points.torque == judged.torque[0])
        rated = errors.points["speed"][int(rows[0])] if rows.size else None
    return single(lambda light, loaded: light / loaded, errors.points["speed"][row], rated)
