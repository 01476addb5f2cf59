"""Upsets of a log as evidence: each load that was lost, once it is out of every figure."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.messages.catalogue import Message
from certgen.reduction.log.model import LostLoad, ReducedLog
from certgen.results.model import Evidence

LOAD_LOST = "load_lost"
_LOAD_TEST = "load_test"
#: More upsets than this are told together.
_EACH = 5


def log_evidence(log: ReducedLog | None) -> Iterator[Evidence]:
    """What went wrong in a log while it ran, as notes: nothing of it is part of a load point.

    Parameters
    ----------
    log : ReducedLog or None
        The log as load points, with the loads it lost; ``None`` where there is none.

    Yields
    ------
    Evidence
        One for each lost load with its time and length [s], the part of the load that was left [1] and the likely
        cause; one for all where there are many.
    """
    lost = () if log is None else log.lost_loads
    if len(lost) > _EACH:
        seconds = sum(upset.end - upset.start for upset in lost)
        message = Message(
            "evidence.loads_lost", count=len(lost), begin=lost[0].start, end=lost[-1].end, seconds=seconds
        )
        yield Evidence(LOAD_LOST, _LOAD_TEST, None, message)
        return
    for upset in lost:
        yield Evidence(LOAD_LOST, _LOAD_TEST, None, _message(upset))


def _message(upset: LostLoad) -> Message:
    cause = Message(f"lost_load.{upset.cause}")
    key = "evidence.load_lost" if upset.came_back else "evidence.load_lost_for_good"
    seconds = upset.end - upset.start
    return Message(key, begin=upset.start, seconds=seconds, left=upset.part_left, cause=cause)
