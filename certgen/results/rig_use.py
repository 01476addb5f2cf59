"""How a test used its rig: rows at the end of the scale's span, what was asked of each limit, use of scale and tare."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Mask
from certgen.readings.model import Table
from certgen.reduction.model import Reduction
from certgen.reduction.rig_demand import AskedOf, Demand, asked_of


@dataclass(frozen=True, eq=False)
class RigUse:
    """What the load points asked of the rig.

    Scale and tare are looked at where it decides: at the rated point, or at the heaviest that was tested. ``place`` is
    ``None`` where no torque was measured, and what is not known there is ``nan``.
    """

    full_span: Mask  # load points at which the scale stood at the end of its span, shape (n,)
    limits: tuple[AskedOf, ...]
    place: Message | None
    indication: float  # of the scale at that place [kg or N]
    absorber_torque: float  # N*m, there
    greatest_indication: float  # of the test [kg or N]; minus infinity where there was none


def rig_use(rig: Rig, reduction: Reduction, envelope: Table | None = None) -> RigUse:
    """What one test asked of its rig.

    Parameters
    ----------
    rig : Rig
        Its limits. [SI]
    reduction : Reduction
        Load points with indication, torque and speed at the absorber. [SI]
    envelope : Table, optional
        Torque the brake holds over its speed. [SI]
    """
    place, torque = _where_it_matters(reduction)
    torques = reduction.points.torque
    demand = Demand(
        shaft_torque=torques,
        shaft_speed=reduction.points.speed,
        absorber_torque=reduction.absorber_torque,
        absorber_speed=reduction.absorber_speed,
        scale_indication=reduction.scale_indication,
        brake_current=reduction.brake_current,
    )
    return RigUse(
        full_span=at_full_span(reduction),
        limits=tuple(asked_of(rig, envelope, demand)),
        place=place,
        indication=_interpolated(torque, torques, reduction.scale_indication),
        absorber_torque=_interpolated(torque, torques, reduction.absorber_torque),
        greatest_indication=float(np.nanmax(reduction.scale_indication, initial=-math.inf)),
    )


def at_full_span(reduction: Reduction) -> Mask:
    """Load points at which scale or sensor stood at the end of its span, shape (n,): it may show less than the load."""
    at_span = reduction.load_at_span
    return np.zeros(reduction.points.count, dtype=bool) if at_span is None else at_span


def _where_it_matters(reduction: Reduction) -> tuple[Message | None, float]:
    """The rated point, or the heaviest that was tested, with its torque [N*m]; ``None`` where none was measured."""
    for name in ("rated_power", "rated_current"):
        rated = reduction.operating.get(f"at_{name}")
        if rated is not None:
            return Message(f"place.{name}"), float(rated.point.torque[0])
    greatest = float(np.nanmax(reduction.points.torque, initial=0.0))
    return (Message("place.heaviest_load"), greatest) if greatest > 0.0 else (None, math.nan)


def _interpolated(torque: float, torques: Array, values: Array) -> float:
    """A column at a torque, linear between the tested points; ``nan`` where nothing of it is known."""
    known = np.isfinite(torques) & np.isfinite(values)
    if not known.any():
        return math.nan
    order = np.argsort(torques[known])
    return float(np.interp(torque, torques[known][order], values[known][order]))
