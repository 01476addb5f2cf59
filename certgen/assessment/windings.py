"""The windings judged: how far the three pairs differ, by the published limit."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.assessment.decision import ACCEPTED, as_found, decide
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.results.as_found import WindingResistances
from certgen.results.model import Finding, Limits
from certgen.results.uncertainty import uncertainty_of
from certgen.standards.inspection_limits import winding_unbalance_allowed

UNBALANCE = "winding_unbalance"


def winding_findings(job: Job, windings: WindingResistances | None) -> tuple[Finding, ...]:
    """The finding on the unbalance of the three pairs; none where they were not read.

    Coils that lie in one another may differ more: then a greater unbalance condemns nothing and is reported.
    """
    apart = None if windings is None else windings.unbalance
    if apart is None:
        return ()
    limit, source = winding_unbalance_allowed(job.nameplate.voltage)
    concentric = job.readings.winding is not None and job.readings.winding.concentric is True
    decision = as_found(decide(apart.value, Limits(high=limit), uncertainty_of(apart), job.decision_rule))
    return (
        Finding(
            id=UNBALANCE,
            title=Message("finding.winding_unbalance"),
            unit="1",
            measured=apart.value,
            required=Limits(high=limit),
            source=source,
            note=Message("windings.concentric") if concentric else "",
            decides=not concentric or decision["outcome"] in ACCEPTED,
            **decision,
        ),
    )


def windings_in_words(windings: WindingResistances | None) -> Iterator[tuple[Message, Message]]:
    """Label and text of each winding, of their unbalance, and of how they were corrected."""
    if windings is None:
        return
    for one in windings.windings:
        name = Message(f"windings.{one.name}")
        if one.corrected is None:
            yield name, Message("windings.as_read", figure=one.measured)
        else:
            yield name, Message("windings.at_25", figure=one.measured, at_25=one.corrected)
    if windings.unbalance is not None:
        yield Message("windings.label.unbalance"), Message("windings.unbalance", part=windings.unbalance)
    for note in windings.notes:
        yield Message("windings.label.temperature"), note
