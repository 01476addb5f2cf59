"""How far verdicts can be trusted: whole tests of motors whose truth is known, from the typed job to the verdict.

    python tests/studies/verdicts.py [--motors N] [--seed S] [--workers N] [--minutes M] [--json FILE]
    python tests/studies/verdicts.py --write INDEX FOLDER [--seed S]

Every motor (``simulated_tests``) is tested once on a bench whose errors are drawn from what its rig says. The job is
judged as it is, then with one slip of the pen in one cell, then with one wrong unit. Tables go to standard output as
Markdown. ``--write`` puts the three jobs of one motor into a folder, to be looked at.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))  # the simulated tests, where this runs as a script

from simulated_tests.bench import Keys
from simulated_tests.typed_job import TypedTest
from studies.verdict_records import Record, record_of, three_tests
from studies.verdict_tables import tables

from certgen.errors import CertgenError
from certgen.pipeline import assess_job


def _chunk(indexes: Sequence[int], seed: int, keys: Keys) -> list[Record]:
    with tempfile.TemporaryDirectory() as folder:
        return [record_of(index, seed, keys, Path(folder)) for index in indexes]


def study(motors: int, seed: int, workers: int = 1, keys: Keys | None = None) -> Iterator[Record]:
    """Every motor's record, in order."""
    run = partial(_chunk, seed=seed, keys=keys or known_keys())
    chunks = [range(first, min(first + 20, motors)) for first in range(0, motors, 20)]
    if workers == 1:
        for chunk in chunks:
            yield from run(chunk)
        return
    with ProcessPoolExecutor(workers) as pool:
        for records in pool.map(run, chunks):
            yield from records


def known_keys() -> Keys:
    """Which of the newer keys of a job this version takes."""
    return Keys(excitation=_takes("motor: {type: dc, excitation: shunt}", ""),
                supply=_takes("motor: {type: dc}", "conditions: {supply: generator}"))  # fmt: skip


def _takes(motor: str, conditions: str) -> bool:
    job = (
        "certificate: {number: SIM-1, tested_on: 2026-03-14, tested_by: R. Tanner}\n"
        f"{motor}\nrig: rig.yaml\n{conditions}\n"
        "readings: {load_test: {columns: {speed: rpm, torque: N*m, current: A, voltage: V}, rows: [[1500, 1, 2, 180]]}}\n"
    )
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "rig.yaml").write_text("name: A\nabsorber: {kind: torque sensor}\n", encoding="utf-8")
        path = Path(folder) / "job.yaml"
        path.write_text(job, encoding="utf-8")
        try:
            assess_job(path)
        except CertgenError:
            return False
    return True


def write(index: int, folder: Path, seed: int) -> None:
    """The three jobs of one motor, each in a folder of its own."""
    for name, made in three_tests(index, seed, known_keys()).items():
        if made is not None:
            (folder / name).mkdir(parents=True, exist_ok=True)
            test: TypedTest = made if isinstance(made, TypedTest) else made.test
            print(test.write(folder / name), "" if test is made else made.kind)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the study and print its tables."""
    parser = argparse.ArgumentParser(description="How far verdicts can be trusted, on motors of known truth.")
    parser.add_argument("--motors", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--minutes", type=float, help="stop after so many; the tables are of the motors tested by then")
    parser.add_argument("--json", type=Path, metavar="FILE", help="every record, besides the tables")
    parser.add_argument("--write", nargs=2, metavar=("INDEX", "FOLDER"), help="write the jobs of one motor instead")
    chosen = parser.parse_args(arguments)
    if chosen.write:
        write(int(chosen.write[0]), Path(chosen.write[1]), chosen.seed)
        return 0
    records, ends = [], math.inf if chosen.minutes is None else time.monotonic() + 60.0 * chosen.minutes
    for record in study(chosen.motors, chosen.seed, chosen.workers):
        records.append(record)
        if sys.stderr.isatty():
            print(f"\r{len(records)} of {chosen.motors}", end="", file=sys.stderr)
        if time.monotonic() > ends:
            break
    print(f"{len(records)} motors, seed {chosen.seed}.\n")
    print("\n\n".join(tables(records)))
    if chosen.json:
        chosen.json.write_text(json.dumps([asdict(one) for one in records]), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
