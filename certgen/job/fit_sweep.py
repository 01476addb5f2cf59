"""Whether the log of a sweep and the tables of a run-down test hold what can be judged."""

from __future__ import annotations

from collections.abc import Callable

from certgen.job.model import Job
from certgen.job.rig import TORQUE_SENSOR, Rig
from certgen.job.run_down import MOTOR
from certgen.job.table import TableSource

Note = Callable[[str, str, str], None]


def check_sweep_and_run_down(job: Job, rig: Rig, note: Note) -> None:
    """Keep what is missing from a sweep or a run-down test; ``note(path, what, instead)`` keeps it."""
    readings = job.readings
    load_test = readings.load_test
    if load_test is not None and load_test.sweep is not None:
        _need(load_test, "time", "time: s", note)
        if load_test.steady is not None:
            what = "a log is read in one way, and this one is a sweep too"
            note(f"{load_test.path}.steady", what, "keep 'sweep' or 'steady'")
    for table in (readings.run_down, readings.run_down_braked):
        if table is not None:
            _need(table, "time", "time: s", note)
            _need(table, "speed", "speed: rpm", note)
    if readings.run_down_braked is not None:
        _check_braking(readings.run_down_braked, note)
        if readings.run_down is None:
            what = "a braked run-down stands alone"
            note(readings.run_down_braked.path, what, "give the run-down without the brake too, as 'run_down:'")
    elif readings.run_down is not None:
        _check_inertia(readings.run_down, rig, note)


def _check_braking(table: TableSource, note: Note) -> None:
    given = [name for name in ("added_torque", "added_power") if getattr(table.also, name, None) is not None]
    if len(given) != 1:
        what = "both an added torque and an added power are given" if given else "what braked the run is missing"
        note(table.path, what, "write one of them, for example 'added_torque: 0.5 N*m'")


def _check_inertia(table: TableSource, rig: Rig, note: Note) -> None:
    """A torque sensor's rig inertia is not all that coasts."""
    beside = table.also
    if beside is None or beside.coasting in (None, MOTOR) or beside.inertia is not None:
        return
    if rig.absorber is not None and rig.absorber.kind == TORQUE_SENSOR:
        what = "behind a torque sensor more turns than the inertia of the rig file holds"
        note(f"{table.path}.inertia", what, "write the inertia of all that turned, for example 'inertia: 0.007 kg*m^2'")


def _need(source: TableSource, name: str, example: str, note: Note) -> None:
    if name not in source.names:
        what = f"the column '{name}' is missing"
        note(f"{source.path}.columns", what, f"name it with its unit, for example '{example}'")
