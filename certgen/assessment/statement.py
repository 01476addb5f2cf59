"""A verdict in words: what is printed large, what it covers, and what contradicts the readings, as messages.

Page, tag, list, register and terminal say a verdict with the same words, which are made here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from certgen.assessment.verdict import CHECKS_IN_PART, NOTE, WITHHOLDS
from certgen.messages.catalogue import Message
from certgen.results.model import (
    CONDITIONAL_PASS,
    FAILED,
    INSULATION,
    NOT_TESTED,
    PASS,
    REACHED,
    Evidence,
    ScopeItem,
    Verdict,
)

#: States that a short scope names, in this order; what was met or not declared needs no word there.
_NAMED_IN_BRIEF = (FAILED, REACHED, NOT_TESTED)


def headline_of(verdict: Verdict) -> Message:
    """What is printed large: the headline, else the word of the outcome."""
    return verdict.headline or Message(f"headline.{verdict.outcome.replace(' ', '_')}")


def of_load_alone(verdict: Verdict) -> bool:
    """Whether a motor is accepted whose insulation was never measured."""
    untested = any(item.subject == INSULATION and item.state == NOT_TESTED for item in verdict.scope)
    return untested and verdict.outcome in (PASS, CONDITIONAL_PASS)


def scope_stated(verdict: Verdict) -> Message | None:
    """What a verdict covers in one line; ``None`` where that is not known.

    A pass whose insulation was never measured begins with its headline and says that it is of the load test alone.
    """
    if not verdict.scope:
        return None
    if of_load_alone(verdict):
        first = sorted(verdict.scope, key=lambda item: item.subject != INSULATION)
        return Message("scope.load_test_only", headline=headline_of(verdict), items=tuple(map(_stated, first)))
    return Message("scope.stated", items=tuple(map(_stated, verdict.scope)))


def _stated(item: ScopeItem) -> Message:
    subject, state = _subject(item), _state(item.state)
    if item.detail is not None and item.detail.key == CHECKS_IN_PART:
        return Message("scope.item_in_part", subject=subject, detail=item.detail)
    if item.detail is None:
        return Message("scope.item", subject=subject, state=state)
    return Message("scope.item_with_detail", subject=subject, state=state, detail=item.detail)


def _subject(item: ScopeItem) -> Message:
    in_part = item.detail is not None and item.detail.key == CHECKS_IN_PART
    return Message(f"scope.{item.subject}_in_part" if in_part else f"scope.{item.subject}")


def _state(state: str) -> Message:
    return Message(f"scope.state.{state.replace(' ', '_')}")


def scope_in_brief(verdict: Verdict) -> Message | None:
    """What a verdict does not cover, or what failed, as short as a line of a list; ``None`` where scope is not known."""
    if not verdict.scope:
        return None
    parts = tuple(_groups(verdict.scope))
    if of_load_alone(verdict):
        return Message("scope.load_test_only_in_brief", parts=parts)
    return Message("scope.in_brief", parts=parts) if parts else Message("scope.all_met")


def _groups(scope: Iterable[ScopeItem]) -> Iterator[Message]:
    for state in _NAMED_IN_BRIEF:
        subjects = tuple(Message("scope.subject", subject=_subject(item)) for item in scope if item.state == state)
        if subjects:
            yield Message("scope.group", subjects=subjects, state=_state(state))


def contradictions(evidence: Iterable[Evidence]) -> tuple[Message, ...]:
    """What speaks against the readings, each with the likely slip; what withholds the verdict comes first."""
    against = [entry for entry in evidence if entry.effect != NOTE]
    return tuple(map(with_suggestion, sorted(against, key=lambda entry: entry.effect != WITHHOLDS)))


def with_suggestion(entry: Evidence) -> Message:
    """What contradicts what, and behind it the slip that would explain it."""
    if entry.suggests is None:
        return entry.message
    return Message("evidence.with_suggestion", message=entry.message, suggests=entry.suggests)
