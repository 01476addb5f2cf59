"""Makes the readings of the example jobs from machine equations and puts them into their files.

Run ``python example_jobs/make_readings.py`` to write them, with ``--check`` to say whether the files agree.
The motors, their plates and the shop are invented; only the physics is real.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from simulated_bench.jobs import (
    capacitor_start,
    full_plate,
    geared,
    home_bench,
    inspected_motor,
    logged,
    low_supply,
    mistyped_row,
    one_point,
    permanent_magnet,
    renewed_rotor,
    shunt_motor,
    swept_motor,
    two_voltage,
    universal,
    unmarked,
    unmarked_rated,
    unsafe_as_found,
    worn_rotor,
)
from simulated_bench.simulated_job import EXAMPLES, SimulatedJob

MODULES = (
    full_plate,
    capacitor_start,
    two_voltage,
    geared,
    universal,
    unmarked,
    unmarked_rated,
    worn_rotor,
    renewed_rotor,
    swept_motor,
    one_point,
    permanent_magnet,
    logged,
    shunt_motor,
    low_supply,
    mistyped_row,
    home_bench,
    inspected_motor,
    unsafe_as_found,
)
MAKERS: dict[str, Callable[[], SimulatedJob]] = {module.NAME: module.make for module in MODULES}


def stale(contents: dict[Path, str]) -> list[Path]:
    """The files that do not hold what the generator makes."""
    made = {path: text.encode("utf-8") for path, text in contents.items()}
    return [path for path, data in made.items() if not path.exists() or path.read_bytes() != data]


def main(arguments: Sequence[str] | None = None) -> int:
    """Write or check every example; 1 where a checked file differs."""
    parser = argparse.ArgumentParser(description="Make the readings of the example jobs.")
    parser.add_argument("--check", action="store_true", help="only say whether the files agree")
    options = parser.parse_args(arguments)
    differing = 0
    for make in MAKERS.values():
        contents = make().contents()
        for path in stale(contents):
            differing += 1
            print(f"{path.relative_to(EXAMPLES)} {'differs' if options.check else 'written'}")
            if not options.check:
                path.write_bytes(contents[path].encode("utf-8"))
    if not differing:
        print("all files agree with the generator")
    return 1 if options.check and differing else 0


if __name__ == "__main__":
    sys.exit(main())
