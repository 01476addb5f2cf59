"""Readings that stand alone in the job (cold winding, room, insulation), each as a table, so that meters err in them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from certgen.job.model import Job
from certgen.readings.model import Readings, Table

COLD, HOT, ROOM, INSULATION = "winding cold", "winding hot", "room", "insulation"


def single_readings(job: Job) -> dict[str, Table]:
    """Tables of one row, of two for an insulation after one and ten minutes; those not read are absent. [SI]

    The thermometer of the winding is taken to have read the winding cold and the winding in the insulation test, that
    of the room every temperature of the room.
    """
    found: dict[str, Table | None] = {ROOM: _table(ambient_temperature=[job.conditions.ambient])}
    winding, insulation = job.readings.winding, job.readings.insulation
    if winding is not None and winding.cold is not None:
        cold = winding.cold
        found[COLD] = _table(winding_resistance=[cold.resistance], winding_temperature=[cold.temperature])
    if winding is not None and winding.hot is not None:
        hot = winding.hot
        found[HOT] = _table(winding_resistance=[hot.resistance], ambient_temperature=[hot.ambient])
    if insulation is not None:
        found[INSULATION] = _table(
            insulation_resistance=[insulation.at_1_min, insulation.at_10_min],
            winding_temperature=[insulation.temperature, None],
        )
    return {name: table for name, table in found.items() if table is not None}


def every_table(job: Job, readings: Readings) -> dict[str, Table]:
    """The load test, every other table, and the readings that stand alone, by name. [SI]"""
    return {"load_test": readings.load_test, **readings.others, **single_readings(job)}


def _table(**columns: list[float | None]) -> Table | None:
    read = {name: np.array(values, dtype=np.float64) for name, values in columns.items()}
    known: Mapping[str, np.ndarray[tuple[int, ...], np.dtype[np.float64]]] = {
        name: values for name, values in read.items() if np.isfinite(values).any()
    }
    rows = next(iter(read.values())).size
    return Table(known, ("",) * rows) if known else None
