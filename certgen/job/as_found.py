"""The motor as found, before the brake: what was looked at and measured on the bench. All values in SI."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.vocabulary import Choice, Custom, Group, Measure, Text, key

Note = Callable[[str, str, str], None]

# Yes or no.


#: Words for it, as YAML and people write them.
_TRUTH = {"true": True, "yes": True, "false": False, "no": False}


def _read_truth(node: yaml.Node, reader: Reader, path: str) -> bool | None:
    text = reader.scalar(node, path, "write true or false")
    if text is not None and text.lower() not in _TRUTH:
        reader.wrong(node, path, f"'{text[:40]}' is neither yes nor no", "write true or false")
    return None if text is None else _TRUTH.get(text.lower())


def _schema_of_truth() -> dict[str, Any]:
    return {"anyOf": [{"type": "boolean"}, {"enum": ["yes", "no"]}]}


YES_OR_NO = Custom(_read_truth, _schema_of_truth, "true or false")


# What was looked at, item by item.


BEARINGS, SHAFT, ROTATION, FAN, GUARD = "bearings", "shaft", "rotation", "fan and cowl", "guard"
LEADS, TERMINAL_BOX, FRAME_EARTH = "leads", "terminal box", "frame earth"
BRUSHES, COMMUTATOR, SPARKING = "brushes", "commutator", "sparking"
SMELL, VIBRATION, SOUND, REMAINING = "smell", "vibration", "sound", "other"
ITEMS = (
    BEARINGS, SHAFT, ROTATION, FAN, GUARD, LEADS, TERMINAL_BOX, FRAME_EARTH, BRUSHES, COMMUTATOR, SPARKING, SMELL,
    VIBRATION, SOUND, REMAINING,
)  # fmt: skip
#: Items on which life depends: not good is a fail whatever the load test gave.
OF_SAFETY = (GUARD, LEADS, TERMINAL_BOX, FRAME_EARTH)
#: Degrees of sparking under the brushes, from none on.
SPARKING_DEGREES = ("1", "1 1/4", "1 1/2", "2", "3")
RIGID, FLEXIBLE = "rigid", "flexible"


def _more_than_zero(dimension: str, example: str) -> Measure:
    return Measure(dimension, above=0.0, example=example, bounds="more than zero")


@dataclass(frozen=True)
class Inspected:
    """One item of the inspection: what was found, and whether it is good."""

    item: str = key(Choice(ITEMS), "What was looked at.", required=True)
    finding: str | None = key(Text(200, "quiet, no play"), "What was found.")
    ok: bool | None = key(YES_OR_NO, "Whether it is good; may be left out where a figure below is judged.")
    run_out: float | None = key(
        Measure("length", low=0.0, example="0.02 mm"),
        "Of the shaft, midway along its extension: change of the dial gauge over one turn.",
    )
    length: float | None = key(_more_than_zero("length", "14 mm"), "Of the shortest brush.")
    least_length: float | None = key(_more_than_zero("length", "8 mm"), "Least length of a brush, as the maker has it.")
    degree: str | None = key(
        Choice(SPARKING_DEGREES),
        "Degree of sparking at rated load: 1 none, 1 1/2 weak under most of the edge, 3 strong.",
    )
    velocity: float | None = key(
        _more_than_zero("velocity", "1.8 mm/s"), "Vibration velocity, rms, 10 to 1000 Hz, the greatest at any bearing."
    )
    support: str | None = key(Choice((RIGID, FLEXIBLE)), "How the motor was mounted while its vibration was read.")
    level: float | None = key(Measure("sound level", example="62 dB"), "Sound pressure level, A-weighted.")
    distance: float | None = key(_more_than_zero("length", "1 m"), "How far from the motor the sound was read.")


#: The items a figure belongs to.
_FIGURES = {
    "run_out": (SHAFT,),
    "length": (BRUSHES,),
    "least_length": (BRUSHES,),
    "degree": (SPARKING, COMMUTATOR, BRUSHES),
    "velocity": (VIBRATION,),
    "support": (VIBRATION,),
    "level": (SOUND,),
    "distance": (SOUND,),
}
_WITH_COMMUTATOR = (BRUSHES, COMMUTATOR, SPARKING)


@dataclass(frozen=True)
class Shaft:
    """The shaft's end."""

    diameter: float | None = key(_more_than_zero("length", "24 mm"), "Its diameter.")
    height: float | None = key(_more_than_zero("length", "90 mm"), "Height of its axis above the feet.")
    length: float | None = key(_more_than_zero("length", "50 mm"), "Length of the extension.")
    keyway: float | None = key(_more_than_zero("length", "8 mm"), "Width of the keyway; left out where there is none.")


# Safety tests. Those with high voltage are made by whoever is licensed for them, under the local code.


@dataclass(frozen=True)
class BetweenWindings:
    """Insulation resistance from one winding to another."""

    voltage: float = key(_more_than_zero("voltage", "500 V"), "Test voltage.", required=True)
    at_1_min: float = key(_more_than_zero("resistance", "220 Mohm"), "Resistance after one minute.", required=True)


@dataclass(frozen=True)
class Withstand:
    """Alternating voltage held between windings and frame."""

    voltage: float = key(_more_than_zero("voltage", "1500 V"), "Test voltage, rms.", required=True)
    time: float = key(_more_than_zero("time", "60 s"), "How long.", required=True)
    held: bool = key(YES_OR_NO, "Whether it held, without breakdown.", required=True)
    leakage: float | None = key(_more_than_zero("current", "1.2 mA"), "Leakage current then.")


