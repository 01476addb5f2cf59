"""How long a large log takes to be read and cleaned, as a ratio to ``pandas.read_csv`` alone, and how much memory.

    python tests/benchmarks/large_log.py [--rows N] [--runs N] [--most RATIO] [--most-memory RATIO]

Both read the same file alternately in one process, best of the runs. Peak memory is that of a process of its own, above what
it has before reading, over the size of the table in SI (Linux). Exit status 1 if a ratio of the first log is above its
bound; the other logs show what other ways of writing cost.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas
import yaml

from certgen.document.build import Reader
from certgen.document.source import Problems
from certgen.job.table import table
from certgen.readings.model import Table
from certgen.readings.read import read_table

COLUMNS = "{time: s, speed: rpm, scale: kg, voltage: V, current: A, input_power: W}"
STAMPED = COLUMNS.replace("time: s", "time: stamp")
LOGS = {
    "plain": (COLUMNS, {"sep": ","}),
    "decimal comma": (COLUMNS, {"sep": ";", "decimal": ","}),
    "stamped": (STAMPED, {"sep": ","}),
}


def write_log(path: Path, rows: int, name: str) -> None:
    """An invented log of a motor under a slowly rising load."""
    noise = np.random.default_rng(7)
    load = np.linspace(0.0, 2.5, rows)
    columns = {
        "time": np.round(np.arange(rows) * 0.01, 2),
        "speed": np.round(1495.0 - 30.0 * load + noise.normal(0.0, 0.5, rows), 1),
        "scale": np.round(load + noise.normal(0.0, 0.01, rows), 3),
        "voltage": np.round(400.0 + noise.normal(0.0, 0.7, rows), 1),
        "current": np.round(1.9 + 0.7 * load + noise.normal(0.0, 0.01, rows), 3),
        "input_power": np.round(160.0 + 800.0 * load + noise.normal(0.0, 3.0, rows), 1),
    }
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


def read_alone(path: Path, name: str) -> pandas.DataFrame:
    """The same file with pandas alone."""
    return pandas.read_csv(path, **LOGS[name][1])


def seconds(run: Callable[[], object]) -> float:
    """Wall time of one run."""
    begin = time.perf_counter()
    run()
    return time.perf_counter() - begin


def peak(path: Path, name: str, who: str) -> tuple[float, float]:
    """Peak memory [bytes] while reading, and size of the table, measured in this process."""
    run = {"certgen": read_log, "pandas": read_alone}[who]
    small = path.with_name("small.csv")
    write_log(small, 20_000, name)
    run(small, name)  # imports and pools are no part of the table
    before = resident("VmRSS")
    Path("/proc/self/clear_refs").write_text("5")  # the peak counts from here
    found = run(path, name)
    grown = resident("VmHWM") - before
    size = 8.0 * len(found.columns) * (found.rows if isinstance(found, Table) else len(found))
    return grown, size


def resident(which: str) -> float:
    """Memory of this process as the kernel counts it (Linux): VmRSS now, VmHWM at its highest. [bytes]"""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return 1024.0 * float(status.split(f"{which}:")[1].split()[0])


def measure(folder: Path, name: str, rows: int, runs: int) -> SimpleNamespace:
    """Best seconds of both, and their peak memory over the size of the table."""
    path = folder / f"{name.replace(' ', '_')}.csv"
    write_log(path, rows, name)
    times = [(seconds(lambda: read_log(path, name)), seconds(lambda: read_alone(path, name))) for _ in range(runs)]
    memory = {}
    for who in ("certgen", "pandas"):
        arguments = [sys.executable, __file__, "--peak", who, "--log", name, "--file", str(path)]
        done = subprocess.run(arguments, capture_output=True, text=True, check=True)
        grown, size = json.loads(done.stdout)
        memory[who] = grown / size
    ours, alone = (min(column) for column in zip(*times, strict=True))
    return SimpleNamespace(ours=ours, alone=alone, memory=memory, size=path.stat().st_size)


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
            ratio = found.ours / found.alone
            print(f"{name}: {options.rows} rows by 6 columns, {found.size / 1e6:.0f} MB")
            print(f"  read and cleaned   {found.ours:.3f} s, peak memory {found.memory['certgen']:.2f} of the table")
            print(f"  pandas alone       {found.alone:.3f} s, peak memory {found.memory['pandas']:.2f} of the table")
            print(f"  ratio              {ratio:.2f}" + (f" (at most {options.most})" if name == "plain" else ""))
            if name == "plain":
                within = ratio <= options.most and found.memory["certgen"] <= options.most_memory
    return 0 if within else 1


if __name__ == "__main__":
    sys.exit(main())
