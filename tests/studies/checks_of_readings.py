"""How often the checks of the readings raise anything on sound simulated tests, check by check and in all.

Run ``python tests/studies/checks_of_readings.py --tests 2000 --workers 2`` from the top of the project.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from simulated_motors import KINDS, SimulatedTest, random_test

from certgen.assessment.plausibility import contradictions, meter_contradictions
from certgen.assessment.plausibility.evidence import Evidence
from certgen.assessment.plausibility.load_rows import rows_off_curve
from certgen.assessment.plausibility.units_suspected import suspected_units
from certgen.assessment.plausibility.volts_and_amperes import UnitRows


def raised(test: SimulatedTest) -> list[Evidence]:
    """All that the checks say of one test."""
    rows, found = test.rows(), [each.evidence() for each in rows_off_curve(test.rows())]
    part, three = test.rig.meters / math.sqrt(3.0), test.motor.kind == "three_phase"
    speed, torque = rows.speed * rows.gear_ratio, rows.torque / rows.gear_ratio
    speed_u = np.hypot(rows.spread["speed"].of(rows.speed) * rows.gear_ratio, 1e-3 * speed)
    torque_u = np.hypot(rows.spread["torque"].of(rows.torque) / rows.gear_ratio, 0.006 * torque)
    shaft, volts, amperes, watts = torque * speed, rows.voltage, rows.current, rows.input_power
    apparent = None if volts is None or amperes is None else volts * amperes * (math.sqrt(3.0) if three else 1.0)
    if test.motor.synchronous is not None:
        slip, synchronous = 1.0 - speed / test.motor.synchronous, test.motor.synchronous
        found += contradictions.faster_than_synchronous(
            speed, speed_u, synchronous_speed=synchronous, synchronous_uncertainty=1e-3 * synchronous,
            torque=torque, torque_uncertainty=torque_u,
        )  # fmt: skip
        load = amperes if amperes is not None else watts
        if load is not None:
            found += contradictions.slip_grows_as_load_falls(
                slip, speed_u / synchronous, torque, torque_u, load, voltage=volts
            )
        found += contradictions.supply_of_other_frequency(
            speed, torque, frequency=test.motor.frequency, poles=test.motor.poles, frequency_measured=False
        )
    if watts is not None and apparent is not None:
        own = part * np.abs(watts)
        found += meter_contradictions.watts_above_volt_amperes(watts, own, apparent, math.sqrt(2.0) * part * apparent)
    if watts is not None:
        found += meter_contradictions.torque_without_power(shaft, 0.006 * shaft, watts, part * np.abs(watts))
        relative = np.hypot(
            rows.spread["torque"].of(rows.torque) / np.maximum(np.abs(rows.torque), 1e-9), 0.25 * test.rig.meters
        )
        relative = np.hypot(relative, rows.spread["input_power"].absolute / np.abs(watts))
        found += contradictions.efficiency_dips(shaft / watts, relative, shaft)
    if test.rig.power == "two_wattmeters" and apparent is not None:
        found += meter_contradictions.lost_sign_of_wattmeter(
            test.typed["wattmeter_1"], test.typed["wattmeter_2"], apparent, np.full(len(speed), 2.0 * part)
        )
    if test.rig.currents == 3:
        lines = [test.typed[name] for name in ("current_a", "current_b", "current_c")]
        found += meter_contradictions.currents_cannot_sum(*lines, part * lines[0])
    found += suspected_units(
        UnitRows(
            kind=rows.kind,
            three_phase=three,
            speed=speed,
            torque=torque,
            voltage=volts,
            current=amperes,
            input_power=watts,
            plate_voltages=(test.motor.volts,),
            synchronous_speed=test.motor.synchronous,
            relative_uncertainty=1.5 * part,
        )
    )
    return found


def count(tests: int, seed: int) -> Counter[str]:
    """Number of tests in which each check raised something."""
    rng = np.random.default_rng(seed)
    made: Counter[str] = Counter()
    for k in range(tests):
        kind = KINDS[k % len(KINDS)]
        found = raised(random_test(rng, kind, int(rng.choice((3, 4, 5, 6, 7, 8, 9, 10, 12)))))
        made.update({each.check for each in found})
        made["anything"] += bool(found)
    return made


def main() -> None:
    """Print the rates."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tests", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=1)
    options = parser.parse_args()
    seeds = [100 * options.seed + k for k in range(2 * options.workers)]
    total: Counter[str] = Counter()
    with ProcessPoolExecutor(options.workers) as pool:
        for part in pool.map(count, [options.tests // len(seeds)] * len(seeds), seeds):
            total += part
    for check, raised_in in total.most_common():
        print(f"{check:32s}{100.0 * raised_in / options.tests:6.2f} % of {options.tests}")


if __name__ == "__main__":
    main()
