"""Torque that is suddenly gone under load and comes back: one upset, the loads kept, the verdict that of the sound test.

The motor is that of ``typed_job`` on a slower bench: three loads held by hand, ten rows a second. No outside source: what
is asked is that a fault of the rig changes nothing of what is said of the motor.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pytest
import yaml
from bench import FINE_INSTRUMENTS
from typed_job import ARM, PLATE, ROWS, WARM, TypedJob, evidence

from certgen.pipeline import assess_job
from certgen.results.model import Results

pytestmark = pytest.mark.slow

FULL_LOAD = 10.3  # N*m; a little above the rating, so that nothing is carried on beyond the readings
LOADS = (1.0, 0.75, 0.45)
LENGTHS = (2.0, 5.0, 12.0, 30.0)
IDLE, CHANGE, HELD = 3.0, 3.0, 40.0
FIRST_FALL = 15.0  # s into the load
ARM_LENGTH, GRAVITY = 0.5, 9.81
#: Speed [rpm], current [A] and input [W] over the load [kg] by the typed rows, as a smooth curve.
OVER_LOAD = {name: np.polyfit([row[1] for row in ROWS], [row[place] for row in ROWS], 2)
             for name, place in (("speed", 0), ("current", 3), ("input_power", 4))}  # fmt: skip
SCATTER = {"speed": 0.3, "scale": 0.004, "current": 0.005, "input_power": 2.0}
BRAKE = "brake_current"


@dataclass(frozen=True)
class Logged:
    """A test whose loads are parts of rated torque [1], with the torque gone to ``left`` of it for some seconds."""

    loads: tuple[float, ...] = LOADS
    lost_at: float | None = None
    seconds: float = 0.0
    left: float = 0.02
    comes_back: bool = True
    more: Callable[[Any, Any, Any], dict[str, Any]] = lambda time, held, part: {}
    steady: dict[str, Any] = field(default_factory=dict)
    meant: bool = False
    seed: int = 1
    interval: float = 0.1

    @property
    def fall(self) -> float:
        """When the torque goes. [s]"""
        assert self.lost_at is not None
        return IDLE + CHANGE + self.loads.index(self.lost_at) * (HELD + CHANGE) + FIRST_FALL

    def columns(self) -> dict[str, Any]:
        """What a logger writes down."""
        random = np.random.default_rng(self.seed)
        knots, loads = [0.0, IDLE], [0.02, 0.02]
        for load in self.loads:
            waits = self.seconds if load == self.lost_at and self.comes_back else 0.0
            knots += [knots[-1] + CHANGE, knots[-1] + CHANGE + HELD + waits]
            loads += [load, load]
        time = np.arange(0.0, knots[-1], self.interval)
        held, part = np.interp(time, knots, loads), np.ones(time.size)
        if self.lost_at is not None:
            until = self.fall + self.seconds if self.comes_back else np.inf
            part = np.where((time >= self.fall) & (time < until), self.left, 1.0)
        scale = held * part * FULL_LOAD / ARM_LENGTH / GRAVITY
        shown = {"scale": scale, **{name: np.polyval(curve, scale) for name, curve in OVER_LOAD.items()}}
        shown = {name: values + random.normal(0.0, SCATTER[name], time.size) for name, values in shown.items()}
        told = {"voltage": np.full(time.size, 400.0), "winding_temperature": np.full(time.size, float(WARM))}
        return {"time": time, **shown, **told, **self.more(time, held, part)}

    def judged(self) -> Results:
        """The log written to files, read and judged."""
        columns = self.columns()
        units = {"time": "s", "speed": "rpm", "scale": "kg", "voltage": "V", "current": "A", "input_power": "W",
                 "winding_temperature": "degC", BRAKE: "A"}  # fmt: skip
        load_test: dict[str, Any] = {
            "file": "log.csv",
            "columns": {name: {"from": name, "unit": units[name]} for name in columns},
            "steady": self.steady,
        }
        if self.meant:
            load_test["meant"] = [{"from": f"{self.fall - 1.0} s", "to": f"{self.fall + self.seconds + 1.0} s"}]
        job = {
            "certificate": {"number": "T-1", "tested_on": "2026-01-01", "tested_by": "a tester"},
            "motor": {"type": "three-phase induction"},
            "nameplate": PLATE,
            "rig": "rig.yaml",
            "conditions": TypedJob().conditions,
            "readings": {"load_test": load_test},
            "criteria": "iec-60034-1",
        }
        with TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "rig.yaml").write_text(yaml.safe_dump(ARM) + FINE_INSTRUMENTS, encoding="utf-8")
            path = folder / "job.yaml"
            path.write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
            rows = np.column_stack(list(columns.values()))
            np.savetxt(folder / "log.csv", rows, fmt="%.5g", delimiter=",", header=",".join(columns), comments="")
            return assess_job(path).results


@cache
def undisturbed(loads: tuple[float, ...] = LOADS) -> Results:
    """The same test with nothing gone wrong."""
    return Logged(loads).judged()


def says_the_same(results: Results, sound: Results) -> None:
    """Verdict, findings and figures at the rating are those of the undisturbed test."""
    assert results.verdict.outcome == sound.verdict.outcome == "pass"
    outcomes = {finding.id: finding.outcome for finding in sound.findings}
    assert {finding.id: finding.outcome for finding in results.findings} == outcomes
    for ours, theirs in zip(results.findings, sound.findings, strict=True):
        assert ours.measured == pytest.approx(theirs.measured, abs=ours.expanded_uncertainty or 0.01)
    assert loads_of(results) == pytest.approx(loads_of(sound), abs=0.005)


def loads_of(results: Results) -> list[float]:
    """The load of each point as a part of full load."""
    return [point.torque.value / FULL_LOAD for point in results.points]


def named(results: Results) -> list[str]:
    """What is said of lost loads."""
    return [str(entry.message) for entry in evidence(results, "load_lost")]


@pytest.mark.parametrize("seconds", LENGTHS)
@pytest.mark.parametrize("lost_at", LOADS)
def test_one_upset_and_the_three_loads(lost_at, seconds):
    log = Logged(lost_at=lost_at, seconds=seconds)
    results = log.judged()
    (lost,) = evidence(results, "load_lost")
    assert lost.effect == "note"
    says_the_same(results, undisturbed())
    # Both halves of the load are one plateau.
    (around,) = [held for held in results.log.plateaus if held.from_ < log.fall < held.to]
    assert around.to > log.fall + seconds + 0.5 * (HELD - FIRST_FALL)


@pytest.mark.parametrize("lost_at", LOADS)
@pytest.mark.parametrize("changes", [{"seed": 2, "left": 0.5}, {"steady": {"hold": "15 s"}}, {"interval": 0.5}])
def test_whatever_hold_logger_and_part_of_the_load(lost_at, changes):
    results = Logged(lost_at=lost_at, seconds=20.0, **changes).judged()
    assert len(named(results)) == 1
    says_the_same(results, undisturbed())


@pytest.mark.parametrize("lost_at", LOADS)
def test_a_load_that_is_not_back_before_the_end(lost_at):
    """It is the last one held, so that the log ends without it."""
    loads = (*(load for load in LOADS if load != lost_at), lost_at)
    results = Logged(loads, lost_at=lost_at, comes_back=False).judged()
    assert len(named(results)) == 1
    says_the_same(results, undisturbed(loads))


def stays(time, held, part):
    """The brake's current in step with the load that was set."""
    return {BRAKE: 1.0 + held}


