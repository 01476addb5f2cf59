"""The two ends of the curve: what the motor takes at switching on, and whether the rig can take it past breakdown."""

from __future__ import annotations

import numpy as np

from certgen.job.model import INDUCTION, THREE_PHASE
from certgen.physics.locked_rotor import HORSEPOWER
from certgen.planning.expectation import Expectation
from certgen.planning.holding import Bench, most_torque_held
from certgen.planning.plan import Breakdown, Starting
from certgen.planning.told import figure
from certgen.quantity import Quantity, measured
from certgen.standards.code_letters import code_letter_source, letter_bounds
from certgen.standards.criteria import DEFAULT
from certgen.standards.ratings import ladder_unit, step_at_or_below, torque_reserve

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
