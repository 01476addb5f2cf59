"""What load points ask of the rig, held against each limit the rig states: one comparison before and after the test."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.job.rig import ROPE, Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Mask
from certgen.physics.mechanics import centripetal_force, gear_output_speed, rim_speed, shaft_power
from certgen.readings.model import Table


@dataclass(frozen=True, eq=False)
class Demand:
    """What some load points ask, arrays of shape (n,), ``nan`` where not known.

    Torque and speed of the tested shaft and of the absorber [N*m], [rad/s]; the largest raw indication of the
    balances [kg or N]; the current that excites the brake [A].
    """

    shaft_torque: Array
    shaft_speed: Array
    absorber_torque: Array
    absorber_speed: Array
    scale_indication: Array
    brake_current: Array


@dataclass(frozen=True, eq=False)
class AskedOf:
    """One limit: its name, what the points ask and what the rig states, shape (n,); ``nan`` where not known.

    ``stated`` says whether the rig states the limit at all; ``key`` where it would.
    """

    name: str
    key: str
    unit: str  # SI
    asked: Array
    limit: Array
    stated: bool

    @property
    def title(self) -> Message:
        """Name of the limit, as it stands in a sentence."""
        return Message(f"limit.{self.name.replace(' ', '_')}")

    @property
    def passed(self) -> Mask:
        """Which points ask more than the limit, shape (n,); what is not known passes nothing."""
        return np.asarray(self.asked > self.limit)

    @property
    def worst(self) -> int | None:
        """The point that comes nearest to the limit or passes it furthest, ``None`` where none can be compared."""
        with np.errstate(divide="ignore", invalid="ignore"):  # an envelope may begin at no torque
            part = self.asked / self.limit
        return None if np.isnan(part).all() else int(np.nanargmax(part))


def demand_at(rig: Rig, shaft_torque: Array, shaft_speed: Array, absorber_torque: Array, indication: Array) -> Demand:
    """What planned load points ask of a rig.

    Parameters
    ----------
    rig : Rig
        Its drive divides the speed.
    shaft_torque, shaft_speed : array, shape (n,)
        At the tested shaft. [N*m], [rad/s]
    absorber_torque : array, shape (n,)
        At the absorber. [N*m]
    indication : array, shape (n,)
        What the scale will show. [kg or N]

    Returns
    -------
    Demand
        The same with the absorber's speed; the brake's current is not known before a test.
    """
    ratio = rig.drive.ratio if rig.drive.kind == "belt" and rig.drive.ratio else 1.0
    absorber_speed = np.asarray(gear_output_speed(shaft_speed, ratio))
    unknown = np.full(shaft_torque.shape, np.nan)
    return Demand(shaft_torque, shaft_speed, absorber_torque, absorber_speed, indication, unknown)


def asked_of(rig: Rig, envelope: Table | None, demand: Demand) -> tuple[AskedOf, ...]:
    """Every limit a rig can state, with what the points ask of it.

    Parameters
    ----------
    rig : Rig
        Limits, tachometer and rim.
    envelope : Table or None
        Most torque the absorber holds, by speed. [rad/s], [N*m]
    demand : Demand
        n load points.

    Returns
    -------
    tuple of AskedOf
        In the order a bench would look at them; those that cannot exist on this rig are left out.

    References
    ----------
    Power is torque times speed; the pull on a magnet and the speed of a rim as in :mod:`certgen.physics.mechanics`.
    """
    limits = rig.limits
    scale = limits.scale
    scale_unit = "N" if rig.scale is not None and rig.scale.reads == "force" else "kg"
    absorber_power = np.asarray(shaft_power(demand.absorber_torque, demand.absorber_speed))
    absorber_torque = demand.absorber_torque
    limits_asked = [
        _held("torque", "limits.torque", "N*m", absorber_torque, limits.torque),
        _envelope(demand, envelope),
        _held("speed", "limits.speed", "rad/s", demand.absorber_speed, limits.speed),
    ]
    if rig.scale is not None:
        span = None if scale is None else scale.value
        limits_asked.append(_held("scale", "limits.scale", scale_unit, demand.scale_indication, span))
    limits_asked += [
        _held("coupling torque", "limits.coupling_torque", "N*m", demand.shaft_torque, limits.coupling_torque),
        _held("absorber power", "limits.absorber_power", "W", absorber_power, limits.absorber_power),
        _held("brake current", "limits.brake_current", "A", demand.brake_current, limits.brake_current),
        _held("bearing speed", "limits.bearing_speed", "rad/s", demand.absorber_speed, limits.bearing_speed),
    ]
    if rig.drive.kind == "belt":
        power = np.asarray(shaft_power(demand.shaft_torque, demand.shaft_speed))
        limits_asked.append(_held("belt power", "limits.belt_power", "W", power, limits.belt_power))
    return (*limits_asked, *_of_what_turns(rig, demand))


def _of_what_turns(rig: Rig, demand: Demand) -> list[AskedOf]:
    """Tachometer, its magnet, and the rim of the largest part."""
    seen = demand.absorber_speed if rig.tachometer.on == "absorber" else demand.shaft_speed
    limits_asked = [_held("tachometer speed", "limits.tachometer_speed", "rad/s", seen, rig.limits.tachometer_speed)]
    magnet = rig.tachometer.magnet
    if magnet is not None:
        pull = np.asarray(centripetal_force(magnet.mass, seen, magnet.radius))
        key = "tachometer.magnet.holding_force"
        limits_asked.append(_held("magnet pull", key, "N", pull, magnet.holding_force))
    rim = _rim(rig, demand)
    if rim is not None:
        radius, speed = rim
        rim_speeds = np.asarray(rim_speed(speed, radius))
        limits_asked.append(_held("rim speed", "limits.rim_speed", "m/s", rim_speeds, rig.limits.rim_speed))
    return limits_asked


def _rim(rig: Rig, demand: Demand) -> tuple[float, Array] | None:
    if rig.rim is not None:
        return rig.rim.radius, demand.shaft_speed if rig.rim.on == "motor" else demand.absorber_speed
    if rig.absorber.kind == ROPE and rig.drum_radius is not None:
        return rig.drum_radius.value, demand.absorber_speed
    return None


def _held(name: str, key: str, unit: str, asked: Array, limit: float | None) -> AskedOf:
    limits = np.full(asked.shape, np.nan if limit is None else limit)
    return AskedOf(name, key, unit, asked, limits, stated=limit is not None)


def _envelope(demand: Demand, envelope: Table | None) -> AskedOf:
    """The torque the brake can hold at each speed; at rest it holds by other means, and that is not judged."""
    asked = np.where(demand.absorber_speed > 0.0, demand.absorber_torque, np.nan)
    limit = np.full(asked.shape, np.nan) if envelope is None else torque_held(envelope, demand.absorber_speed)
    return AskedOf("torque at this speed", "brake_envelope", "N*m", asked, limit, stated=envelope is not None)


def torque_held(envelope: Table, speed: Array) -> Array:
    """Most torque a brake holds at some speeds.

    Parameters
    ----------
    envelope : Table
        Columns speed [rad/s] and torque [N*m], in any order.
    speed : array, shape (n,)
        Speed of the absorber. [rad/s]

    Returns
    -------
    array, shape (n,)
        On straight lines between the rows; ``nan`` below the slowest and above the fastest. [N*m]

    References
    ----------
    Common practice, no source: a curve given by points is read linearly between them and never beyond.
    """
    speeds, torques = envelope.column("speed"), envelope.column("torque")
    known = np.isfinite(speeds) & np.isfinite(torques)
    if not known.any():
        return np.full(speed.shape, np.nan)
    order = np.argsort(speeds[known], kind="stable")
    held = np.interp(speed, speeds[known][order], torques[known][order], left=np.nan, right=np.nan)
    return np.where(np.isfinite(speed), held, np.nan)
