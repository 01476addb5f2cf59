"""What upsets do to a log: how many of their samples become part of a load point, and what a sound log suffers.

    python tests/studies/upsets.py [--logs N] [--seed N] [--kind NAME] [--pause S]

Each log is of a simulated motor on a brake that is set by hand from load to load (``tests/simulated_logs.py``), with one
thing gone wrong at a time and of a length drawn at random. Printed for each kind of upset: the share of its samples that
are part of a point, the logs of which none is, the loads that are found, the points within their expanded uncertainty
(95.45 %) and one per cent of the load held, the logs in which something is named, and those in which the recorder named it
while it happened, at ten rows a second. Sweeps (``sweep_bench.py``) and run-downs follow in a table of their own; there a
point is right within its expanded uncertainty and 2 % of breakdown torque, a friction within its expanded uncertainty. Exit
status 1 if a bar is missed: at most 1 % of upset samples in points, at least 99 % of the logs with an upset without one, and
at least 99 % of sound logs without a mark.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent.parent))

from builders import make_job, make_readings, make_rig, make_table
from simulated_logs import DOWN, SLIP, SYNCHRONOUS, UP, Log, faults, reduced, run
from sweep_bench import Swept, sweep_job

from certgen.document.build import Toleranced
from certgen.job.model import Coasting
from certgen.job.rig import Meters, TorqueMeter
from certgen.job.table import TableSource
from certgen.physics.samples import successive_scatter
from certgen.physics.uncertainty import coverage_factor
from certgen.recorder.upset_watch import Sample, UpsetWatch
from certgen.reduction.model import RunDownFound
from certgen.reduction.reduce import reduce_test
from certgen.reduction.run_down import run_down_of
from certgen.reduction.sweep import points_of_sweep

Random = np.random.Generator
Mask = NDArray[np.bool_]
MOST_IN_POINTS, LEAST_UNTOUCHED, LEAST_SOUND = 0.01, 0.99, 0.99


def a_log(random: Random) -> Log:
    """A sound log: loads up or down or to and fro, held and changed by hand, as dense and as noisy as it comes."""
    loads = [UP, DOWN[:4], (3.0, 6.0, 9.0), (10.0, 5.0), (4.5, 10.0, 7.5), (8.0,)][random.integers(6)]
    return run(
        int(random.integers(1 << 30)),
        loads=loads,
        held=float(random.uniform(20.0, 60.0)),
        change=float(random.uniform(2.0, 5.0)),
        interval=float(random.choice([0.02, 0.05, 0.1, 0.25, 0.5])),
        torque_scatter=float(random.choice([0.005, 0.02, 0.1])),
        correlation=float(random.choice([0.0, 0.5])),
        stands_at_the_ends=float(random.choice([0.0, 4.0])),
    )


def _fallen(log: Log, part: Any) -> Mask:
    """The load at a part of itself, shape (n,), and the speed along the motor's curve; which samples that changes."""
    noise = log.speed - SYNCHRONOUS * (1.0 - SLIP * log.torque)
    true = log.torque * part
    scatter = np.random.default_rng(log.time.size).normal(0.0, successive_scatter(log.torque), part.shape)
    log.torque = true + (1.0 - part) * scatter
    turns = log.speed > 0.0
    log.speed = np.where(turns, SYNCHRONOUS * (1.0 - SLIP * true) + noise, 0.0)
    return np.asarray((part < 0.98) & turns)


def _when(log: Log, random: Random, shortest: float = 0.2, longest: float = 60.0) -> tuple[float, float]:
    """Beginning within a held load, and a length of any order of magnitude; the load waits for it. [s]"""
    start, end, _ = log.truth[random.integers(len(log.truth))]
    length = float(np.exp(random.uniform(np.log(shortest), np.log(longest))))
    begin = float(random.uniform(start + 1.0, end - 1.0))
    _wait(log, begin, length, random)
    return begin, length


def _wait(log: Log, begin: float, length: float, random: Random) -> None:
    """Hold the load for longer by a length, from a time on: samples drawn from those around."""
    at, count = log.at(begin), round(length / log.time[1])
    around = slice(max(0, at - round(1.0 / log.time[1])), at + 1)
    for name in ("speed", "torque"):
        values = getattr(log, name)
        setattr(log, name, np.insert(values, at, random.choice(values[around], count)))
    log.time = np.arange(log.time.size + count) * log.time[1]
    log.truth = [
        (start + length * (start > begin), end + length * (end > begin), load) for start, end, load in log.truth
    ]


def gone(log: Log, random: Random, left: tuple[float, float] = (0.0, 0.1)) -> Mask:
    """The load gone at once, and back at once."""
    begin, length = _when(log, random)
    off = (log.time >= begin) & (log.time < begin + length)
    return _fallen(log, np.where(off, random.uniform(*left), 1.0))


