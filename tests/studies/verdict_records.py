"""What the program says of a simulated test, beside what is true."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from simulated_tests.bench import Keys, simulated_test
from simulated_tests.slips import slip_in, wrong_unit_in
from simulated_tests.typed_job import TypedTest

import certgen
from certgen.errors import CertgenError, InputError
from certgen.pipeline import assess_job

#: What happens besides the outcomes of a verdict.
REFUSED, CRASHED = "refused", "crashed"
#: Why a job is refused: a mistake told with its line, or readings that are impossible as a whole.
LINE, PHYSICS = "line told", "impossible"
ACCEPTED = ("pass", "conditional pass", "better")


@dataclass(frozen=True)
class Judged:
    """One finding beside the truth: the margin is positive where the true value keeps its limits."""

    id: str
    outcome: str
    matters: bool
    margin: float  # in the finding's unit
    uncertainty: float | None
    part: float  # margin over the value
    better: bool  # outside on the side that harms nobody

    @property
    def distance(self) -> float | None:
        """The margin in expanded uncertainties; ``None`` where none is stated."""
        return None if not self.uncertainty else self.margin / self.uncertainty

    @property
    def truly_met(self) -> bool:
        return self.margin >= 0.0 or self.better


@dataclass(frozen=True)
class Told:
    """What the program says of one job."""

    outcome: str
    kind: str  # of a verdict that is none
    rows: tuple[int, ...]  # of the load test, named as implausible
    raised: int  # entries of plausibility in all
    judged: tuple[Judged, ...]
    message: str = ""

    @property
    def noticed(self) -> bool:
        return self.raised > 0 or self.outcome == REFUSED


@dataclass(frozen=True)
class SlipTold:
    """One slip and what became of it."""

    kind: str
    row: int
    column: str
    sigmas: float
    part: float
    part_of_slip: float
    inner: bool
    told: Told

    @property
    def row_named(self) -> bool:
        """Whether its row was named, or the line it stands on."""
        return self.told.kind == LINE or self.row in self.told.rows


@dataclass(frozen=True)
class Record:
    """One motor: its test as it was, with a slip, and with a wrong unit."""

    index: int
    motor: str
    name: str
    quality: str
    points: int
    past_breakdown: bool
    short: bool  # the motor has not the power its plate promises
    voltage_off: float  # supply's voltage over the plate's, less 1
    clean: Told
    slip: SlipTold | None
    unit_kind: str
    unit: Told | None
    seed: int = 0
    program: str = ""  # which version of the program judged it

    def line(self) -> str:
        """The record as one line of a file."""
        return json.dumps(asdict(self))


@cache
def program_digest() -> str:
    """What tells one version of the program from another: all it is made of, digested."""
    top = Path(certgen.__file__).parent
    made_of = sorted(path for path in top.rglob("*") if path.suffix in (".py", ".yaml"))
    return sha256(b"".join(path.read_bytes() for path in made_of)).hexdigest()[:12]


def records_in(file: Path) -> list[Record]:
    """The records of a file of lines; none where there is no file. A line broken off at the end is left out."""
    if not file.exists():
        return []
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    return [_record_in(json.loads(line)) for line in lines if line.endswith("\n")]


def _record_in(found: dict[str, Any]) -> Record:
    slip, unit = found["slip"], found["unit"]
    if slip is not None:
        slip = SlipTold(**{**slip, "told": _told_in(slip["told"])})
    return Record(**{**found, "clean": _told_in(found["clean"]), "slip": slip, "unit": unit and _told_in(unit)})


def _told_in(found: dict[str, Any]) -> Told:
    judged = tuple(Judged(**one) for one in found["judged"])
    return Told(**{**found, "rows": tuple(found["rows"]), "judged": judged})


def told_of(test: TypedTest, folder: Path) -> Told:
    """A job written, assessed, and held against the truth."""
    path = test.write(folder)
    try:
        results = assess_job(path).results
    except CertgenError as error:
        kind = LINE if isinstance(error, InputError) else PHYSICS
        return Told(REFUSED, kind, (), 0, (), str(error).replace(str(folder), ""))
    except Exception as error:  # a crash is one of the things counted
        return Told(CRASHED, "", (), 0, (), f"{type(error).__name__}: {error}")
    entries = tuple(getattr(results, "plausibility", None) or ())
    named = [row for one in entries if (row := getattr(one, "row", None)) is not None and _of_load_test(one)]
    verdict = results.verdict
    return Told(
        verdict.outcome, str(getattr(verdict, "kind", "") or ""), tuple(named), len(entries),
        tuple(one for finding in results.findings if (one := _judged(finding, test)) is not None),
    )  # fmt: skip


def _of_load_test(entry: Any) -> bool:
    return str(getattr(entry, "table", "load_test")).replace(" ", "_") in ("load_test", "")


def _judged(finding: Any, test: TypedTest) -> Judged | None:
    """A finding whose truth is known, or ``None``."""
    if finding.outcome == "not tested" or finding.id not in test.truth.values:
        return None
    required = finding.required
    limits = None if required is None else (required.low, required.high)
    margin = test.truth.margin(finding.id, limits)
    if margin is None:
        return None
    return Judged(
        finding.id, finding.outcome, bool(finding.decides), margin,
        getattr(finding, "expanded_uncertainty", None), margin / test.truth.values[finding.id],
        test.truth.better(finding.id, limits),
    )  # fmt: skip


def three_tests(index: int, seed: int, keys: Keys) -> dict[str, Any]:
    """The test of one motor as it was, with a slip and with a wrong unit; a variant that cannot be is ``None``."""
    made, slipped, mistaken = np.random.SeedSequence([seed, index]).spawn(3)
    clean = simulated_test(made, keys)
    return {"clean": clean, "slip": slip_in(clean, slipped), "unit": wrong_unit_in(clean, mistaken)}


def record_of(index: int, seed: int, keys: Keys, folder: Path) -> Record:
    """One motor through the whole program, three times."""
    tests = three_tests(index, seed, keys)
    clean, slip, unit = tests["clean"], tests["slip"], tests["unit"]
    slip_told = None
    if slip is not None:
        slip_told = SlipTold(
            slip.kind, slip.row, slip.column, slip.sigmas, slip.part, slip.part_of_slip, slip.inner,
            told_of(slip.test, folder),
        )  # fmt: skip
    return Record(
        index, clean.motor, clean.name, clean.quality, len(clean.rows), clean.past_breakdown,
        clean.truth.reserve is not None and clean.truth.reserve < 0.0, clean.voltage_off,
        told_of(clean, folder), slip_told, "" if unit is None else unit.kind,
        None if unit is None else told_of(unit.test, folder), seed, program_digest(),
    )  # fmt: skip
