"""How far verdicts can be trusted: whole tests of motors whose truth is known, from the typed job to the verdict.

    python tests/studies/verdicts.py [--motors N] [--seed S] [--workers N] [--minutes M] [--lines FILE]
    python tests/studies/verdicts.py --tables FILE...
    python tests/studies/verdicts.py --write INDEX FOLDER [--seed S]

Every motor (``simulated_tests``) is tested once on a bench whose errors are drawn from what its rig says. The job is
judged as it is, then with one slip of the pen in one cell, then with one wrong unit. Tables go to standard output as
Markdown. ``--lines`` appends every motor's record to a file as it is tested; called again, it goes on after the motors
that stand there. Other seeds are other motors: several such files, made one after another or side by side, make one
table. ``--write`` puts the three jobs of one motor into a folder, to be looked at.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

# Matrices here are of a few rows: threads of the linear algebra only wait for each other. Said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent.parent))  # the simulated tests, where this runs as a script

from simulated_tests.bench import Keys
from simulated_tests.typed_job import TypedTest
from studies.verdict_records import Record, program_digest, record_of, records_in, three_tests
from studies.verdict_tables import tables

from certgen.errors import CertgenError
from certgen.pipeline import assess_job


def _chunk(indexes: Sequence[int], seed: int, keys: Keys) -> list[Record]:
    with tempfile.TemporaryDirectory(dir=_in_memory()) as folder:
        return [record_of(index, seed, keys, Path(folder)) for index in indexes]


def _in_memory() -> str | None:
    """A folder that no disk stands behind, where the system has one."""
    return "/dev/shm" if os.access("/dev/shm", os.W_OK) else None


def study(
    motors: int, seed: int, workers: int = 1, keys: Keys | None = None, done: frozenset[int] = frozenset()
) -> Iterator[Record]:
    """Every motor's record, in order, but of those done already."""
    run = partial(_chunk, seed=seed, keys=keys or known_keys())
    left = [index for index in range(motors) if index not in done]
    chunks = [left[first : first + 20] for first in range(0, len(left), 20)]
    if workers == 1:
        for index in left:
            yield from run([index])
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
    parser.add_argument("--lines", type=Path, metavar="FILE", help="append every record; go on after those there")
    parser.add_argument("--tables", nargs="+", type=Path, metavar="FILE", help="print the tables of such files instead")
    parser.add_argument("--write", nargs=2, metavar=("INDEX", "FOLDER"), help="write the jobs of one motor instead")
    chosen = parser.parse_args(arguments)
    if chosen.write:
        write(int(chosen.write[0]), Path(chosen.write[1]), chosen.seed)
        return 0
    records = _read(chosen.tables) if chosen.tables else _made(chosen)
    seeds = ", ".join(str(seed) for seed in sorted({one.seed for one in records}))
    print(f"{len(records)} motors, seed {seeds}.\n")
    print("\n\n".join(tables(records)))
    return 0


def _read(files: Sequence[Path]) -> list[Record]:
    """The records of several files, each motor once."""
    found = {(record.seed, record.index): record for file in files for record in records_in(file)}
    programs = {record.program for record in found.values()}
    if len(programs) > 1:
        print(f"These records are of {len(programs)} versions of the program.\n")
    return [found[key] for key in sorted(found)]


def _made(chosen: argparse.Namespace) -> list[Record]:
    """The records of the motors asked for, those in the file and those tested now."""
    kept = records_in(chosen.lines) if chosen.lines else []
    if any(one.program != program_digest() for one in kept):
        sys.exit(f"{chosen.lines} has records of another version of the program: name another file.")
    if chosen.lines:
        chosen.lines.write_text("".join(f"{one.line()}\n" for one in kept), encoding="utf-8")  # without a broken line
    records = [one for one in kept if one.seed == chosen.seed and one.index < chosen.motors]
    ends = math.inf if chosen.minutes is None else time.monotonic() + 60.0 * chosen.minutes
    done = frozenset(one.index for one in records)
    for record in study(chosen.motors, chosen.seed, chosen.workers, done=done):
        records.append(record)
        if chosen.lines:
            with chosen.lines.open("a", encoding="utf-8") as file:
                file.write(record.line() + "\n")
        if sys.stderr.isatty():
            print(f"\r{len(records)} of {chosen.motors}", end="", file=sys.stderr)
        if time.monotonic() > ends:
            break
    return records


if __name__ == "__main__":
    sys.exit(main())
