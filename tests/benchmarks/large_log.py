"""How long a large log takes to become load points, as a ratio to ``pandas.read_csv`` alone, and how much memory.

    python tests/benchmarks/large_log.py [--rows N] [--runs N] [--most RATIO] [--most-memory RATIO]

certgen reads, cleans and reduces the file that pandas reads, alternately in one process; the best of the runs count. pandas
from 3.1 on reads with as many threads as the machine runs at once; it is timed with one thread too. Peak
memory is that of a process of its own, above what it has before reading, over the size of the table in SI (Linux). Exit
status 1 if a ratio of the first log is above its bound; the other logs show what other ways of writing cost.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas
import yaml

sys.path.insert(0, str(Path(__file__).parent.parent))

from builders import make_rig
from simulated_logs import DOWN, UP, logged_job, run

from certgen.document.build import Reader
from certgen.document.source import Problems
from certgen.job.table import table
from certgen.readings.model import Readings, Table, Zero
from certgen.readings.read import read_table
from certgen.reduction.log.model import ReducedLog
from certgen.reduction.log.reduce import reduced_log

COLUMNS = "{time: s, speed: rpm, scale: kg, voltage: V, current: A, input_power: W}"
STAMPED = COLUMNS.replace("time: s", "time: stamp")
LOGS = {
    "plain": (COLUMNS, {"sep": ","}),
    "decimal comma": (COLUMNS, {"sep": ";", "decimal": ","}),
    "stamped": (STAMPED, {"sep": ","}),
}
COLUMN_COUNT, LOADS = 6, (*UP, *DOWN[1:])
INTERVAL, CHANGE = 0.01, 3.0  # s, from sample to sample and from load to load


def write_log(path: Path, rows: int, name: str) -> None:
    """A log of a simulated motor held at ten loads, with a missed pulse and a signal that drops out."""
    seconds_each = rows * INTERVAL / len(LOADS)
    log = run(1, loads=LOADS, held=seconds_each - CHANGE, change=CHANGE, interval=INTERVAL, torque_scatter=0.05)
    log.speed[rows // 3] /= 2
    noise = np.random.default_rng(7)
    columns = {
        "time": np.round(log.time, 2),
        "speed": np.round(log.speed * 30.0 / np.pi, 1),
        "scale": np.round(log.torque / (9.80665 * 0.5), 3),
        "voltage": np.round(noise.normal(400.0, 0.7, log.time.size), 1),
        "current": np.round(2.0 + 0.1 * log.torque + noise.normal(0.0, 0.01, log.time.size), 3),
        "input_power": np.round(150.0 + 160.0 * log.torque + noise.normal(0.0, 2.0, log.time.size), 1),
    }
    columns["scale"][rows // 2 : rows // 2 + 50] = 0.0
    frame = pandas.DataFrame(columns)
    if name == "stamped":
        moments = pandas.Timestamp("2026-03-14 23:59:00") + pandas.to_timedelta(columns["time"], unit="s")
        frame["time"] = moments.strftime("%Y-%m-%d %H:%M:%S.%f")
    frame.to_csv(path, index=False, **LOGS[name][1])


def read_log(path: Path, name: str) -> Table:
    """The log as certgen reads it: found, parsed, converted, checked, put in order."""
    reader = Reader("job.yaml", path.parent, Problems())
    node = yaml.compose(f"{{file: {path.name}, columns: {LOGS[name][0]}}}", Loader=yaml.SafeLoader)
    source = reader.value(table(), node, "load_test")
    found = read_table(source, reader, path.parent)
    assert not reader.problems.found, reader.problems.found
    assert found is not None
    return found


def reduce_log(table: Table) -> ReducedLog:
    """The log as load points, torque from a scale under an arm."""
    found = reduced_log(logged_job(), make_rig("arm"), Readings(table, Zero(), Zero()))
    assert found is not None
    return found


def read_alone(path: Path, name: str) -> pandas.DataFrame:
    """The same file with pandas alone."""
    return pandas.read_csv(path, **LOGS[name][1])


def one_thread() -> AbstractContextManager[object]:
    """pandas without threads of its own; as it comes where it has none."""
    try:
        return pandas.option_context("mode.max_threads", 1)
    except pandas.errors.OptionError:
        return nullcontext()


def seconds(path: Path, name: str) -> tuple[float, ...]:
    """Wall time of reading, of reducing what was read, of pandas alone, and of pandas in one thread."""
    begin = time.perf_counter()
    table = read_log(path, name)
    middle = time.perf_counter()
    found = reduce_log(table)
    end = time.perf_counter()
    assert len(found.plateaus) == len(LOADS), len(found.plateaus)
    read_alone(path, name)
    alone = time.perf_counter()
    with one_thread():
        read_alone(path, name)
    return middle - begin, end - middle, alone - end, time.perf_counter() - alone


def peak(path: Path, name: str, who: str) -> tuple[float, float]:
    """Peak memory [bytes] from file to load points, or of pandas alone, and size of the table, in this process."""
    small = path.with_name("small.csv")
    write_log(small, 20_000, name)
    rows_of: dict[str, Callable[[Path], int]] = {
        "certgen": lambda log: reduce_log(read_log(log, name)).samples,
        "pandas": lambda log: len(read_alone(log, name)),
    }
    rows_of[who](small)  # imports and pools are no part of the table
    before = resident("VmRSS")
    Path("/proc/self/clear_refs").write_text("5")  # the peak counts from here
    rows = rows_of[who](path)
    return resident("VmHWM") - before, 8.0 * COLUMN_COUNT * rows


def resident(which: str) -> float:
    """Memory of this process as the kernel counts it (Linux): VmRSS now, VmHWM at its highest. [bytes]"""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return 1024.0 * float(status.split(f"{which}:")[1].split()[0])


def measure(folder: Path, name: str, rows: int, runs: int) -> SimpleNamespace:
    """Best seconds of each, and peak memory over the size of the table."""
    path = folder / f"{name.replace(' ', '_')}.csv"
    write_log(path, rows, name)
    times = [seconds(path, name) for _ in range(runs)]
    memory = {}
    for who in ("certgen", "pandas"):
        arguments = [sys.executable, __file__, "--peak", who, "--log", name, "--file", str(path)]
        done = subprocess.run(arguments, capture_output=True, text=True, check=True)
        grown, size = json.loads(done.stdout)
        memory[who] = grown / size
    whole = min(read + reduced for read, reduced, _, _ in times)
    read, reduced, alone, single = (min(column) for column in zip(*times, strict=True))
    return SimpleNamespace(
        read=read,
        reduced=reduced,
        whole=whole,
        alone=alone,
        single=single,
        memory=memory,
        size=path.stat().st_size,
    )


def main() -> int:
    """Measure, print, and compare with the most that is allowed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--most", type=float, default=1.5)
    parser.add_argument("--most-memory", type=float, default=3.0)
    parser.add_argument("--peak", choices=("certgen", "pandas"), help=argparse.SUPPRESS)
    parser.add_argument("--log", choices=tuple(LOGS), help=argparse.SUPPRESS)
    parser.add_argument("--file", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.peak:
        print(json.dumps(peak(options.file, options.log, options.peak)))
        return 0
    within = True
    with tempfile.TemporaryDirectory() as folder:
        for name in LOGS:
            found = measure(Path(folder), name, options.rows, options.runs)
            ratio = found.whole / found.alone
            print(f"{name}: {options.rows} rows by 6 columns, {found.size / 1e6:.0f} MB")
            print(f"  read and in order  {found.read:.3f} s")
            print(f"  cleaned, reduced   {found.reduced:.3f} s")
            print(f"  together           {found.whole:.3f} s, peak memory {found.memory['certgen']:.2f} of the table")
            print(f"  pandas alone       {found.alone:.3f} s, peak memory {found.memory['pandas']:.2f} of the table")
            print(f"  pandas, one thread {found.single:.3f} s, ratio to it {found.whole / found.single:.2f}")
            print(f"  ratio              {ratio:.2f}" + (f" (at most {options.most})" if name == "plain" else ""))
            if name == "plain":
                within = ratio <= options.most and found.memory["certgen"] <= options.most_memory
    return 0 if within else 1


if __name__ == "__main__":
    sys.exit(main())
