"""Rates of the row check on simulated load tests: false alarms, slips found, row, cell and slip named.

Run ``python tests/studies/rows_off_curve.py --tests 4000 --slips 12000 --workers 2`` from the top of the project.
Motors, rigs and readings come from ``tests/simulated_motors.py``, whose equations are its own.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from simulated_motors import KINDS, SimulatedTest, random_rig, random_test

from certgen.assessment.plausibility.evidence import RowOffCurve
from certgen.assessment.plausibility.load_rows import rows_off_curve
from certgen.assessment.plausibility.slips import decimals_of

COUNTS = (3, 4, 5, 6, 7, 8, 9, 10, 12)
SLIPS = (
    "times_ten",
    "tenth",
    "sign",
    "cells_exchanged",
    "digits_exchanged",
    "8-20 %",
    "5-8 %",
    "2-5 %",
    "other factor",
)
#: A slip counts where it is more than this many standard uncertainties between rows, and more than these parts.
LEAST_SIGMAS, LEAST_PART, LEAST_PART_OF_SPEED = 3.0, 0.02, 0.002
FACTORS = {
    "pounds_for_kilograms": 1.0 / 0.45359237,
    "newtons_for_kilograms": 9.80665,
    "doubled": 2.0,
    "line_for_phase": 3.0**0.5,
}


@dataclass(frozen=True)
class Outcome:
    """What became of one slip."""

    kind: str
    rows: int
    slip: str
    place: str  #: inner, top, lightest
    quantity: str
    part: float
    sigmas: float
    of_slip: float  #: for speeds of induction motors, the error as a part of the row's slip
    flagged: bool
    right_row: bool
    right_cell: bool
    clear: bool
    right_slip: bool
    implied_error: float


@dataclass(frozen=True)
class Sound:
    """What became of a sound test."""

    kind: str
    rows: int
    flagged: bool
    distance: float
    seconds: float


def sound_tests(count: int, seed: int, *, past: bool = False, scatter: float | None = None) -> list[Sound]:
    """Judge sound tests of all kinds in turn."""
    rng = np.random.default_rng(seed)
    made = []
    for k in range(count):
        kind = KINDS[k % (2 if past else len(KINDS))]
        rows = int(rng.choice([6, 8, 10, 12] if past else COUNTS))
        test = random_test(rng, kind, rows, past=past, scatter=scatter).rows()
        before = time.perf_counter()
        found = rows_off_curve(test)
        made.append(Sound(kind, rows, bool(found), found[0].distance if found else 0.0, time.perf_counter() - before))
    return made


def slipped_tests(count: int, seed: int) -> list[Outcome]:
    """Spoil one cell (two, exchanged) of sound tests, three times each."""
    rng = np.random.default_rng(seed)
    made: list[Outcome] = []
    while len(made) < count:
        kind = KINDS[int(rng.integers(len(KINDS)))]
        test = random_test(rng, kind, int(rng.choice(COUNTS)), rig=random_rig(rng, kind))
        for _ in range(3):
            outcome = _spoilt(rng, test)
            if outcome is not None:
                made.append(outcome)
    return made


def _spoilt(rng: np.random.Generator, test: SimulatedTest) -> Outcome | None:
    names = list(test.typed)
    name, slip = str(rng.choice(names)), str(rng.choice(SLIPS))
    if slip == "other factor":
        slip = str(rng.choice(list(FACTORS)))
        if slip in ("pounds_for_kilograms", "newtons_for_kilograms"):
            name = "scale"
        elif slip == "line_for_phase":
            name = str(
                rng.choice([each for each in names if each not in ("speed", "scale", "power_factor")] or ["scale"])
            )
            slip = "doubled" if name == "scale" else slip
    row = int(rng.integers(len(test.typed[name])))
    old = float(test.typed[name][row])
    if old == 0.0:
        return None
    other = None
    if slip == "cells_exchanged":
        other = str(rng.choice([each for each in names if each != name]))
        new = float(test.typed[other][row])
    else:
        new = _slipped(rng, slip, old, decimals_of(test.typed[name]))
    before, spoilt = test.rows(), test.with_typed(name, row, new)
    if other is not None:
        spoilt = spoilt.with_typed(other, row, old)
    after = spoilt.rows()
    quantity = next(column.quantity for column in before.columns if column.name == name)
    was, now = (float(getattr(each, quantity)[row]) for each in (before, after))
    part = abs(now - was) / max(abs(was), 1e-12)
    sigmas = abs(now - was) / float(before.spread[quantity].of(np.array([was]))[0])
    if part < (LEAST_PART_OF_SPEED if quantity == "speed" else LEAST_PART) or sigmas < LEAST_SIGMAS:
        return None
    order = np.argsort(test.truth.power)
    place = "top" if row == order[-1] else "lightest" if row == order[0] else "inner"
    synchronous = before.synchronous_speed
    of_slip = abs(now - was) * before.gear_ratio / abs(synchronous - was * before.gear_ratio) if synchronous else 0.0
    found = rows_off_curve(after)
    return _outcome(
        found, test.motor.kind, len(order), slip, place, quantity, part, sigmas, of_slip, row, name, other, old
    )


def _slipped(rng: np.random.Generator, slip: str, old: float, decimals: int) -> float:
    if slip == "times_ten":
        return old * 10.0
    if slip == "tenth":
        return old / 10.0
    if slip == "sign":
        return -old
    if slip == "digits_exchanged":
        text = list(f"{abs(old):.{decimals}f}")
        places = [k for k, sign in enumerate(text) if sign != "."]
        k = int(rng.integers(len(places) - 1)) if len(places) > 1 else 0
        if len(places) > 1:
            text[places[k]], text[places[k + 1]] = text[places[k + 1]], text[places[k]]
        return float("".join(text))
    if slip in FACTORS:
        return old * FACTORS[slip]
    low, high = (float(part) / 100.0 for part in slip.removesuffix(" %").split("-"))
    return round(old * (1.0 + rng.choice([-1.0, 1.0]) * rng.uniform(low, high)), decimals)


def _outcome(
    found: tuple[RowOffCurve, ...], kind: str, rows: int, slip: str, place: str, quantity: str, part: float,
    sigmas: float, of_slip: float, row: int, name: str, other: str | None, old: float,
) -> Outcome:  # fmt: skip
    first = found[0] if found else None
    right_row = first is not None and (first.row == row if first.row is not None else first.candidate_rows == (row,))
    cells = {name, other} - {None}
    right_cell = right_row and first is not None and (first.cell in cells or first.cell == quantity)
    implied = first.implied_typed if first is not None and right_cell and first.cell == name else None
    return Outcome(
        kind, rows, slip, place, quantity, part, sigmas, of_slip, first is not None, right_row, right_cell,
        bool(first and first.cell_is_clear), bool(first and first.slip == slip),
        np.nan if implied is None else abs(implied / old - 1.0),
    )  # fmt: skip


def share(outcomes: Iterable[bool]) -> str:
    """Percentage with its count."""
    each = list(outcomes)
    return f"{100.0 * sum(each) / len(each):5.1f} ({len(each)})" if each else "   -"


def tables(outcomes: list[Outcome]) -> str:
    """The rates of detection as text."""
    lines = [
        "found, %, inner rows / end rows",
        f"{'slip':18s}" + "".join(f"{f'n = {n}':>30s}" for n in ("3", "4", "5-6", "7-12")),
    ]
    groups = {"3": (3,), "4": (4,), "5-6": (5, 6), "7-12": (7, 8, 9, 10, 12)}
    for slip in (*SLIPS[:-1], *FACTORS, "all"):
        cells = []
        for counts in groups.values():
            chosen = [each for each in outcomes if each.rows in counts and slip in (each.slip, "all")]
            inner, end = (
                [each.flagged for each in chosen if (each.place == "inner") is wanted] for wanted in (True, False)
            )
            cells.append(f"{share(inner)} / {share(end)}")
        lines.append(f"{slip:18s}" + "".join(f"{cell:>30s}" for cell in cells))
    lines += ["", "n >= 5, by quantity: 2-5, 5-8, 8-20 % of an inner, top, lightest row"]
    many = [each for each in outcomes if each.rows >= 5]
    for quantity in ("speed", "torque", "voltage", "current", "input_power", "power_factor"):
        cells = [
            share(each.flagged for each in many if (each.quantity, each.place, each.slip) == (quantity, place, slip))
            for place in ("inner", "top", "lightest")
            for slip in ("2-5 %", "5-8 %", "8-20 %")
        ]
        lines.append(f"{quantity:14s}" + "".join(f"{cell:>12s}" for cell in cells))
    return "\n".join(lines)


def bars(outcomes: list[Outcome], sound: list[Sound], past: list[Sound]) -> list[tuple[str, float, float, int]]:
    """Each bar: what, measured [%], asked [%], cases; false alarms are asked to stay below, all others above."""
    inner = [each for each in outcomes if each.place == "inner"]
    meters = [each for each in inner if each.quantity in ("torque", "current", "input_power") and each.rows >= 5]
    induction = [each for each in inner if each.quantity == "speed" and each.of_slip > 0.0 and each.rows >= 5]
    flagged = [each for each in outcomes if each.flagged and each.rows >= 4]
    rough = [each for each in inner if each.slip in ("times_ten", "tenth", "sign") and each.rows >= 4]
    asked: list[tuple[str, list[bool], float]] = [
        ("false alarms of sound tests (below)", [each.flagged for each in sound], 0.5),
        ("false alarms past breakdown (below)", [each.flagged for each in past], 2.0),
        ("n >= 5, inner, scale, current, power, 20 sigma and 5 %", _found(meters, 20.0, np.inf, 0.05), 95.0),
        ("the same, 10 to 20 sigma and 5 %", _found(meters, 10.0, 20.0, 0.05), 65.0),
        ("the same, 10 to 20 sigma of any size", _found(meters, 10.0, 20.0, 0.0), 65.0),
        ("n = 4, inner, 20 sigma and 8 %", _found([e for e in inner if e.rows == 4], 20.0, np.inf, 0.08), 92.0),
        ("speed, 0.2 to 0.5 of the row's slip", [e.flagged for e in induction if 0.2 <= e.of_slip < 0.5], 88.0),
        ("speed, more than 0.5 of the row's slip", [e.flagged for e in induction if e.of_slip >= 0.5], 97.0),
        ("the same, 6 sigma", [e.flagged for e in induction if e.of_slip >= 0.5 and e.sigmas >= 6.0], 97.0),
        ("times ten, tenth, sign, inner, n >= 4", [e.flagged for e in rough], 98.0),
        ("right row, n >= 4", [e.right_row for e in flagged], 97.0),
        ("right cell where clear, right row", [e.right_cell for e in flagged if e.clear and e.right_row], 98.0),
    ]
    return [(what, 100.0 * sum(each) / max(len(each), 1), asked_for, len(each)) for what, each, asked_for in asked]


def _found(outcomes: list[Outcome], least: float, most: float, part: float) -> list[bool]:
    """Whether each slip of a scale, current or power within these sizes was found."""
    return [
        each.flagged
        for each in outcomes
        if each.quantity in ("torque", "current", "input_power") and least <= each.sigmas < most and each.part >= part
    ]


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tests", type=int, default=4000)
    parser.add_argument("--slips", type=int, default=8000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=1)
    options = parser.parse_args()
    size = max(options.workers, 1)
    seeds = [1000 * options.seed + k for k in range(4 * size)]
    with ProcessPoolExecutor(size) as pool:
        sound = [
            each for part in pool.map(sound_tests, [options.tests // len(seeds)] * len(seeds), seeds) for each in part
        ]
        past = [
            each for part in pool.map(_past, [options.tests // (4 * len(seeds))] * len(seeds), seeds) for each in part
        ]
        spoilt = [
            each for part in pool.map(slipped_tests, [options.slips // len(seeds)] * len(seeds), seeds) for each in part
        ]
    by_kind = defaultdict(list)
    for each in sound:
        by_kind[each.kind].append(each.flagged)
    print("false alarms, %:", ", ".join(f"{kind} {share(found)}" for kind, found in by_kind.items()))
    print(f"median time of a sound test {1e3 * float(np.median([each.seconds for each in sound])):.1f} ms\n")
    print(tables(spoilt))
    named = [each for each in spoilt if each.right_row and each.rows >= 4 and not each.slip.endswith("%")]
    print("\nslip named rightly, %:")
    for slip in sorted({each.slip for each in named}):
        print(f"  {slip:24s}{share(each.right_slip for each in named if each.slip == slip)}")
    print(
        "cell right, % (right row, n >= 4):",
        share(each.right_cell for each in spoilt if each.right_row and each.rows >= 4),
    )
    errors = np.array([each.implied_error for each in spoilt if np.isfinite(each.implied_error) and each.rows >= 5])
    print(f"implied value, 9 of 10 within {100.0 * float(np.quantile(errors, 0.9)):.2f} %\n")
    for what, measured, asked_for, count in bars(spoilt, sound, past):
        print(f"{what:58s}{measured:7.2f} % of {count}, bar {asked_for} %")


def _past(count: int, seed: int) -> list[Sound]:
    return sound_tests(count, seed + 500, past=True)


if __name__ == "__main__":
    main()