def partly_gone(log: Log, random: Random) -> Mask:
    """The load down to a part, and back."""
    return gone(log, random, (0.15, 0.85))


def ran_out(log: Log, random: Random) -> Mask:
    """Brake current that runs out within half a second to two, and is there again at once."""
    begin, length = _when(log, random, 2.5)
    taken = random.uniform(0.5, 2.0)
    off = (log.time >= begin) & (log.time < begin + length)
    part = np.clip(1.0 - (log.time - begin) / taken, random.uniform(0.0, 0.3), 1.0)
    return _fallen(log, np.where(off, part, 1.0))


def gone_for_good(log: Log, random: Random) -> Mask:
    """The load of a coupling that broke: what still drags is the same whatever the brake is set to."""
    begin, _ = _when(log, random, 5.0)
    drag = float(random.uniform(0.0, 0.1)) * float(log.torque[log.at(begin) - 1])
    part = np.divide(drag, log.torque, out=np.ones(log.time.size), where=np.abs(log.torque) > drag)
    return _fallen(log, np.where(log.time >= begin, np.minimum(np.abs(part), 1.0), 1.0))


def behind_the_coupling(log: Log, random: Random) -> Mask:
    """A coupling that slips in front of the tachometer: speed and load fall."""
    begin, length = _when(log, random)
    off = (log.time >= begin) & (log.time < begin + length)
    left = random.uniform(0.1, 0.7)
    log.torque = np.where(off, log.torque * left, log.torque)
    log.speed = np.where(off, log.speed * random.uniform(0.2, 0.9), log.speed)
    return np.asarray(off)


def rated_for(log: Log) -> Any:
    """A bench whose torque sensor ends at the greatest torque shown, where that is shown again and again."""
    greatest = float(log.torque.max())
    clipped = np.count_nonzero(log.torque == greatest) > 10
    return make_rig(meters=Meters(torque=TorqueMeter(full_scale=greatest))) if clipped else make_rig()


def clipped(log: Log, random: Random) -> Mask:
    """A sensor whose stated span ends below the greatest load."""
    span = random.uniform(0.85, 0.97) * max(load for _, _, load in log.truth)
    over = np.asarray(log.torque > span)
    log.torque = np.minimum(log.torque, span)
    return over


def pulses(log: Log, random: Random, factor: float = 0.5) -> Mask:
    """Half of the magnets missed for a while."""
    begin, length = _when(log, random)
    off = (log.time >= begin) & (log.time < begin + length) & (log.speed > 0.0)
    log.speed = np.where(off, log.speed * factor, log.speed)
    return np.asarray(off)


def doubled(log: Log, random: Random) -> Mask:
    """Pulses counted twice for a while."""
    return pulses(log, random, 2.0)


def stalled(log: Log, random: Random) -> Mask:
    """A motor that stands under load for some seconds."""
    begin, length = _when(log, random, 1.0, 20.0)
    off = (log.time >= begin) & (log.time < begin + length)
    log.torque = np.where(off, log.torque * random.uniform(0.6, 1.4), log.torque)
    log.speed = np.where(off, 0.0, log.speed)
    return np.asarray(off)


def together(log: Log, random: Random) -> Mask:
    """The load gone and, elsewhere, pulses missed or counted twice."""
    off = gone(log, random)
    start, end, _ = log.truth[random.integers(len(log.truth))]
    begin = random.uniform(start, end)
    wrong = (log.time >= begin) & (log.time < begin + random.uniform(0.5, 10.0)) & (log.speed > 0.0)
    log.speed = np.where(wrong, log.speed * random.choice([0.5, 2.0]), log.speed)
    return np.asarray(off | wrong)


KINDS: dict[str, Callable[[Log, Random], Mask]] = {
    "sound": lambda log, random: np.zeros(log.time.size, dtype=bool),
    "load gone": gone,
    "load partly gone": partly_gone,
    "current ran out": ran_out,
    "gone for good": gone_for_good,
    "behind the coupling": behind_the_coupling,
    "sensor at its span": clipped,
    "pulses missed": pulses,
    "pulses doubled": doubled,
    "stalled": stalled,
    "two together": together,
}


@dataclass
class Score:
    """What became of the logs of one kind."""

    logs: int = 0
    upset: int = 0
    in_points: int = 0
    untouched: int = 0
    loads: int = 0
    found: int = 0
    points: int = 0
    within: int = 0
    named: int = 0
    watched: int = 0
    live: int = 0


