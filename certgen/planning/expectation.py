"""What the plate lets one expect of the motor at a load: torque, speed and current, each with what it rests on."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.job.model import INDUCTION, THREE_PHASE, Job
from certgen.messages.catalogue import Message
from certgen.physics.electrics import power_factor, three_phase_apparent_power
from certgen.physics.induction import (
    HORSEPOWER,
    current_at_torque_part,
    slip,
    slip_of_torque_part,
    speed_at_slip,
    torque_part_of_power,
)
from certgen.physics.mechanics import torque_at
from certgen.planning.holding import Bench, most_torque_held
from certgen.planning.plan import Breakdown, Starting
from certgen.quantity import Quantity, measured
from certgen.reduction.speed import find_poles, shaft_synchronous_speed
from certgen.standards.nema_letters import code_letter_source, letter_bounds
from certgen.standards.ratings import ladder_unit, step_at_or_below, torque_reserve

#: Torque over rated torque up to which slip is taken as a straight line; past it the curve bends. [1] Common
#: practice, no source.
STRAIGHT_UP_TO = 1.5
#: Part by which the supply's frequency may differ from the plate's and the plate still tell the speed. [1] Common
#: practice, no source.
_FREQUENCY_AGREES = 0.01
_SAME = 1e-9


@dataclass(frozen=True)
class Expectation:
    """What is known of the motor before it is tested, at the tested shaft. [SI]"""

    rated_torque: float | None
    rated_torque_basis: Message
    synchronous_speed: float | None
    rated_slip: float | None
    rated_speed: float | None
    rated_current: float | None
    power_factor: float | None
    service_factor: float | None
    service_factor_current: float | None
    speed_basis: Message
    current_basis: Message

    def torque_at_load(self, load: float) -> float | None:
        """Torque at a part of rated load [N*m]: of rated power where the slip is known, else of rated torque."""
        if self.rated_torque is None:
            return None
        if self.rated_slip is None:
            return self.rated_torque * load
        part = torque_part_of_power(load, self.rated_slip)
        return None if part is None else self.rated_torque * part

    def speed_at_torque(self, torque: float | None) -> float | None:
        """Expected speed at a torque [rad/s], ``None`` where the plate does not tell it."""
        part = self._part(torque)
        if part is None:
            return None
        if self.rated_slip is not None and self.synchronous_speed is not None and part <= STRAIGHT_UP_TO:
            return float(speed_at_slip(slip_of_torque_part(part, self.rated_slip), self.synchronous_speed))
        return self.rated_speed if abs(part - 1.0) < _SAME else None

    def current_at_load(self, load: float, torque: float | None) -> float | None:
        """Expected current at a load [A], ``None`` where the plate does not tell it."""
        if abs(load - 1.0) < _SAME:
            return self.rated_current
        if self.service_factor_current is not None and self.service_factor == load:
            return self.service_factor_current
        part = self._part(torque) if load > 0.0 else None  # no plate gives the current without load
        if part is None or self.rated_current is None or self.power_factor is None or part > STRAIGHT_UP_TO:
            return None
        return current_at_torque_part(part, self.rated_current, self.power_factor)

    def _part(self, torque: float | None) -> float | None:
        return None if torque is None or self.rated_torque is None else torque / self.rated_torque


def expectation_of(job: Job) -> Expectation:
    """What the plate of a job lets one expect.

    Parameters
    ----------
    job : Job
        Motor, plate and conditions. [SI]

    Returns
    -------
    Expectation
        With ``None`` for what the plate does not tell.

    References
    ----------
    Torque is power over speed; speed and current as in :mod:`certgen.physics.induction`.
    """
    plate = job.nameplate
    torque, torque_basis = _rated_torque(job)
    synchronous = _synchronous_speed(job, job.conditions.supply_frequency or plate.frequency)
    rated_slip, speed_basis = _rated_slip(job)
    factor, current_basis = _power_factor(job)
    other_supply = _other_supply(job)
    if other_supply is not None:
        rated_slip, factor, speed_basis, current_basis = None, None, other_supply, other_supply
    return Expectation(
        rated_torque=torque,
        rated_torque_basis=torque_basis,
        synchronous_speed=synchronous,
        rated_slip=rated_slip,
        rated_speed=None if other_supply else plate.speed,
        rated_current=None if other_supply else plate.current,
        power_factor=factor,
        service_factor=plate.service_factor,
        service_factor_current=None if other_supply else plate.service_factor_current,
        speed_basis=speed_basis,
        current_basis=current_basis,
    )


def _rated_torque(job: Job) -> tuple[float | None, Message]:
    plate = job.nameplate
    if plate.power is None or plate.speed is None:
        absent = tuple(Message(f"name.{name}") for name in ("power", "speed") if getattr(plate, name) is None)
        return None, Message("plan.torque.not_known", names=absent)
    basis = Message("plan.torque.at_plate_speed" if plate.gear is None else "plan.torque.at_gear_speed")
    return float(torque_at(plate.power, plate.speed)), basis


def _synchronous_speed(job: Job, frequency: float | None) -> float | None:
    poles = find_poles(job, math.nan, math.nan)
    if poles.count is None or frequency is None:
        return None
    return float(shaft_synchronous_speed(poles, np.array([frequency]), job)[0])


def _rated_slip(job: Job) -> tuple[float | None, Message]:
    plate = job.nameplate
    if job.motor.type not in INDUCTION:
        return None, Message("plan.speed.no_slip")
    synchronous = _synchronous_speed(job, plate.frequency or job.conditions.supply_frequency)
    if plate.speed is None or synchronous is None:
        return None, Message("plan.speed.not_known")
    rated_slip = float(slip(plate.speed, synchronous))
    if not rated_slip > 0.0:
        return None, Message("plan.speed.not_below_synchronous")
    return rated_slip, Message("plan.speed.by_slip", straight_up_to=STRAIGHT_UP_TO)


def _power_factor(job: Job) -> tuple[float | None, Message]:
    plate = job.nameplate
    if job.motor.type != THREE_PHASE:
        return None, Message("plan.current.other_kind")
    factor, source = plate.power_factor, Message("plan.current.by_power_factor")
    if factor is None and plate.power and plate.efficiency and plate.voltage and plate.current:
        apparent = three_phase_apparent_power(plate.voltage, plate.current)
        factor = float(power_factor(plate.power / plate.efficiency, apparent))
        source = Message("plan.current.by_power")
    if plate.current is None or factor is None:
        return None, Message("plan.current.not_on_plate")
    if factor > 1.0:
        return None, Message("plan.current.contradicted")
    return factor, Message("plan.current.estimated", source=source)


def _other_supply(job: Job) -> Message | None:
    """Why the plate does not tell speed and current on this supply; ``None`` where it does."""
    plate, supply = job.nameplate.frequency, job.conditions.supply_frequency
    if plate is None or supply is None or abs(supply / plate - 1.0) <= _FREQUENCY_AGREES:
        return None
    return Message("plan.speed.other_supply", supply=supply, plate=plate)


# The two ends of the curve: what the motor takes at switching on, and whether the rig can take it past breakdown.


#: Parts of synchronous speed within which cage motors break down. Common practice, no source.
_BREAKDOWN_SPEEDS = (0.7, 0.75, 0.8, 0.85, 0.9, 0.95)


def starting_of(bench: Bench) -> Starting | None:
    """Current at switching on by the code letter; ``None`` for a motor without locked-rotor letters.

    References
    ----------
    NEMA MG 1, 10.37.2: apparent power with locked rotor over rated horsepower.
    """
    job = bench.job
    plate = job.nameplate
    if job.motor.type not in INDUCTION:
        return None
    if plate.code_letter is None or plate.power is None or plate.voltage is None:
        absent = "code_letter" if plate.code_letter is None else "power" if plate.power is None else "voltage"
        return Starting(None, None, Message("plan.start.not_known", name=Message(f"name.{absent}")))
    least, most = letter_bounds(plate.code_letter)
    phases = np.sqrt(3.0) if job.motor.type == THREE_PHASE else 1.0
    amperes_of_one = 1000.0 * plate.power / HORSEPOWER / (phases * plate.voltage)
    basis = Message("plan.start.code_letter", letter=plate.code_letter, source=code_letter_source())
    high = None if most is None else most * amperes_of_one
    return Starting(measured(least * amperes_of_one, "A"), measured(high, "A"), basis)


def breakdown_of(bench: Bench, expected: Expectation) -> Breakdown | None:
    """Whether the rig can take an induction motor past breakdown; ``None`` for a motor that has none.

    The rig must hold at every speed at which such motors break down.
    """
    job = bench.job
    if job.motor.type not in INDUCTION:
        return None
    least, source = _least(bench, expected)
    speed = expected.synchronous_speed
    held = None
    if speed is not None:
        at_speeds = [most_torque_held(bench, part * speed) for part in _BREAKDOWN_SPEEDS]
        known = [torque for torque in at_speeds if torque is not None]
        held = min(known) if len(known) == len(at_speeds) else None
    judged = _judged(least, held) if speed is not None else Message("plan.breakdown.no_synchronous_speed")
    return Breakdown(least, source, measured(held, "N*m"), judged)


def _least(bench: Bench, expected: Expectation) -> tuple[Quantity | None, Message | None]:
    job = bench.job
    plate = job.nameplate
    if expected.rated_torque is None or plate.power is None:
        return None, None
    step = step_at_or_below(plate.power, ladder_unit(bench.criteria.name, plate.frequency))
    reserve = None if step is None else torque_reserve(job.motor.type, step, plate.poles)
    if reserve is None:
        return None, None
    source = Message("plan.breakdown.least", ratio=reserve.ratio, source=reserve.source)
    return measured(expected.rated_torque * reserve.ratio, "N*m"), source


def _judged(least: Quantity | None, held: float | None) -> Message:
    """Whether the rig holds what breakdown may ask of it."""
    if held is None:
        return Message("plan.breakdown.rig_not_known")
    if least is None:
        return Message("plan.breakdown.least_not_known", held=held)
    if held < least.value:
        return Message("plan.breakdown.refused", least=least.value, held=held)
    return Message("plan.breakdown.within_rig", least=least.value, held=held)
