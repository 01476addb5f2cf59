"""Inputs whose size nobody stated: that of an ordinary one of their kind, wide on purpose, and named as assumed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace

import numpy as np

from certgen.job.model import Job
from certgen.job.table import TableSource
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.reduction.uncertainty.model import (
    Moved,
    Perturbation,
    UncertainInput,
    perturb_columns,
    within,
)
from certgen.standards.assumed_accuracy import AssumedAccuracy, assumed_accuracy
from certgen.units import conversion

#: How a limit is stated, by the unit it is in. "as indicated" does not occur: a scale's limits are parts.
_CONSTANT = {
    "m": "assumed.length",
    "rad/s": "assumed.speed",
    "Hz": "assumed.frequency",
    "K": "assumed.temperature",
    "s": "assumed.time",
    "N*m": "assumed.torque",
    "m/s^2": "assumed.acceleration",
    "kg": "assumed.mass",
    "N": "assumed.force",
}


def assumed_input(
    name: Message,
    unit: str,
    limit: float,
    perturb: Perturbation,
    *,
    kind: str,
    to_state: Message,
    shared: bool = True,
    estimate: float | None = None,
    assumption: Message | None = None,
) -> UncertainInput:
    """An error within the limit of an ordinary one of its kind.

    Parameters
    ----------
    name : Message
        What it is called in a budget, and in the list of what was assumed.
    unit : str
        Of the limit, '1' for a part.
    limit : float
        Half-width either side. [unit]
    perturb : Perturbation
        Adds an error to the measured values.
    kind : str
        Of :func:`certgen.standards.assumed_accuracy.assumed_accuracy`: how well the limit itself is known.
    to_state : Message
        What to state to do better.
    shared : bool
        Whether the error is the same in all rows.
    estimate : float or None
        The value it is an error of. [unit]
    assumption : Message or None
        What was assumed; made of name and limit where left out.

    Returns
    -------
    UncertainInput
        Marked as assumed.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7 (limits of a type B value) and G.4.2 (its degrees of freedom).
    """
    made = within(name, unit, limit, perturb, shared=shared, estimate=estimate)
    return replace(
        made,
        degrees_of_freedom=assumed_accuracy(kind).degrees_of_freedom,
        to_state=to_state,
        assumption=assumption or Message("assumed.input", what=name, limits=(limit_in_words(limit, unit),)),
    )


def limit_in_words(limit: float, unit: str) -> Message:
    """A limit with its unit, or as a part."""
    if unit == "1":
        return Message("assumed.of_value", part=limit)
    return Message(_CONSTANT.get(unit, "assumed.points"), limit=limit)


@dataclass(frozen=True)
class AssumedInstrument:
    """An instrument nobody says anything of: its kind, what it reads and what to state of it.

    ``origin`` is where its scale begins, ``greatest`` the greatest value it showed from there, in size.
    """

    kind: str
    name: Message
    unit: str
    columns: tuple[str, ...]
    to_state: Message
    greatest: float
    origin: float = 0.0

    @property
    def assumption(self) -> Message:
        """Its name and limits."""
        return Message("assumed.input", what=self.name, limits=_limits(assumed_accuracy(self.kind), self.unit))

    def resolution(self, name: Message, step: float, perturb: Perturbation) -> UncertainInput:
        """Half a step of the last digit that was taken for its own, independent from row to row.

        References
        ----------
        JCGM 100:2008 (GUM), F.2.2.1: a step q gives q / sqrt(12).
        """
        return assumed_input(
            name, self.unit, 0.5 * step, perturb, kind=self.kind, to_state=self.to_state, shared=False,
            assumption=self.assumption,
        )  # fmt: skip


def instrument_inputs(of: AssumedInstrument) -> Iterator[UncertainInput]:
    """The gain and the offset of an ordinary instrument, each by itself, the same wherever it was read.

    Apart, as an instrument of which both are stated has some part of their sum: neither hides the other's effect on a
    ratio or a difference.
    """
    found = assumed_accuracy(of.kind)
    offset = found.greatest * of.greatest + found.constant
    assumption = of.assumption
    if found.reading:
        yield replace(
            assumed_input(
                Message("input.gain", instrument=of.name), "1", found.reading,
                perturb_columns(of.columns, _by_part_of_reading(of.origin)), kind=of.kind, to_state=of.to_state,
                assumption=assumption,
            ),
            columns=frozenset(of.columns),
        )  # fmt: skip
    if offset > 0.0:
        yield replace(
            assumed_input(
                Message("input.offset", instrument=of.name), of.unit, offset, perturb_columns(of.columns),
                kind=of.kind, to_state=of.to_state, assumption=assumption,
            ),
            columns=frozenset(of.columns),
        )  # fmt: skip


def _limits(found: AssumedAccuracy, unit: str) -> tuple[Message, ...]:
    limits = []
    if found.reading:
        limits.append(Message("assumed.of_reading", part=found.reading))
    if found.greatest:
        limits.append(Message("assumed.of_greatest", part=found.greatest))
    if found.constant:
        limits.append(Message(_CONSTANT.get(unit, "assumed.points"), limit=found.constant))
    return tuple(limits)


def _by_part_of_reading(origin: float) -> Moved:
    def moved(readings: Array, part: float | Array) -> Array:
        return readings + part * (readings - origin)

    return moved


# The last digit of an instrument, as it shows in what was typed.


#: A number as it is typed, with what stands behind its decimal mark.
_TYPED = re.compile(r"[-+−]?\d+(?:[.,](\d+))?")


def typed_steps(job: Job) -> dict[str, float]:
    """The last digit of every column whose rows are typed in the job, in SI.

    Parameters
    ----------
    job : Job
        Its tables.

    Returns
    -------
    dict
        By column the step that its rows were shown in; of a column in several tables the load test's.
        Nothing of columns that are read from files. [SI of the column]
    """
    tables = [getattr(job.readings, one.name) for one in fields(job.readings)]
    found: dict[str, float] = {}
    for table in tables:
        if isinstance(table, TableSource) and table.rows is not None:
            for index, column in enumerate(table.columns):
                step = _typed_step([row[index].text for row in table.rows if index < len(row)])
                if step is not None and column.unit and column.name not in found:
                    found[column.name] = step * _scale_of(column.unit)
    return found


def _typed_step(texts: list[str]) -> float | None:
    """The step in which the numbers were shown, ``None`` where there is no plain number.

    One unit of the last decimal that any of them has, or five or two where all are multiples of that: many a scale
    counts by fives.
    """
    read = [one for one in (_TYPED.fullmatch(text.strip()) for text in texts) if one is not None]
    if not read:
        return None
    decimals = max(len(one[1] or "") for one in read)
    units = [round(float(one[0].replace(",", ".").replace("−", "-")) * 10.0**decimals) for one in read]
    counted = next(by for by in (5, 2, 1) if not any(unit % by for unit in units)) if any(units) else 1
    return float(counted) * 10.0**-decimals


def _scale_of(unit: str) -> float:
    return conversion(unit)[1]


def last_digit(kind: str, steps: Mapping[str, float], column: str, greatest: float) -> float:
    """The last digit that an ordinary instrument shows: as it was typed, else a part of the greatest value.

    Parameters
    ----------
    kind : str
        Of instrument.
    steps : mapping
        Of :func:`typed_steps`. [SI]
    column : str
        What it read.
    greatest : float
        The greatest value of the column, in size. [SI]

    Returns
    -------
    float
        Step of the display, 0 where nothing gives it. [SI]
    """
    typed = steps.get(column)
    return assumed_accuracy(kind).step * greatest if typed is None else typed


def greatest_of(*columns: Array, origin: float = 0.0) -> float:
    """The greatest value of several columns, in size, from where the scale begins; 0 where nothing was read."""
    read = [np.abs(values[np.isfinite(values)] - origin) for values in columns]
    return max((float(values.max()) for values in read if values.size), default=0.0)


def assumed_in_words(inputs: Iterable[UncertainInput]) -> Message | None:
    """One sentence on everything that was assumed and what to state to do better; ``None`` where nothing was."""
    listed = [one for one in inputs if one.assumption is not None and one.to_state is not None]
    if not listed:
        return None
    meters = [one.to_state for one in listed if one.to_state is not None and one.to_state.key == _METER]
    keys = dict.fromkeys(key for meter in meters for key in _keys_of(meter))
    to_state = dict.fromkeys(
        Message(_METER, meters=tuple(keys)) if one.to_state in meters else one.to_state for one in listed
    )
    assumed = tuple(dict.fromkeys(one.assumption for one in listed))
    return Message("assumed.inputs", assumed=assumed, to_state=tuple(to_state))


_METER = "to_state.meter"


def _keys_of(meter: Message) -> tuple[str, ...]:
    keys: tuple[str, ...] = meter.values["meters"]  # type: ignore[assignment]
    return keys
