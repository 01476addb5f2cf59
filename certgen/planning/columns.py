"""What is read at each load: one column an instrument of the rig."""

from __future__ import annotations

from certgen.job.meters import Meters
from certgen.job.model import DC, THREE_PHASE
from certgen.job.rig import ROPE, TORQUE_SENSOR
from certgen.planning.holding import Bench
from certgen.planning.plan import ColumnToRead
from certgen.planning.scale_reading import own_unit


def columns_to_read(bench: Bench) -> tuple[ColumnToRead, ...]:
    """Speed, torque, then what the meters of the rig read; volts, amperes and watts where it lists no meters."""
    job, rig = bench.job, bench.rig
    meters = rig.meters
    wanted = [("speed", "rpm"), *_of_torque(bench)]
    if meters is None or meters.voltage is not None:
        wanted.append(("voltage", "V"))
    if meters is None or meters.current is not None:
        lines = job.motor.type == THREE_PHASE
        wanted += [(name, "A") for name in (("current_a", "current_b", "current_c") if lines else ("current",))]
    if job.motor.type != DC:
        wanted += _of_power(meters)
    if meters is not None and meters.frequency is not None and job.motor.type != DC:
        wanted.append(("frequency", "Hz"))
    thermometer = meters is not None and meters.winding_temperature is not None
    degrees = "degF" if job.sheet.units == "us" else "degC"
    wanted.append(("winding_temperature" if thermometer else "frame_temperature", degrees))
    return tuple(ColumnToRead(name, unit) for name, unit in wanted)


def _of_torque(bench: Bench) -> list[tuple[str, str]]:
    unit = own_unit(bench.job, bench.rig)
    kind = bench.rig.absorber.kind
    if kind == TORQUE_SENSOR:
        return [("torque", unit)]
    return [("scale", unit), ("scale_2", unit)] if kind == ROPE else [("scale", unit)]


def _of_power(meters: Meters | None) -> list[tuple[str, str]]:
    if meters is None or meters.input_power is not None:
        return [("input_power", "W")]
    return [("power_factor", "1")] if meters.power_factor is not None else []
