"""Resistances of the windings cold: corrected to 25 degC, and how far the three pairs of terminals differ."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from certgen.job.model import Job, Winding
from certgen.messages.catalogue import Message
from certgen.physics.electrics import unbalance
from certgen.physics.winding import resistance_at
from certgen.quantity import Quantity, measured
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.winding_errors import PairErrors, pair_errors
from certgen.results.as_found import WindingResistance, WindingResistances
from certgen.results.uncertainty import errors_of, in_proportion, with_errors

#: The three pairs of terminals, then what other motors have.
PAIRS = ("u_v", "v_w", "w_u")
WINDINGS = (*PAIRS, "main", "start", "armature", "field")
#: What resistances are corrected to. [K]
REFERENCE = 273.15 + 25.0
#: Copper. [degC] IEC 60034-1, 8.6.2.3.3, from memory.
_COPPER = 235.0


def winding_resistances(job: Job, reduction: Reduction) -> WindingResistances | None:
    """The windings as read and at 25 degC, and the unbalance of the pairs; ``None`` where none was read.

    Parameters
    ----------
    job : Job
        Its winding readings; their temperature, else that of the cold winding, else that of the room. [SI]
    reduction : Reduction
        Its errors hold those of the ohmmeter. [SI]

    References
    ----------
    Unbalance as the largest deviation from the mean: ANSI/EASA AR100-2020.
    """
    winding = job.readings.winding
    if winding is None:
        return None
    read = {name: value for name in WINDINGS if (value := getattr(winding, name)) is not None}
    if not read:
        return None
    temperature, basis = _temperature(winding, job)
    errors = errors_of(reduction)
    found = PairErrors() if errors is None else pair_errors(errors)
    of_pairs = dict(zip(PAIRS, found.resistances, strict=True))
    windings = []
    for name, value in read.items():
        as_read = Quantity(value, "ohm")
        windings.append(WindingResistance(name, with_errors(as_read, of_pairs.get(name), errors) or as_read))
    if temperature is not None:
        windings = [replace(one, corrected=_corrected(one.measured, temperature)) for one in windings]
    apart = None
    if all(name in read for name in PAIRS):
        apart = with_errors(measured(float(unbalance(*(read[name] for name in PAIRS))), "1"), found.unbalance, errors)
    return WindingResistances(tuple(windings), measured(temperature, "K"), apart, tuple(_notes(temperature, basis)))


def _temperature(winding: Winding, job: Job) -> tuple[float | None, str]:
    """Temperature of the windings [K], and what it was taken from."""
    if winding.temperature is not None:
        return winding.temperature, ""
    if winding.cold is not None:
        return winding.cold.temperature, ""
    return job.conditions.ambient, "room"


def _corrected(resistance: Quantity, temperature: float) -> Quantity:
    """A resistance at 25 degC; the error of the thermometer is left out of its uncertainty."""
    at_25 = Quantity(float(resistance_at(resistance.value, temperature, REFERENCE, constant=_COPPER)), "ohm")
    return in_proportion(at_25, resistance) or at_25


def _notes(temperature: float | None, basis: str) -> Iterator[Message]:
    if temperature is None:
        yield Message("windings.not_corrected")
    elif basis:
        yield Message("windings.corrected_from_room", temperature=temperature)
    else:
        yield Message("windings.corrected", temperature=temperature)
