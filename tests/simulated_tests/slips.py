"""Slips of the pen: one cell of a typed load test gone wrong, or a whole column in another unit than it says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from simulated_tests.motor import RPM
from simulated_tests.plate import Plate
from simulated_tests.typed_job import TypedTest

TENFOLD, TENTH, DIGITS, SIGN, POUNDS, CELLS, ONE_DIGIT, PART_OF_SLIP = (
    "x10", "/10", "two digits exchanged", "sign", "lb for kg", "two cells exchanged", "one digit wrong",
    "speed off by 0.2-0.8 of its slip",
)  # fmt: skip
#: Slips of a size, by the range of its part of the value.
OFF = {"2-5 % off": (0.02, 0.05), "5-8 % off": (0.05, 0.08), "8-20 % off": (0.08, 0.20)}
KINDS = (TENFOLD, TENTH, DIGITS, SIGN, POUNDS, CELLS, ONE_DIGIT, PART_OF_SLIP, *OFF)

#: Columns of the load test in which a slip may stand.
_TYPED = ("speed", "scale", "scale_2", "torque", "voltage", "current", "input_power", "wattmeter_1", "wattmeter_2",
          "power_factor", "voltage_ab", "voltage_bc", "voltage_ca", "current_a", "current_b", "current_c")  # fmt: skip


@dataclass(frozen=True)
class Slip:
    """What was typed wrongly: the row (1 first) and column, the size, and the test with it.

    Parameters
    ----------
    sigmas : float
        Off by so many standard deviations between rows; of two cells the greater.
    part : float
        Off by this part of the value.
    part_of_slip : float
        Of a speed: by this part of the row's slip; NaN for others.
    """

    kind: str
    row: int
    column: str
    right: str
    wrong: str
    sigmas: float
    part: float
    part_of_slip: float
    inner: bool
    test: TypedTest


def slip_in(test: TypedTest, seed: int | np.random.SeedSequence) -> Slip | None:
    """A test with one slip of a kind drawn, or ``None`` where no cell can have it."""
    draw = np.random.default_rng(seed)
    columns = [index for index, (name, _) in enumerate(test.columns) if name in _TYPED]
    for kind in draw.permutation(KINDS)[:4]:
        cells = [(row, column) for row in range(len(test.rows)) for column in columns]
        for row, column in draw.permutation(np.array(cells)):
            changed = _changed(test, str(kind), int(row), int(column), columns, draw)
            if changed is not None:
                return _measured(test, str(kind), int(row), int(column), changed)
    return None


def _measured(test: TypedTest, kind: str, row: int, column: int, cells: dict[tuple[int, int], str]) -> Slip:
    after = test.with_cells(cells)
    off = {at: abs(float(text) - test.cell(*at)) for at, text in cells.items()}
    name, right = test.columns[column][0], test.cell(row, column)
    size = off[row, column]
    return Slip(
        kind, row + 1, name, test.rows[row][column], cells[row, column],
        sigmas=max(step / float(test.spread[at]) for at, step in off.items()),
        part=size / abs(right),
        part_of_slip=size / float(test.slips[row]) if name == "speed" else np.nan,
        inner=test.inner(row), test=after,
    )  # fmt: skip


def _changed(
    test: TypedTest, kind: str, row: int, column: int, columns: list[int], draw: np.random.Generator
) -> dict[tuple[int, int], str] | None:
    """The cells of a slip with their texts; ``None`` where this cell cannot have it or looks the same with it."""
    text, unit = test.rows[row][column], test.columns[column][1]
    if kind == CELLS:
        others = [one for one in columns if one != column and test.rows[row][one] != text]
        if not others:
            return None
        other = int(draw.choice(others))
        return {(row, column): test.rows[row][other], (row, other): text}
    if kind == POUNDS and unit not in ("kg", "lb"):
        return None
    if float(text) == 0.0:
        return None
    if kind == PART_OF_SLIP:
        return _by_its_slip(test, row, column, draw)
    wrong = _TEXTS[kind](text, unit, draw) if kind in _TEXTS else _off(text, OFF[kind], draw)
    return None if wrong is None or float(wrong) == float(text) else {(row, column): wrong}


def _by_its_slip(
    test: TypedTest, row: int, column: int, draw: np.random.Generator
) -> dict[tuple[int, int], str] | None:
    """An induction motor's speed off by a part of that row's slip, either way."""
    text, slip = test.rows[row][column], float(test.slips[row])
    if test.columns[column][0] != "speed" or not slip > 5.0:
        return None
    off = draw.uniform(0.2, 0.8) * slip * draw.choice([-1.0, 1.0])
    return {(row, column): f"{float(text) + off:.{_decimals(text)}f}"}


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])


def _times(text: str, factor: float) -> str:
    return f"{float(text) * factor:.{_decimals(text)}f}"


def _off(text: str, sizes: tuple[float, float], draw: np.random.Generator) -> str | None:
    part = draw.uniform(*sizes) * draw.choice([-1.0, 1.0])
    wrong = _times(text, 1.0 + part)
    return wrong if sizes[0] <= abs(float(wrong) / float(text) - 1.0) <= sizes[1] else None  # a short number may not


def _point_moved(text: str, places: int) -> str:
    """The decimal point further right or left, the digits kept."""
    return f"{float(text) * 10.0**places:.{max(0, _decimals(text) - places)}f}"


def _two_digits(text: str, draw: np.random.Generator) -> str | None:
    """Two neighbouring digits that differ, exchanged; not so that the number begins with a zero."""
    places = [at for at, sign in enumerate(text) if sign.isdigit()]
    pairs = [(one, two) for one, two in pairwise(places) if text[one] != text[two]]
    pairs = [(one, two) for one, two in pairs if not (one == places[0] and text[two] == "0")]
    if not pairs:
        return None
    one, two = pairs[int(draw.integers(len(pairs)))]
    signs = list(text)
    signs[one], signs[two] = signs[two], signs[one]
    return "".join(signs)


def _one_digit(text: str, draw: np.random.Generator) -> str | None:
    """One digit of the leading three written as another."""
    places = [at for at, sign in enumerate(text) if sign.isdigit()]
    first = next((number for number, at in enumerate(places) if text[at] != "0"), None)
    if first is None:
        return None
    at = places[first + int(draw.integers(min(3, len(places) - first)))]
    others = [sign for sign in "123456789" if sign != text[at]]
    return text[:at] + str(draw.choice(others)) + text[at + 1 :]


_TEXTS: dict[str, Callable[[str, str, np.random.Generator], str | None]] = {
    TENFOLD: lambda text, unit, draw: _point_moved(text, 1),
    TENTH: lambda text, unit, draw: _point_moved(text, -1),
    DIGITS: lambda text, unit, draw: _two_digits(text, draw),
    SIGN: lambda text, unit, draw: text[1:] if text.startswith("-") else f"-{text}",
    POUNDS: lambda text, unit, draw: _times(text, 2.204623 if unit == "kg" else 0.4535924),
    ONE_DIGIT: lambda text, unit, draw: _one_digit(text, draw),
}


@dataclass(frozen=True)
class WrongUnit:
    """A whole column, or the plate, that says another unit than was read."""

    kind: str
    test: TypedTest


#: Factor of what is typed over what the column says, and the columns it may befall.
_FACTORS: dict[str, tuple[float, tuple[str, ...], tuple[str, ...]]] = {
    "lb typed as kg": (2.204623, ("scale",), ("kg",)),
    "kg typed as lb": (0.4535924, ("scale",), ("lb",)),
    "N typed as kg (9.81)": (9.80665, ("scale",), ("kg",)),
    "kg typed as N (1/9.81)": (1.0 / 9.80665, ("scale",), ("N",)),
    "hp typed as kW (1.341)": (1.341022, ("input_power",), ("W",)),
    "kW typed as hp (1/1.341)": (0.745700, ("input_power",), ("W",)),
    "lbf in typed as lbf ft (12)": (12.0, ("torque", "scale"), ("N*m", "lb")),
    "inches taken as mm (25.4)": (25.4, ("torque", "scale"), ("N*m", "N")),
    "phase voltage for line (1/1.732)": (1.0 / np.sqrt(3.0), ("voltage",), ("V",)),
    "line voltage taken 1.732 times": (np.sqrt(3.0), ("voltage",), ("V",)),
    "phase current for line (1/1.732)": (1.0 / np.sqrt(3.0), ("current",), ("A",)),
}
EXCHANGED, SIXTY = "volts and amperes exchanged", "60 Hz plate on 50 Hz"
UNIT_KINDS = (*_FACTORS, EXCHANGED, SIXTY)


def wrong_unit_in(test: TypedTest, seed: int | np.random.SeedSequence) -> WrongUnit | None:
    """A test with one wrong unit of a kind drawn, or ``None`` where it can have none."""
    draw = np.random.default_rng(seed)
    for kind in draw.permutation(UNIT_KINDS):
        made = _in_wrong_unit(test, str(kind))
        if made is not None:
            return WrongUnit(str(kind), made)
    return None


def _in_wrong_unit(test: TypedTest, kind: str) -> TypedTest | None:
    if kind == EXCHANGED:
        volts, amperes = test.column("voltage"), test.column("current")
        if volts is None or amperes is None:
            return None
        cells = {(row, one): test.rows[row][other] for row in range(len(test.rows))
                 for one, other in ((volts, amperes), (amperes, volts))}  # fmt: skip
        return test.with_cells(cells)
    if kind == SIXTY:
        return _on_fifty(test)
    factor, names, units = _FACTORS[kind]
    if "1.732" in kind and test.motor != "three-phase induction":
        return None
    found = next((index for index, (name, unit) in enumerate(test.columns) if name in names and unit in units), None)
    return None if found is None or test.column("scale_2") is not None else _scaled(test, found, factor)


def _scaled(test: TypedTest, column: int, factor: float) -> TypedTest:
    """A column times a factor; of a scale its zeros too."""
    changed = test.with_column(column, factor)
    if test.columns[column][0] not in ("scale", "torque"):
        return changed
    zeros = []
    for line in test.zeros:
        name, value, unit = line.split(" ")
        zeros.append(f"{name} {float(value) * factor:.5g} {unit}")
    return replace(changed, zeros=tuple(zeros))


def _on_fifty(test: TypedTest) -> TypedTest | None:
    """The same test of a motor whose plate is for 60 Hz, and of which nobody measured the frequency."""
    plate: Plate = test.plate
    unknown = test.column("frequency") is None and not any("generator" in one for one in test.conditions)
    if plate.frequency != 50.0 or plate.speed is None or "induction" not in test.motor or not unknown:
        return None
    on_sixty = replace(plate, frequency=60.0, speed=round(plate.speed * 1.2 / RPM) * RPM)
    said = tuple(one for one in test.conditions if not one.startswith("supply_frequency"))
    return replace(test, plate=on_sixty, conditions=said)
