"""What the plate lets one expect of the motor at a load: torque, speed and current, each with what it rests on."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.job.model import INDUCTION, THREE_PHASE, Job
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
from certgen.planning.plan import Breakdown, Starting, figure
from certgen.quantity import Quantity, measured
from certgen.reduction.speed import find_poles, shaft_synchronous_speed
from certgen.standards.criteria import DEFAULT
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
    rated_torque_basis: str
    synchronous_speed: float | None
    rated_slip: float | None
    rated_speed: float | None
    rated_current: float | None
    power_factor: float | None
    service_factor: float | None
    service_factor_current: float | None
    speed_basis: str
    current_basis: str

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
        part = self._part(torque) if load > 0.0 else None  # no plate tells the current without load
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
    if other_supply:
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


def _rated_torque(job: Job) -> tuple[float | None, str]:
    plate = job.nameplate
    lacking = [name for name in ("power", "speed") if getattr(plate, name) is None]
    if plate.power is None or plate.speed is None:
        return None, f"not known: the plate gives no {' and no '.join(lacking)}"
    shaft = "the plate's speed" if plate.gear is None else "the speed of the gear's output shaft"
    return float(torque_at(plate.power, plate.speed)), f"the plate's power over {shaft}"


def _synchronous_speed(job: Job, frequency: float | None) -> float | None:
    poles = find_poles(job, math.nan, math.nan)
    if poles.count is None or frequency is None:
        return None
    return float(shaft_synchronous_speed(poles, np.array([frequency]), job)[0])


def _rated_slip(job: Job) -> tuple[float | None, str]:
    plate = job.nameplate
    if job.motor.type not in INDUCTION:
        return None, "a motor of this kind has no slip: its speed is known at rated load alone, and rises below it"
    synchronous = _synchronous_speed(job, plate.frequency or job.conditions.supply_frequency)
    if plate.speed is None or synchronous is None:
        return None, "speed is not known: it takes speed and frequency on the plate"
    found = float(slip(plate.speed, synchronous))
    if not found > 0.0:
        return None, "the plate's speed is not below synchronous speed: no slip to go by"
    words = (
        "slip in proportion to torque, from synchronous speed through the plate's speed (an estimate, up to 1.5 times"
    )
    return found, f"{words} rated torque)"


def _power_factor(job: Job) -> tuple[float | None, str]:
    plate = job.nameplate
    rated_alone = "known at the plate's rated and service-factor loads alone"
    if job.motor.type != THREE_PHASE:
        return None, f"{rated_alone}: part load of this kind of motor is not estimated"
    factor, source = plate.power_factor, "the plate's power factor"
    if factor is None and plate.power and plate.efficiency and plate.voltage and plate.current:
        apparent = three_phase_apparent_power(plate.voltage, plate.current)
        factor = float(power_factor(plate.power / plate.efficiency, apparent))
        source = "the plate's power, efficiency, volts and amperes"
    if plate.current is None or factor is None:
        return None, f"{rated_alone}: an estimate takes the plate's current and power factor"
    if factor > 1.0:
        return None, f"{rated_alone}: power, efficiency, volts and amperes of the plate contradict each other"
    words = "active part in proportion to torque, reactive part as at rated load (an estimate by"
    return factor, f"{words} {source}: true current lies below it under rated load, a little above it over rated load)"


def _other_supply(job: Job) -> str:
    """Why the plate does not tell speed and current on this supply; empty where it does."""
    plate, supply = job.nameplate.frequency, job.conditions.supply_frequency
    if plate is None or supply is None or abs(supply / plate - 1.0) <= _FREQUENCY_AGREES:
        return ""
    return f"not estimated: the supply has {supply:g} Hz, the plate is for {plate:g} Hz"


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
        lacking = "code letter" if plate.code_letter is None else "power" if plate.power is None else "voltage"
        words = f"Starting current is not known: the plate gives no {lacking}. Several times rated current is usual."
        return Starting(None, None, words)
    least, most = letter_bounds(plate.code_letter)
    phases = np.sqrt(3.0) if job.motor.type == THREE_PHASE else 1.0
    amperes_of_one = 1000.0 * plate.power / HORSEPOWER / (phases * plate.voltage)
    basis = f"Code letter {plate.code_letter} ({code_letter_source()}), at rated voltage."
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
        found = [most_torque_held(bench, part * speed) for part in _BREAKDOWN_SPEEDS]
        known = [one for one in found if one is not None]
        held = min(known) if len(known) == len(found) else None
    words = _words(least, held) if speed is not None else "Not planned: synchronous speed is not known."
    return Breakdown(least, source, measured(held, "N*m"), words)


def _least(bench: Bench, expected: Expectation) -> tuple[Quantity | None, str]:
    job = bench.job
    plate = job.nameplate
    if expected.rated_torque is None or plate.power is None:
        return None, ""
    step = step_at_or_below(plate.power, ladder_unit(job.criteria or DEFAULT, plate.frequency))
    reserve = None if step is None else torque_reserve(job.motor.type, step, plate.poles)
    if reserve is None:
        return None, ""
    return measured(
        expected.rated_torque * reserve.ratio, "N*m"
    ), f"{reserve.ratio:g} times rated torque, {reserve.source}"


def _words(least: Quantity | None, held: float | None) -> str:
    if held is None:
        return "Not planned: the rig states too little to tell what it holds at the speeds of breakdown."
    holds = f"the rig holds {figure(held, 'N*m', 3)} from 70 % to 95 % of synchronous speed"
    if least is None:
        return f"Not planned: the breakdown torque to expect is not known; {holds}."
    asked = figure(least.value, "N*m", 3)
    if held < least.value:
        return f"Refused: breakdown is at {asked} or more, {holds}."
    return (
        f"Within the rig as far as {figure(held, 'N*m', 3)}: breakdown is at {asked} or more. Last of all, seconds "
        f"only, and unload at that torque whether it broke down or not."
    )
