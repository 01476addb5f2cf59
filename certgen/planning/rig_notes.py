"""What makes the rig's readings doubtful before one is taken: scale, calibration, and the ranges of the meters."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import chain

from certgen.job.meters import Meter
from certgen.job.rig import TORQUE_SENSOR
from certgen.planning.holding import Bench
from certgen.planning.plan import PlannedPoint, Starting
from certgen.planning.scale_reading import scale_line
from certgen.planning.told import figure, own

#: Part of its span below which a scale is used poorly. Common practice, no source.
LEAST_USE = 0.1
#: Part of the torque above which a tare torque is too large to be added from a table. Common practice, no source.
_LARGE_TARE = 0.05
_DAY = 86400.0


def rig_notes(bench: Bench, points: tuple[PlannedPoint, ...], starting: Starting | None) -> tuple[str, ...]:
    """One sentence for each thing that would make a reading doubtful."""
    return tuple(
        chain(_use(bench, points), _calibration(bench, points), _tare(bench, points), _meters(bench, points, starting))
    )


def _use(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[str]:
    span, point = bench.rig.limits.scale, _rated(points)
    if span is None or point is None or point.scale is None or bench.rig.absorber.kind == TORQUE_SENSOR:
        return
    if point.scale.value < LEAST_USE * span.value:
        unit = scale_line(bench.job, bench.rig).unit
        shown, whole = own(point.scale.value, unit), own(span.value, unit)
        yield (
            f"The scale is used below a tenth of its span ({shown} of {whole} at {point.name}): a lighter scale or a "
            "shorter arm measures better."
        )


def _calibration(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[str]:
    scale = bench.rig.scale
    if scale is None or bench.rig.absorber.kind == TORQUE_SENSOR:
        return
    calibration, unit = scale.calibration, scale_line(bench.job, bench.rig).unit
    if calibration is None:
        yield "The scale has no calibration: put known loads on it before the test and write down what it shows."
        return
    most = max(one.value for one in calibration.indicated)
    beyond = [point.name for point in points if point.scale is not None and point.scale.value > most * (1.0 + 1e-9)]
    if beyond:
        upto = own(most, unit)
        yield f"The scale was calibrated up to {upto} only: beyond that its line is not known ({', '.join(beyond)})."
    if calibration.on is not None and calibration.valid is not None:
        due = calibration.on + timedelta(days=int(calibration.valid / _DAY))
        yield f"The calibration of the scale holds until {due.isoformat()}: test before that day, or calibrate it again."


def _tare(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[str]:
    tare, point = bench.rig.tare_torque, _rated(points)
    if tare is None or point is None or point.absorber_torque is None:
        return
    part = tare.value / point.absorber_torque.value
    if part > _LARGE_TARE:
        yield f"The tare torque is {part:.0%} of the torque at {point.name}: free the trunnions, or measure it anew."


def _meters(bench: Bench, points: tuple[PlannedPoint, ...], starting: Starting | None) -> Iterator[str]:
    meters, plate = bench.rig.meters, bench.job.nameplate
    if meters is None:
        return
    currents = [point.current.value for point in points if point.current is not None]
    yield from _range("ammeter", meters.current, max(currents, default=None), "A")
    yield from _range("voltmeter", meters.voltage, plate.voltage, "V")
    rated = plate.power / plate.efficiency if plate.power and plate.efficiency else None
    yield from _range("wattmeter", meters.input_power, rated, "W")
    if bench.rig.absorber.kind == TORQUE_SENSOR:
        torques = [point.absorber_torque.value for point in points if point.absorber_torque is not None]
        yield from _range("torque sensor", meters.torque, max(torques, default=None), "N*m")
    inrush = None if starting is None or starting.least_current is None else starting.least_current.value
    whole = None if meters.current is None else meters.current.full_scale
    if inrush is not None and whole is not None and inrush > whole:
        takes, reads = figure(inrush, "A", 3), figure(whole, "A", 3)
        yield f"Starting takes {takes} or more, the ammeter reads to {reads}: bridge it until the motor runs."


def _range(name: str, meter: Meter | None, expected: float | None, unit: str) -> Iterator[str]:
    whole = None if meter is None else meter.full_scale
    if whole is not None and expected is not None and expected > whole:
        yield f"The {name} reads to {figure(whole, unit, 3)}, {figure(expected, unit, 3)} is expected: take a larger range."


def _rated(points: tuple[PlannedPoint, ...]) -> PlannedPoint | None:
    return next((point for point in points if point.load is not None and abs(point.load.value - 1.0) < 1e-9), None)
