"""The plan of one test, as plain frozen data.

The JSON of a plan is this tree written out, field for field. Every quantity is in SI (N*m, W, rad/s, A, K, s, kg or N
on the scale; parts of the rated load have the unit "1"). What is said is a message, with its values. ``None`` means
not known before the test; a basis or a message beside it says why.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from certgen.job.model import Certificate, Motor, Nameplate
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.units import from_si

#: What to do at a sign of the stop list.
UNLOAD, SWITCH_OFF = "unload", "switch off"

#: What the rig makes of one limit.
HOLDS, EXCEEDED, NOT_STATED, NOT_KNOWN = "holds", "exceeded", "not stated", "not known"

#: Whether the motor can be tested on the rig, as far as that is known.
ALL_HELD, SOME_REFUSED, ALL_REFUSED, UNLOADED_REFUSED = (
    Message("plan.rig.all_held"),
    Message("plan.rig.some_refused"),
    Message("plan.rig.all_refused"),
    Message("plan.rig.unloaded_refused"),
)
DO_NOT_RUN = (ALL_REFUSED, UNLOADED_REFUSED)

#: How long a load may be held that the absorber bears for ever.
UNLIMITED = Message("plan.held.unlimited")


@dataclass(frozen=True)
class PlannedPoint:
    """One load to take, with what it is expected to give; torque, speed and power are the tested shaft's."""

    name: Message
    load: Quantity | None  # part of rated load
    torque: Quantity | None
    scale: Quantity | None  # what the scale or the torque sensor should show; the balances' difference of a rope brake
    speed: Quantity | None
    current: Quantity | None
    shaft_power: Quantity | None
    absorber_torque: Quantity | None
    absorber_power: Quantity | None
    absorber_power_at_most: Quantity | None  # where it is not known: what it cannot pass
    holds: bool | None  # whether the rig holds it, by what it states
    refused: tuple[Message, ...] = ()  # why not; the value ``limit`` names what refuses it
    not_compared: tuple[Message | str, ...] = ()  # limits the rig states that could not be held against this load
    may_be_held: Quantity | None = None  # time from a cold absorber; None: see ``held``
    held: Message = UNLIMITED  # the same as a message


@dataclass(frozen=True)
class ColumnToRead:
    """One column of the readings to come."""

    name: str
    unit: str


@dataclass(frozen=True)
class RigCheck:
    """One limit of the rig against the most that the planned loads ask of it; ``key`` is where the rig states it."""

    key: str
    name: Message | str
    outcome: str
    asked: Quantity | None
    limit: Quantity | None
    at: Message | None  # the load that asks most
    note: Message | None = None
    at_most: bool = False  # whether ``asked`` is what the loads cannot pass, as what they ask is not known


@dataclass(frozen=True)
class Stop:
    """A sign to unload or switch off at; ``limit`` where it is a figure, ``act`` is ``UNLOAD`` or ``SWITCH_OFF``."""

    sign: Message
    limit: Quantity | None
    act: str
    basis: Message
    brake_on: bool = False  # whether the load must stay on until the shaft stands: the motor may race

    @property
    def action(self) -> str:
        """What to do, as part of a key: 'unload', 'switch_off' or 'switch_off_brake_on'."""
        return self.act.replace(" ", "_") + ("_brake_on" if self.brake_on else "")


@dataclass(frozen=True)
class Precaution:
    """What to see to before power is switched on, and what in this job asks for it."""

    text: Message
    because: Message


@dataclass(frozen=True)
class Breakdown:
    """Whether the rig can take the motor past its breakdown torque."""

    least: Quantity | None  # torque at the shaft the motor must at least reach
    source: Message | None
    rig_holds: Quantity | None  # most torque the rig holds at the shaft over the speeds of breakdown
    words: Message


@dataclass(frozen=True)
class Starting:
    """What the motor takes from the supply when it is switched on."""

    least_current: Quantity | None
    most_current: Quantity | None
    basis: Message


@dataclass(frozen=True)
class Plan:
    """Everything the bench should know before one test."""

    certificate: Certificate | None  # as far as it is written yet
    motor: Motor
    nameplate: Nameplate
    rig: str
    outcome: Message
    rated_torque: Quantity | None
    rated_torque_basis: Message
    synchronous_speed: Quantity | None  # at the tested shaft
    rated_slip: Quantity | None
    points: tuple[PlannedPoint, ...]  # in the order they are taken
    columns: tuple[ColumnToRead, ...]  # what is read at each
    loads_source: Message | None
    order: Message | str
    greatest_load: Quantity | None  # part of rated load the rig holds; None: not limited or not known
    greatest_load_by: Message | None  # what limits it
    scale_unit: str  # as the scale itself shows it
    scale_basis: tuple[Message, ...]  # how the reading was worked out
    expectations: tuple[Message, ...]  # on what expected speed and current rest
    rig_checks: tuple[RigCheck, ...]
    rig_notes: tuple[Message, ...]  # scale little used, beyond its calibration, meters too small
    breakdown: Breakdown | None
    starting: Starting | None
    steps: tuple[Message, ...]  # how to begin and go on
    stops: tuple[Stop, ...]
    precautions: tuple[Precaution, ...]
    missing: tuple[Message, ...]  # what is not known, and what it would take
    program: str
    version: str
    inputs: Mapping[str, str]  # file name as written in the job -> SHA-256, hexadecimal

    @property
    def do_not_run(self) -> bool:
        """Whether the rig holds no load of the plan, or not even the motor running without load."""
        return self.outcome in DO_NOT_RUN


# Values of the plan's messages.


def own(value: float, unit: str) -> Quantity:
    """An SI value in the unit its instrument shows."""
    return Quantity(from_si(value, unit), unit)


def loads_named(names: Sequence[Message], of: int) -> Message:
    """Some loads by name, or any load where they are all there are."""
    return Message("plan.load.any") if len(names) == of else Message("plan.load.several", names=tuple(names))