def runs_out(time, held, part):
    """The brake's supply gone with the load."""
    return {BRAKE: np.where(part < 1.0, 0.0, 1.0 + held)}


@pytest.mark.parametrize("seconds", LENGTHS)
@pytest.mark.parametrize("lost_at", LOADS)
@pytest.mark.parametrize("current", [stays, runs_out])
def test_a_brake_current_that_was_not_set(current, lost_at, seconds):
    results = Logged(lost_at=lost_at, seconds=seconds, more=current).judged()
    (words,) = named(results)
    assert ("coupling slipped." in words) is (current is stays)
    says_the_same(results, undisturbed())


def half_set(time, held, part):
    """The brake's current set to a part with the load."""
    return {BRAKE: (1.0 + held) * (0.3 + 0.7 * part)}


def test_a_brake_current_that_was_set_makes_a_step():
    results = Logged(lost_at=1.0, seconds=30.0, left=0.6, more=half_set).judged()
    assert named(results) == []
    assert {round(load, 2) for load in loads_of(results)} == {1.0, 0.75, 0.6, 0.45}


@pytest.mark.parametrize("lost_at", LOADS)
def test_what_the_job_says_was_meant_is_a_step(lost_at):
    results = Logged(lost_at=lost_at, seconds=30.0, meant=True).judged()
    assert named(results) == []
    lightest, *held = sorted(set(loads_of(results)))
    assert lightest < 0.03
    assert {round(load, 2) for load in held} == set(LOADS)
    assert results.verdict.outcome == undisturbed().verdict.outcome
