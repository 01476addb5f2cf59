"""Decision rules: what outcome a measured value has against its limits, and how likely that outcome is wrong.

Sources: JCGM 106:2012, clauses 7 and 8; ILAC-G8:09/2019, 4.2.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from certgen.job.model import SIMPLE, Job
from certgen.job.plate_ratings import quantity_name
from certgen.messages.catalogue import Message
from certgen.physics.uncertainty import probability_below
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import (
    BETTER,
    CONDITIONAL_FAIL,
    CONDITIONAL_PASS,
    FAIL,
    FINDING_NOT_TESTED,
    PASS,
    Finding,
    Limits,
)
from certgen.standards.criteria import ABOVE, BELOW

#: Outcomes nearer to a limit than the uncertainty.
CONDITIONAL = (CONDITIONAL_PASS, CONDITIONAL_FAIL)
ACCEPTED = (PASS, BETTER, CONDITIONAL_PASS)
#: From best to worst, as far as the verdict goes: better than declared is as good as a pass.
_RANK = {PASS: 0, BETTER: 0, CONDITIONAL_PASS: 1, CONDITIONAL_FAIL: 2, FAIL: 3}

#: How a finding names the rule it was judged by.
SIMPLE_ACCEPTANCE = "simple acceptance"
GUARDED_ACCEPTANCE = "guarded acceptance"
NOT_STATED = f"{SIMPLE_ACCEPTANCE}: uncertainty not stated"


@dataclass(frozen=True)
class Decision:
    """Outcome of one comparison, the rule applied, and the uncertainty it rests on (in the unit of the value).

    ``false_decision_probability`` is that of a false accept where the value was accepted, of a false reject otherwise.
    """

    outcome: str
    rule: str
    expanded_uncertainty: float | None = None
    false_decision_probability: float | None = None


#: A comparison that could not be made.
UNDECIDED = Decision(FINDING_NOT_TESTED, SIMPLE_ACCEPTANCE)


#: Decimals of a probability: of rarer events the shape of the distribution, which is assumed, says all and the test
#: nothing.
_DECIMALS_OF_PROBABILITY = 6


def rank(outcome: str) -> int:
    """How bad an outcome is for the verdict: 0 for a pass, 3 for a fail."""
    return _RANK[outcome]


def worst(outcomes: Iterable[str]) -> str:
    """The worst of some outcomes, as the verdict names it."""
    found = max(outcomes, key=rank)
    return PASS if found == BETTER else found


def decide(
    value: float, limits: Limits, uncertainty: Uncertainty | None, rule: str, *, harmless: str = "none"
) -> Decision:
    """The outcome of a measured value by the rule a job asks for.

    Parameters
    ----------
    value : float
        Measured value [any unit].
    limits : Limits
        Lowest and highest value allowed [the same unit].
    uncertainty : Uncertainty or None
        Of the value [the same unit]; ``None``, or one without expanded uncertainty, where that is not known.
    rule : str
        'guarded' (guard band w = U where U is known) or 'simple'.
    harmless : str
        Side of a two-sided tolerance that harms nobody, 'below' or 'above': beyond it by more than the uncertainty a
        value is 'better'; nearer than that it is a pass.

    Returns
    -------
    Decision
        With the expanded uncertainty and the probability of a false decision wherever these are known.

    References
    ----------
    ILAC-G8:09/2019, 4.2.1 (simple acceptance) and 4.2.3 (four outcomes with a guard band); JCGM 106:2012, 8.2, 8.3.2.
    """
    harmful = _harmful_side(limits, harmless)
    if uncertainty is None or uncertainty.expanded is None or uncertainty.standard is None:
        outcome = _or_better(outcome_of(value, harmful), value, limits, harmless, 0.0)
        return Decision(outcome, SIMPLE_ACCEPTANCE if rule == SIMPLE else NOT_STATED)
    expanded = uncertainty.expanded
    if rule == SIMPLE:
        outcome, named = outcome_of(value, harmful), SIMPLE_ACCEPTANCE
    else:
        outcome, named = guarded_outcome(value, harmful, expanded), GUARDED_ACCEPTANCE
    outcome = _or_better(outcome, value, limits, harmless, expanded)
    freedom = math.inf if uncertainty.degrees_of_freedom is None else uncertainty.degrees_of_freedom
    conforms = conformance_probability(value, harmful, uncertainty.standard, freedom)
    wrong = 1.0 - conforms if outcome in ACCEPTED else conforms
    return Decision(outcome, named, expanded, round(max(0.0, wrong), _DECIMALS_OF_PROBABILITY))


def _harmful_side(limits: Limits, harmless: str) -> Limits:
    """The limits that can fail a motor: those of a two-sided tolerance without its harmless side."""
    if harmless == BELOW and limits.high is not None:
        return Limits(high=limits.high)
    if harmless == ABOVE and limits.low is not None:
        return Limits(low=limits.low)
    return limits


def _or_better(outcome: str, value: float, limits: Limits, harmless: str, margin: float) -> str:
    """'better' in place of a pass for a value clearly beyond the limit on the harmless side."""
    if outcome != PASS:
        return outcome
    below = harmless == BELOW and limits.low is not None and limits.high is not None and value < limits.low - margin
    above = harmless == ABOVE and limits.low is not None and limits.high is not None and value > limits.high + margin
    return BETTER if below or above else outcome


def decide_interval(low: float, high: float, limits: Limits, margin: float, *, harmless: str = "none") -> str:
    """The outcome of a quantity known only to lie between two values [any unit], with a margin on either side.

    A pass needs the whole interval inside the limits, a fail the whole interval outside; else it is conditional, by
    where the middle lies.
    """
    harmful = _harmful_side(limits, harmless)
    ends = (low - margin, high + margin)
    if all(_inside(end, harmful, 0.0) for end in ends):
        return PASS
    outside_low = harmful.low is not None and ends[1] < harmful.low
    outside_high = harmful.high is not None and ends[0] > harmful.high
    if outside_low or outside_high:
        return FAIL
    return CONDITIONAL_PASS if _inside(0.5 * (low + high), harmful, 0.0) else CONDITIONAL_FAIL


def as_found(decision: Decision) -> dict[str, Any]:
    """A decision as the fields of a finding."""
    return {
        "outcome": decision.outcome,
        "decision_rule": decision.rule,
        "expanded_uncertainty": decision.expanded_uncertainty,
        "false_decision_probability": decision.false_decision_probability,
    }


def outcome_of(value: float, limits: Limits) -> str:
    """'pass' or 'fail' by simple acceptance (JCGM 106:2012, 8.2; ILAC-G8:09/2019, 4.2.1: no guard band)."""
    return PASS if _inside(value, limits, 0.0) else FAIL


def guarded_outcome(value: float, limits: Limits, guard_band: float) -> str:
    """One of four outcomes, by where a value lies to its limits and to their guard bands on either side.

    Limits and guard band [the unit of the value]. A tolerance narrower than two guard bands leaves nothing to pass.
    Source: ILAC-G8:09/2019, 4.2.3 for one limit; JCGM 106:2012, 8.3.2, for two.
    """
    if _inside(value, limits, guard_band):
        return PASS
    if _inside(value, limits, 0.0):
        return CONDITIONAL_PASS
    return CONDITIONAL_FAIL if _inside(value, limits, -guard_band) else FAIL


def _inside(value: float, limits: Limits, margin: float) -> bool:
    """Whether a value keeps its limits by at least a margin; below zero, misses them by no more than it."""
    above = limits.low is None or value >= limits.low + margin
    return above and (limits.high is None or value <= limits.high - margin)


def conformance_probability(
    value: float, limits: Limits, standard_uncertainty: float, degrees_of_freedom: float = math.inf
) -> float:
    """Probability that the quantity itself keeps its limits, distributed about the measured value.

    Limits and standard uncertainty [the unit of the value]. Source: JCGM 106:2012, 7.2 to 7.4; Student's distribution
    where the degrees of freedom are finite: JCGM 101:2008, 6.4.9.
    """
    if standard_uncertainty == 0.0:
        return 1.0 if _inside(value, limits, 0.0) else 0.0

    def below(limit: float) -> float:
        return probability_below((limit - value) / standard_uncertainty, degrees_of_freedom)

    too_low = 0.0 if limits.low is None else below(limits.low)
    too_high = 0.0 if limits.high is None else 1.0 - below(limits.high)
    return max(0.0, 1.0 - too_low - too_high)


def rule_in_words(rule: str, findings: Iterable[Finding]) -> Message:
    """The decision rule as the page states it: what was asked for, and what could be applied."""
    if rule == SIMPLE:
        return Message("rule.simple")
    if any(finding.decision_rule == GUARDED_ACCEPTANCE for finding in findings):
        return Message("rule.guarded")
    return Message("rule.not_stated")


def joined(notes: tuple[Message | str, ...]) -> Message | str:
    """Several remarks as one; nothing where there is none."""
    if not notes:
        return ""
    return notes[0] if len(notes) == 1 else Message("finding.notes", notes=notes)


# What rests on a value of the plate that can be read only in part.


#: Keys of the plate that a declared value is made of, where that is not the key of its own name.
_KEYS_OF = {
    "torque": ("power", "speed"),
    "slip": ("speed", "frequency"),
    "service_factor_power": ("power", "service_factor"),
}
_AT_MOST = {PASS: CONDITIONAL_PASS, BETTER: CONDITIONAL_PASS, FAIL: CONDITIONAL_FAIL}


def as_far_as_legible(findings: Iterable[Finding], job: Job, *declared: str) -> tuple[Finding, ...]:
    """Findings that rest on these declared values: conditional at most where one of them is legible only in part."""
    punched = job.nameplate.punched
    keys = [key for value in declared for key in _KEYS_OF.get(value, (value,))]
    partly = next((name for name in keys if name in punched and punched[name].partly_legible), None)
    if partly is None:
        return tuple(findings)
    note = Message("finding.partly_legible", quantity=quantity_name(partly))
    return tuple(
        replace(
            finding,
            outcome=_AT_MOST.get(finding.outcome, finding.outcome),
            note=joined(tuple(text for text in (finding.note, note) if text)),
        )
        for finding in findings
    )
