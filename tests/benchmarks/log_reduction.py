"""How long a log takes to become load points, as a ratio to pandas.read_csv of the same rows.

    python tests/benchmarks/log_reduction.py [--rows N] [--runs N] [--most RATIO]

Reading and reduction are run in turns in one process; the medians of their processor time are compared. Exit status 1
above ``--most``.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas

sys.path.insert(0, str(Path(__file__).parent.parent))

from builders import make_readings, make_rig
from simulated_logs import UP, logged_job, run

from certgen.reduction.log.reduce import reduced_log


def columns(rows: int) -> dict[str, np.ndarray]:
    """A log of six columns: ten times the five loads, with scatter and a few faults."""
    loads = UP * 10
    log = run(1, loads=loads, interval=18.0 * len(loads) / rows)
    rng = np.random.default_rng(2)
    log.speed[rows // 3] /= 2
    log.torque[rows // 2 : rows // 2 + 50] = np.nan
    return {
        "time": log.time,
        "speed": log.speed,
        "torque": log.torque,
        "voltage": rng.normal(400.0, 0.5, log.time.size),
        "current": 2.0 + 0.1 * np.nan_to_num(log.torque) + rng.normal(0.0, 0.01, log.time.size),
        "input_power": 150.0 + 160.0 * np.nan_to_num(log.torque) + rng.normal(0.0, 2.0, log.time.size),
    }


def main() -> int:
    """Print both medians and their ratio."""
    parser = argparse.ArgumentParser(description="Reduction of a log over pandas.read_csv.")
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--most", type=float, default=0.9)
    options = parser.parse_args()
    log = columns(options.rows)
    readings, job, rig = make_readings(**log), logged_job(), make_rig()
    reading, reducing = [], []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        pandas.DataFrame(log).to_csv(path, index=False, float_format="%.4f")
        for _ in range(options.runs):
            begin = time.process_time()
            pandas.read_csv(path)
            middle = time.process_time()
            found = reduced_log(job, rig, readings)
            reading.append(middle - begin)
            reducing.append(time.process_time() - middle)
    ratio = statistics.median(reducing) / statistics.median(reading)
    print(f"{options.rows} rows of {len(log)} columns, {len(found.plateaus)} plateaus")
    print(f"pandas.read_csv {statistics.median(reading):.3f} s, reduction {statistics.median(reducing):.3f} s")
    print(f"ratio {ratio:.2f}")
    return 1 if ratio > options.most else 0


if __name__ == "__main__":
    sys.exit(main())
