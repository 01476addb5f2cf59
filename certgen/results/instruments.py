"""The instruments of a test by their papers, and whether their calibration held on the day of the test."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from certgen.job.rig import Rig
from certgen.messages.catalogue import Message

#: How a calibration stands on the day of the test.
IN_FORCE, OUT_OF_DATE, AFTER_THE_TEST = "valid", "out of date", "after the test"
NO_END, NOT_CALIBRATED = "no end stated", "not calibrated"
#: Calibrations that do not hold for the test.
NOT_HOLDING = (OUT_OF_DATE, AFTER_THE_TEST)


@dataclass(frozen=True)
class InstrumentUsed:
    """One instrument with its calibration; ``state`` is that on the day of the test."""

    name: Message | str
    state: str  # valid, out of date, after the test, no end stated, not calibrated
    serial: str = ""
    calibrated_on: date | None = None
    certificate: str = ""
    by: str = ""
    valid_until: date | None = None


def instruments_used(rig: Rig, tested_on: date) -> tuple[InstrumentUsed, ...]:
    """Every instrument the rig lists, and its scale where that was calibrated on a day, as they stood at the test."""
    return (*_listed(rig, tested_on), *_scale(rig, tested_on))


def _listed(rig: Rig, tested_on: date) -> Iterator[InstrumentUsed]:
    for one in rig.instruments:
        yield InstrumentUsed(
            one.name,
            state_of_calibration(one.calibrated_on, one.valid_until, tested_on),
            one.serial or "",
            one.calibrated_on,
            one.certificate or "",
            one.by or "",
            one.valid_until,
        )


def _scale(rig: Rig, tested_on: date) -> Iterator[InstrumentUsed]:
    calibration = None if rig.scale is None else rig.scale.calibration
    if calibration is None or calibration.on is None:
        return
    due = calibration.valid_until
    state = state_of_calibration(calibration.on, due, tested_on)
    name = Message("instruments.scale")
    yield InstrumentUsed(name, state, calibrated_on=calibration.on, valid_until=due)


def state_of_calibration(calibrated_on: date | None, valid_until: date | None, tested_on: date) -> str:
    """How a calibration stands on a day: valid on its last day too."""
    if calibrated_on is None:
        return NOT_CALIBRATED
    if tested_on < calibrated_on:
        return AFTER_THE_TEST
    if valid_until is None:
        return NO_END
    return IN_FORCE if tested_on <= valid_until else OUT_OF_DATE
