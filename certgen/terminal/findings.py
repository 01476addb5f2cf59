"""Findings and compared tests in the terminal: figures with the limits they are held against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from certgen.assessment.decision import ACCEPTED
from certgen.messages.catalogue import Message
from certgen.messages.format import both, column, decimals_of, forms, kind_of, single, spread_text, with_sign
from certgen.quantity import Quantity
from certgen.results.model import FINDING_NOT_TESTED, Comparison, Finding
from certgen.terminal.lines import Line, below, top

#: Chances below this are not given as a number.
_HARDLY_ANY = 0.001


def finding_lines(findings: Sequence[Finding], units: str) -> Iterator[Line]:
    """A line for each finding that was made, and one that names all that could not be; why stands with what is missing."""
    not_made = [finding for finding in findings if finding.outcome == FINDING_NOT_TESTED]
    yield from (Line(_finding(finding, units), 1) for finding in findings if finding not in not_made)
    if not_made:
        yield below("terminal.finding.not_made", titles=tuple(finding.title for finding in not_made))


def _finding(finding: Finding, units: str) -> Message:
    outcome = Message(f"outcome.{finding.outcome.replace(' ', '_')}")
    figures = (_measured(finding, units), *_required(finding, units))
    if not finding.note:
        return Message(
            "terminal.finding.plain", outcome=outcome, title=finding.title, figures=figures, source=finding.source
        )
    return Message(
        "terminal.finding.noted",
        outcome=outcome,
        title=finding.title,
        figures=figures,
        note=finding.note,
        source=finding.source,
    )


def _kind(finding: Finding) -> str:
    if finding.id == "energy_balance":  # output over input
        return "efficiency"
    return kind_of(finding.unit, f"{finding.quantity} {finding.id} {str(finding.title).lower().replace(' ', '_')}")


def _measured(finding: Finding, units: str) -> Message | str:
    """What was measured, its uncertainty, and the chance that the decision is wrong."""
    if finding.measured is None:
        return Message("terminal.finding.not_measured")
    measured = single(Quantity(finding.measured, finding.unit, finding.expanded_uncertainty), _kind(finding), units)
    if finding.false_decision_probability is None:
        return measured
    key = "terminal.finding.false_accept" if finding.outcome in ACCEPTED else "terminal.finding.false_reject"
    return Message(key, measured=measured, chance=_chance(finding.false_decision_probability))


def _chance(probability: float) -> Message:
    """A probability in percent; what is very small is not shown as nothing."""
    if probability < _HARDLY_ANY:
        return Message("terminal.finding.hardly_any_chance")
    return Message("terminal.finding.chance", part=probability)


def _required(finding: Finding, units: str) -> Iterator[Message]:
    limits = finding.required
    if limits is None:
        return
    low, high = (None if limit is None else _limit(limit, finding, units) for limit in (limits.low, limits.high))
    if low is not None and high is not None:
        yield Message("terminal.finding.required_between", low=low, high=high)
    elif low is not None:
        yield Message("terminal.finding.required_least", low=low)
    elif high is not None:
        yield Message("terminal.finding.required_most", high=high)


def _limit(limit: float, finding: Finding, units: str) -> str:
    """A limit as a plate would carry it, in the same unit as what was measured."""
    largest = limit if finding.measured is None else finding.measured
    return both([with_sign(form.plain(form.value(limit)), form) for form in forms(_kind(finding), units, largest)])


def difference_lines(tests: Comparison, units: str) -> Iterator[Line]:
    """What differs between two tests of one motor."""
    yield top("terminal.comparison.tests", title=tests.title, first=tests.first, second=tests.second)
    for pair in tests.differences:
        kind = kind_of(pair.unit, pair.quantity)
        values = (Quantity(pair.first, pair.unit), Quantity(pair.second, pair.unit))
        shown = forms(kind, units, max(abs(pair.first), abs(pair.second)))
        before, after = zip(*([with_sign(cell, form) for cell in column(values, form)] for form in shown), strict=True)
        figures = {"title": pair.title, "first": both(before), "second": both(after)}
        if pair.expanded_uncertainty is None:
            yield below("terminal.comparison.pair", **figures)
            continue
        form = shown[0]
        spread = Quantity(pair.second - pair.first, pair.unit, pair.expanded_uncertainty)
        figures["uncertainty"] = with_sign(spread_text(spread, form, decimals_of([spread], form)), form)
        if pair.message is None:
            yield below("terminal.comparison.change", **figures)
        else:
            yield below("terminal.comparison.no_change", **figures, message=pair.message)
    if tests.note:
        yield Line(tests.note, 1)
