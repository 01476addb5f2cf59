"""Plates with two ratings: which of the values punched side by side a test was made for.

A plate gives two voltages with a current each (star and delta, or windings in series and in parallel), two frequencies
with a speed and a power each, or two speeds with a power each. Common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

from certgen.document.plate import PlateValue
from certgen.job.model import STAR, THREE_PHASE, Job, Nameplate
from certgen.messages.catalogue import Message
from certgen.messages.format import PlateFigures

#: What shows which value the test was made for.
BY_JOB, BY_READINGS = "job", "readings"
#: What a value goes with, the likeliest first: the first of these with as many values beside it decides.
_GOES_WITH: dict[str, tuple[str, ...]] = {
    "voltage": (),
    "frequency": (),
    "current": ("voltage", "frequency", "speed"),
    "service_factor_current": ("voltage", "frequency", "speed"),
    "locked_rotor_current": ("voltage", "frequency", "speed"),
    "speed": ("frequency", "voltage"),
}
_OTHERS = ("frequency", "speed", "voltage")
#: What decides for others; only these are found from job or readings.
LEADING = ("voltage", "frequency", "speed")
#: Two voltages this far apart are two connections, and the lower one takes the greater current; nearer ones are a range of
#: supplies. [1] Common practice, no source.
_CONNECTIONS = 1.5
#: How near a stated voltage must come to one of the plate's. [1] Common practice, no source.
_SAME_VOLTAGE = 0.02

Note = Callable[[str, str, str], None]


def undecided(plate: Nameplate) -> dict[str, PlateValue]:
    """By key: several values side by side of which nothing yet shows the one tested."""
    return {name: found for name, found in plate.punched.items() if found.is_several and found.tested is None}


def with_choice(plate: Nameplate, chosen: Mapping[str, int], basis: str) -> Nameplate:
    """The plate with the value tested in every place that the chosen ones decide.

    Parameters
    ----------
    plate : Nameplate
        With several values side by side. [SI]
    chosen : mapping of str to int
        By leading key (voltage, frequency, speed) the number of its value, counted from 0.
    basis : str
        What shows it, ``BY_JOB`` or ``BY_READINGS``.

    Returns
    -------
    Nameplate
        What goes with a leading key of as many values has its value too; the rest stays open.
    """
    if not chosen:
        return plate
    known = dict(chosen)
    values: dict[str, PlateValue] = {}
    for name in (*LEADING, *plate.punched):
        found = plate.punched.get(name)
        if found is None or not found.is_several or found.tested is not None or name in values:
            continue
        index = known.get(name, _index_beside(name, found, plate, known))
        if index is not None:
            known.setdefault(name, index)
            values[name] = replace(found, tested=found.values[index], basis=basis)
    fields = {name: found.tested for name, found in values.items()}
    return replace(plate, **fields, punched={**plate.punched, **values})  # type: ignore[arg-type]


def _index_beside(name: str, found: PlateValue, plate: Nameplate, known: Mapping[str, int]) -> int | None:
    """Which of its values stands beside the value chosen elsewhere on the plate."""
    for leader in _GOES_WITH.get(name, _OTHERS):
        beside = plate.punched.get(leader)
        if leader == name or beside is None or len(beside.values) != len(found.values):
            continue
        index = known.get(leader)
        if index is not None and name.endswith("current") and leader == "voltage":
            return _of_current(index, beside, found)
        return index
    return None


def _of_current(index: int, voltage: PlateValue, current: PlateValue) -> int:
    """Of two connections for one power the lower voltage takes the greater current, in whatever order both are punched."""
    volts = voltage.values
    if len(volts) != 2 or max(volts) < _CONNECTIONS * min(volts):
        return index
    greater = volts[index] == min(volts)
    wanted = max(current.values) if greater else min(current.values)
    return current.values.index(wanted)


def as_stated(job: Job, note: Note) -> Job:
    """The job with the ratings that it states the motor was connected for; ``note(path, what, instead)`` keeps a mistake.

    ``conditions.rated_for`` names one of the plate's voltages; ``conditions.connection`` the lower of two for delta, the
    higher for star (the phases of a winding take the lower voltage in delta and in star alike). Common practice, no source.
    """
    plate, conditions = job.nameplate, job.conditions
    if plate is None or conditions is None:
        return job
    found = plate.punched.get("voltage")
    volts = (found.values if found is not None else (plate.voltage,)) if plate.voltage or found else ()
    by_voltage = _by_rated_for(conditions.rated_for, volts, found, note)
    by_connection = _by_connection(job, found, note)
    if by_voltage is not None and by_connection is not None and by_voltage != by_connection:
        assert found is not None
        what = f"connected in {conditions.connection}, this plate's motor is for {found.member(by_connection)}"
        note("conditions.rated_for", what, "correct the connection or the voltage, or leave one of them out")
    index = by_connection if by_voltage is None else by_voltage
    if found is None or not found.is_several or index is None:
        return job
    return replace(job, nameplate=with_choice(plate, {"voltage": index}, BY_JOB))


def _by_rated_for(
    rated_for: float | None, volts: tuple[float | None, ...], found: PlateValue | None, note: Note
) -> int | None:
    known = [value for value in volts if value is not None]
    if rated_for is None or not known:
        return None
    nearest = min(range(len(known)), key=lambda index: abs(math.log(known[index] / rated_for)))
    if abs(known[nearest] / rated_for - 1.0) <= _SAME_VOLTAGE:
        return nearest
    given = f"{known[0]:.4g} V" if found is None else found.written[:40]
    note(
        "conditions.rated_for",
        f"{rated_for:.4g} V is not on the plate, which gives {given}",
        "write one of the plate's",
    )
    return None


def _by_connection(job: Job, found: PlateValue | None, note: Note) -> int | None:
    connection = job.conditions.connection
    if connection is None or job.motor is None:
        return None
    if job.motor.type != THREE_PHASE:
        note(
            "conditions.connection", "star and delta are connections of three phases", "remove it, or write 'rated_for'"
        )
        return None
    if found is None or len(found.values) != 2:
        return None
    return found.values.index(max(found.values) if connection == STAR else min(found.values))


def ratings_reported(plate: Nameplate) -> tuple[Message, ...]:
    """Sentences on what the plate gives more than once or only in part: which value was tested, and what is not judged."""
    tested: dict[str, list[str]] = {}
    for name, found in plate.punched.items():
        if found.is_several and found.tested is not None and name in LEADING:
            tested.setdefault(found.basis, []).append(PlateFigures(found.member(found.values.index(found.tested))))
    sentences = [Message(_TESTED_AS[basis], values=tuple(members)) for basis, members in tested.items()]
    not_known = tuple(PlateFigures(found.written) for found in undecided(plate).values())
    if not_known:
        sentences.append(Message("plate.which_is_not_known", values=not_known))
    partly = tuple(quantity_name(name) for name, found in plate.punched.items() if found.partly_legible)
    if partly:
        sentences.append(Message("plate.partly_legible", quantities=partly))
    return tuple(sentences)


_TESTED_AS = {BY_JOB: "plate.tested_as_stated", BY_READINGS: "plate.tested_as_found"}
#: Keys of the plate that messages call by another name.
_NAMES = {"power": "rated_power", "service_factor": "service_factor_power"}


def quantity_name(key: str) -> Message:
    """The name of a quantity of the plate, by its key."""
    return Message(f"name.{_NAMES.get(key, key)}")