@dataclass(frozen=True)
class Surge:
    """Windings compared by surges."""

    ok: bool = key(YES_OR_NO, "Whether the traces agree.", required=True)
    voltage: float | None = key(_more_than_zero("voltage", "1.5 kV"), "Peak voltage.")
    finding: str | None = key(Text(160, "traces of all three pairs agree"), "What was seen.")


@dataclass(frozen=True)
class Protector:
    """The thermal protector built in."""

    present: bool = key(YES_OR_NO, "Whether the motor has one.", required=True)
    ok: bool | None = key(YES_OR_NO, "Whether it opened and closed when tried; left out: not tried.")
    finding: str | None = key(Text(160, "opens at 128 degC, closes at 95 degC"), "What was found.")


@dataclass(frozen=True)
class SafetyTests:
    """What was tested for the safety of whoever uses the motor."""

    protective_bond: float | None = key(
        _more_than_zero("resistance", "0.05 ohm"), "From the earth terminal to the frame, the greatest found."
    )
    between_windings: BetweenWindings | None = key(Group(BetweenWindings), "Insulation from winding to winding.")
    withstand: Withstand | None = key(Group(Withstand), "Voltage held between windings and frame.")
    surge: Surge | None = key(Group(Surge), "Windings compared by surges: a remark.")
    thermal_protector: Protector | None = key(Group(Protector), "The thermal protector.")


def check_safety_tests(tests: SafetyTests | None, note: Note) -> None:
    """Keep what is wrong with the safety tests; ``note(path, what, instead)`` keeps it."""
    protector = None if tests is None else tests.thermal_protector
    if protector is not None and protector.present is False and protector.ok is not None:
        path = "readings.safety.thermal_protector.ok"
        note(path, "a motor without a protector has none to try", "remove it, or write 'present: true'")


# Capacitors.


RUN, START = "run", "start"


@dataclass(frozen=True)
class Capacitor:
    """One capacitor, measured apart from the motor and discharged before."""

    kind: str = key(
        Choice((RUN, START)), "run: in circuit all the time; start: switched out on running up.", required=True
    )
    rated: float | None = key(_more_than_zero("capacitance", "20 uF"), "Marked on its case.")
    tolerance: float | None = key(
        Measure("ratio", above=0.0, high=0.5, example="5 %", bounds="more than zero and at most 50 %"),
        "Marked on its case, either side; left out: the usual one of its kind.",
    )
    least: float | None = key(_more_than_zero("capacitance", "43 uF"), "The lower of two values on its case.")
    most: float | None = key(_more_than_zero("capacitance", "53 uF"), "The upper of two values on its case.")
    measured: float = key(_more_than_zero("capacitance", "18.2 uF"), "What the meter showed.", required=True)
    loss_resistance: float | None = key(
        _more_than_zero("resistance", "0.4 ohm"), "In series, as a capacitance meter shows it."
    )


def check_capacitors(capacitors: tuple[Capacitor | None, ...] | None, induction: bool, note: Note) -> None:
    """Keep what is wrong with the capacitors; ``note(path, what, instead)`` keeps it."""
    for number, one in enumerate(capacitors or (), start=1):
        if one is None:
            continue  # what could not be read is reported already
        path = f"readings.capacitors[{number}]"
        if not induction:
            note(path, "only an induction motor runs or starts by a capacitor", "remove it, or correct motor.type")
        if (one.least is None) != (one.most is None):
            note(path, "of two values on its case one is missing", "give 'least' and 'most', or 'rated' alone")
        elif one.least is not None and one.most is not None:
            if not one.least < one.most:
                note(f"{path}.most", "this is not above 'least'", "write the lower value as 'least'")
            if one.tolerance is not None:
                note(f"{path}.tolerance", "two values on its case are its tolerance", "remove it, or both values")
        elif one.rated is None:
            note(path, "what is marked on it is missing", "write 'rated: 20 uF', or 'least' and 'most'")


#: A degree of protection: a digit or X for solids, one for water, letters behind them. IEC 60034-5, from memory.
_PROTECTION = re.compile(r"IP ?[0-6X][0-9X][A-Z]{0,2}")


def check_enclosure(written: str | None, note: Note) -> None:
    """Keep a degree of protection that is none; an enclosure in words stays as it is."""
    if written is not None and written.upper().startswith("IP") and not _PROTECTION.fullmatch(written.upper().strip()):
        note(
            "motor.enclosure",
            f"'{written}' is no degree of protection",
            "write it as on the plate, for example 'IP 54'",
        )


def check_inspection(items: tuple[Inspected | None, ...] | None, induction: bool, note: Note) -> None:
    """Keep what is wrong with the items of an inspection; ``note(path, what, instead)`` keeps it.

    ``induction`` says that the motor has no commutator.
    """
    for number, one in enumerate(items or (), start=1):
        if one is None or one.item is None:
            continue  # what could not be read is reported already
        path = f"inspection[{number}]"
        if induction and one.item in _WITH_COMMUTATOR:
            note(f"{path}.item", "an induction motor has neither brushes nor commutator", "remove the item")
        for name, items_of in _FIGURES.items():
            if getattr(one, name) is not None and one.item not in items_of:
                note(f"{path}.{name}", f"'{one.item}' has no such figure", f"write it with item '{items_of[0]}'")
        if all(getattr(one, name) is None for name in ("ok", "run_out", "length", "degree", "velocity", "level")):
            note(path, f"whether '{one.item}' is good is missing", "write 'ok: true' or 'ok: false'")
