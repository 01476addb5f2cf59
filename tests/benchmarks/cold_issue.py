"""How long one certificate takes from a cold start, as a ratio to a bare script that saves the same two charts.

    python tests/benchmarks/cold_issue.py [--runs N] [--most RATIO]

Both are run alternately as whole processes; the medians are compared. Exit status 1 if the ratio is above ``--most``.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
JOB = HERE.parent.parent / "example_jobs" / "three_phase_full_plate" / "job.yaml"


def seconds(command: list[str], folder: Path) -> float:
    """Wall time of one run of a command."""
    begin = time.perf_counter()
    subprocess.run(command, cwd=folder, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begin


def measure(runs: int) -> tuple[list[float], list[float], list[float]]:
    """Seconds of certificate, bare script and ``--help``, run by run."""
    certgen = [sys.executable, "-m", "certgen"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        issue = [*certgen, "issue", str(JOB), "--out", "certificate.pdf"]
        subprocess.run([*issue, "--results", "results.json"], cwd=folder, check=True, stdout=subprocess.DEVNULL)
        bare = [sys.executable, str(HERE / "bare_charts.py"), "results.json", "a.pdf", "b.pdf"]
        seconds(bare, folder)
        taken: tuple[list[float], list[float], list[float]] = ([], [], [])
        for _ in range(runs):
            (folder / "certificate.pdf").unlink()
            taken[0].append(seconds(issue, folder))
            taken[1].append(seconds(bare, folder))
            taken[2].append(seconds([*certgen, "--help"], folder))
    return taken


def main() -> int:
    """Measure, print, and compare with the most that is allowed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=11)
    parser.add_argument("--most", type=float, default=1.25)
    options = parser.parse_args()
    issue, bare, help_text = (statistics.median(values) for values in measure(options.runs))
    print(f"certgen issue, cold   {issue:.3f} s")
    print(f"bare two charts       {bare:.3f} s")
    print(f"certgen --help        {help_text:.3f} s")
    print(f"ratio                 {issue / bare:.2f} (at most {options.most})")
    return 0 if issue / bare <= options.most else 1


if __name__ == "__main__":
    sys.exit(main())
