"""A logger that does not exist: the lines of a bench on which a 1 hp motor is loaded in six steps.

python example_jobs/simulated_logger.py | certgen record my_bench/rigs/arm_brake.yaml --port - --out load_test.csv

Each line is 'milliseconds,rpm,lb,V,A,W', ten a second by the logger's own clock. They are sent as fast as they are read;
--real-time sends them at their own pace, to see what the screen of 'certgen record' shows.

The motor is invented: 60 Hz, 4 poles; slip rises with torque, current is magnetizing and load current at right angles,
input is shaft power, 130 W of constant loss, and loss that rises with the square of torque. The arm is one foot long, so
that the scale shows the torque in lbf*ft. Scatter is small and the same every time.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections.abc import Iterator

LOADS = (3.795, 3.036, 2.277, 1.518, 0.759, 0.0)  # lb on the scale, one after the other
HELD, CHANGED, RATE = 12.0, 3.0, 10.0  # s at each load, s from one to the next, lines a second
FOOT_POUND = 1.3558179483  # N*m; NIST SP 811, appendix B.8


def main() -> int:
    """Write the lines of one test."""
    pace = 1.0 / RATE if "--real-time" in sys.argv[1:] else 0.0
    for line in lines():
        print(line, flush=bool(pace))
        time.sleep(pace)
    return 0


def lines() -> Iterator[str]:
    """Every line of the test."""
    scatter = random.Random(1740)
    for count, load in enumerate(loads()):
        speed = 1800.0 - 22.3 * load - 0.25 * load**2 + scatter.gauss(0.0, 0.4)
        current = math.hypot(1.90, 0.848 * load) + scatter.gauss(0.0, 0.004)
        shaft_power = load * FOOT_POUND * speed * 2.0 * math.pi / 60.0
        power = shaft_power + 130.0 + 10.3 * load**2 + scatter.gauss(0.0, 0.8)
        voltage = 230.0 + scatter.gauss(0.0, 0.2)
        shown = max(load + scatter.gauss(0.0, 0.002), 0.0)
        yield f"{1000 * count / RATE:.0f},{speed:.1f},{shown:.3f},{voltage:.1f},{current:.3f},{power:.1f}"


def loads() -> Iterator[float]:
    """The load at every line. [lbf*ft]"""
    for at, load in enumerate(LOADS):
        if at:
            steps = round(CHANGED * RATE)
            yield from (LOADS[at - 1] + (load - LOADS[at - 1]) * step / steps for step in range(steps))
        yield from [load] * round(HELD * RATE)


if __name__ == "__main__":
    sys.exit(main())