def judge(score: Score, name: str, log: Log, upset: Mask) -> None:
    """Add one log."""
    result = reduced(log, rig=rated_for(log), poles=4)
    wrong = int(np.count_nonzero(upset & (result.reasons == 0)))
    score.logs += 1
    score.upset += int(np.count_nonzero(upset))
    score.in_points += wrong
    score.untouched += wrong == 0
    score.named += bool(faults(result))
    if name in WATCHED:
        score.watched += 1
        score.live += named_live(log, upset)
    score.loads += len(log.truth)
    hit = set()
    for plateau in result.plateaus:
        near = min(log.truth, key=lambda held: abs(held[2] - plateau.means["torque"].value))
        mean = plateau.means["torque"]
        half_width = coverage_factor(mean.degrees_of_freedom) * mean.standard_uncertainty
        score.points += 1
        # A stretch may begin while the load still creeps up to its value: common practice allows a part of the band.
        score.within += abs(mean.value - near[2]) <= half_width + 0.01 * near[2]
        if abs(mean.value - near[2]) <= 0.02 * max(near[2], 1.0):
            hit.add(near[2])
    score.found += len(hit)


#: Kinds that the recorder is to name, and one in which it is to be silent.
WATCHED = (
    "sound",
    "load gone",
    "load partly gone",
    "current ran out",
    "gone for good",
    "behind the coupling",
    "stalled",
)


def named_live(log: Log, upset: Mask) -> bool:
    """Whether the recorder named an upset within two seconds of its end; of a sound log, whether it named any."""
    every = max(1, round(0.1 / log.time[1]))
    rows = zip(log.time[::every].tolist(), log.speed[::every].tolist(), log.torque[::every].tolist(), strict=True)
    watch, told = UpsetWatch(), []
    for when, speed, torque in rows:
        for message in watch.happened([Sample(when, speed, torque)]):
            if message.key != "recorder.upset.back":
                told.append(when)
    off = log.time[upset]
    if not off.size:  # switching off at the end is named with the question whether it was meant
        return any(when <= log.truth[-1][1] for when in told)
    return any(off[0] <= when <= off[-1] + 2.0 for when in told)


# Sweeps and run-downs.


def a_sweep(score: Score, random: Random, *, slips: bool) -> None:
    """One sweep of a motor, and whether its coupling slips for 0.1 to 2 s somewhere in it."""
    there = float(random.uniform(4.0, 15.0))
    sound = Swept(
        there=there, both=bool(random.random() < 0.5), rate=float(random.choice([50.0, 200.0])),
        torque_noise=float(random.choice([0.05, 0.3])),
    )  # fmt: skip
    length = float(np.exp(random.uniform(np.log(0.1), np.log(min(2.0, there / 4.0)))))
    begin = 1.0 + there * float(random.uniform(0.05, 0.9))
    swept = replace(sound, slips_at=begin, slips_for=length) if slips else sound
    bench, job = make_rig(inertia=Toleranced(sound.inertia)), sweep_job()
    readings = swept.readings(int(random.integers(1 << 30)))
    made = points_of_sweep(job, bench, readings)
    reduction = reduce_test(job, bench, made)
    when = readings.load_test.column("time")
    upset = np.asarray(swept.slips(when))
    assert made.sweep is not None and made.sweep.reasons is not None and reduction.uncertainties is not None
    wrong = int(np.count_nonzero(upset & (made.sweep.reasons == 0)))
    score.logs += 1
    score.upset += int(np.count_nonzero(upset))
    score.in_points += wrong
    score.untouched += wrong == 0
    score.named += bool((made.sweep.reasons != 0).any())
    points = reduction.points
    off = np.abs(points.torque - sound.shaft_torque(points.speed))
    wide = np.array([errors["torque"].expanded or 0.0 for errors in reduction.uncertainties.points])
    score.points += points.count
    score.within += int(np.count_nonzero(off <= wide + 0.02 * sound.breakdown))


def a_run_down(score: Score, random: Random, *, faulty: bool) -> None:
    """One run-down of a known inertia, and a stretch of 1 to 30 of its 120 speeds doubled, halved, zero or empty."""
    time_, inertia, dry, viscous = np.arange(0.0, 12.0, 0.1), 0.02, 0.06, 0.001
    speed = (150.0 + dry / viscous) * np.exp(-time_ * viscous / inertia) - dry / viscous
    speed = np.where(speed > 0.0, speed + random.normal(0.0, float(random.choice([0.02, 0.1, 0.3])), speed.size), 0.0)
    wrong = 0
    if faulty:
        wrong = int(random.choice([1, 2, 5, 12, 30]))
        turning = int(np.count_nonzero(speed > 10.0))
        begin = int(random.integers(3, turning - wrong - 3))
        speed[begin : begin + wrong] *= random.choice([2.0, 0.5, 0.0, np.nan])
    source = TableSource("readings.run_down", (1, 1), (), also=Coasting("motor", Toleranced(inertia, 1e-5)))
    job = make_job(speed=100.0)
    job = replace(job, readings=replace(job.readings, run_down=source))
    others = {"run_down": make_table(time=time_, speed=np.where(speed < 0.0, 0.0, speed))}
    found = run_down_of(job, make_rig(), replace(make_readings(speed=[1.0], torque=[1.0]), others=others))
    score.logs += 1
    score.upset += wrong
    if not isinstance(found, RunDownFound) or found.friction_torque is None:
        score.named += 1
        score.untouched += 1
        return
    missed = max(0, wrong - sum(entry.count for entry in found.left_out))
    score.in_points += missed
    score.untouched += missed == 0
    score.named += bool(found.left_out)
    score.points += 1
    friction = found.friction_torque
    score.within += abs(friction.value - dry - viscous * 100.0) <= (friction.expanded or 0.0)


