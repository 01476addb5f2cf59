"""Whether shaft and height are those of the frame on the plate: a note on whose plate it may be, no judgement."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.results.model import Caution
from certgen.standards.frames import Frame, frames_named

#: How far a tape or a caliper at the bench may differ from the table. [m] Common practice, no source.
_OF_DIAMETER, _OF_HEIGHT = 0.5e-3, 2e-3
FRAME = "frame"


def frame_cautions(job: Job) -> Iterator[Caution]:
    """A caution where the shaft as measured is none of the frame's; nothing where frame or measures are not known.

    A number that two standards share is questioned only where the shaft fits neither.
    """
    written, shaft = job.motor.frame, job.motor.shaft
    if written is None or shaft is None or (shaft.diameter is None and shaft.height is None):
        return
    frames = frames_named(written)
    if not frames or any(_fits(frame, shaft.diameter, shaft.height) for frame in frames):
        return
    frame = frames[0]
    unlike = tuple(_unlike(frame, shaft.diameter, shaft.height))
    because = Message("because.frame", frame=written, unlike=unlike, source=frame.source)
    yield Caution(FRAME, Message("caution.frame"), because)


def _fits(frame: Frame, diameter: float | None, height: float | None) -> bool:
    return _diameter_fits(frame, diameter) and _height_fits(frame, height)


def _diameter_fits(frame: Frame, diameter: float | None) -> bool:
    return diameter is None or any(abs(diameter - one) <= _OF_DIAMETER for one in frame.diameters)


def _height_fits(frame: Frame, height: float | None) -> bool:
    return height is None or abs(height - frame.height) <= _OF_HEIGHT


def _unlike(frame: Frame, diameter: float | None, height: float | None) -> Iterator[Message]:
    if diameter is not None and not _diameter_fits(frame, diameter):
        yield Message("frame.diameter", measured=diameter, tabled=frame.diameters[-1])
    if height is not None and not _height_fits(frame, height):
        yield Message("frame.height", measured=height, tabled=frame.height)