CHANGING: dict[str, Callable[[Score, Random], None]] = {
    "sweep, sound": lambda score, random: a_sweep(score, random, slips=False),
    "sweep, load gone": lambda score, random: a_sweep(score, random, slips=True),
    "run-down, sound": lambda score, random: a_run_down(score, random, faulty=False),
    "run-down, wrong speeds": lambda score, random: a_run_down(score, random, faulty=True),
}


def study_changing(logs: int, seed: int, pause: float = 0.0) -> dict[str, Score]:
    """Scores of so many sweeps and run-downs of each kind."""
    scores = {name: Score() for name in CHANGING}
    for place, (name, one) in enumerate(CHANGING.items()):
        for number in range(logs):
            one(scores[name], np.random.default_rng([seed, 100 + place, number]))
            time.sleep(pause)
    return scores


def table_of_changing(scores: dict[str, Score]) -> str:
    """The second table of the docs."""
    lines = [
        "| what went wrong | logs | upset samples used | logs without any | figures within uncertainty | named |",
        "|---|---|---|---|---|---|",
    ]
    for name, score in scores.items():
        share = f"{score.in_points / score.upset:.2%}" if score.upset else "-"
        lines.append(
            f"| {name} | {score.logs} | {share} | {score.untouched / score.logs:.1%} | "
            f"{score.within / max(score.points, 1):.1%} | {score.named / score.logs:.1%} |"
        )
    return "\n".join(lines).replace("%", " %")


def table(scores: dict[str, Score]) -> str:
    """The table of the docs."""
    lines = [
        "| what went wrong | logs | upset samples in a point | logs without any | loads found | points at a load | named "
        "| named live |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for name, score in scores.items():
        share = f"{score.in_points / score.upset:.2%}" if score.upset else "-"
        lines.append(
            f"| {name} | {score.logs} | {share} | {score.untouched / score.logs:.1%} | {score.found / score.loads:.1%} | "
            f"{score.within / max(score.points, 1):.1%} | {score.named / score.logs:.1%} | "
            + (f"{score.live / score.watched:.1%} |" if score.watched else "- |")
        )
    return "\n".join(lines).replace("%", " %")


def study(logs: int, seed: int, kinds: list[str], pause: float = 0.0) -> dict[str, Score]:
    """Scores of so many logs of each kind."""
    scores = {name: Score() for name in kinds}
    for place, name in enumerate(KINDS):
        if name not in scores:
            continue
        for number in range(logs):
            random = np.random.default_rng([seed, place, number])
            log = a_log(random)
            judge(scores[name], name, log, KINDS[name](log, random))
            time.sleep(pause)
    return scores


def main() -> int:
    """Run, print, and compare with the bars."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--logs", type=int, default=200, help="of each kind")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=tuple(KINDS), action="append")
    parser.add_argument("--pause", type=float, default=0.0, help="seconds to rest behind each log")
    options = parser.parse_args()
    scores = study(options.logs, options.seed, options.kind or list(KINDS), options.pause)
    print(table(scores), flush=True)
    changing = {} if options.kind else study_changing(options.logs, options.seed, options.pause)
    if changing:
        print("\n" + table_of_changing(changing))
    both = {**scores, **changing}
    upset = sum(score.upset for score in both.values())
    share = sum(score.in_points for score in both.values()) / upset if upset else 0.0
    sound = [score for name, score in both.items() if name.endswith("sound")]
    quiet = 1.0 - sum(score.named for score in sound) / max(1, sum(score.logs for score in sound))
    faulty = [score for name, score in both.items() if not name.endswith("sound")]
    clean = sum(score.untouched for score in faulty) / max(1, sum(score.logs for score in faulty))
    count = sum(score.logs for score in both.values())
    print(
        f"\n{count} logs: upset samples in points {share:.2%} (at most 1 %), logs with an upset without any in a point "
        f"{clean:.1%} (at least 99 %), sound logs without a mark {quiet:.1%} (at least 99 %)"
    )
    return 0 if share <= MOST_IN_POINTS and clean >= LEAST_UNTOUCHED and quiet >= LEAST_SOUND else 1


if __name__ == "__main__":
    sys.exit(main())
