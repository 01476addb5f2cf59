"""Decision rules: what outcome a measured value has against its limits, and how likely that outcome is wrong.

Sources: JCGM 106:2012, clauses 7 and 8; ILAC-G8:09/2019, 4.2.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

from certgen.job.model import SIMPLE
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import OUTCOMES, Finding, Limits

PASS, CONDITIONAL_PASS, CONDITIONAL_FAIL, FAIL = OUTCOMES[:4]
#: Outcomes nearer to a limit than the uncertainty.
CONDITIONAL = (CONDITIONAL_PASS, CONDITIONAL_FAIL)
ACCEPTED = (PASS, CONDITIONAL_PASS)

#: How a finding names the rule it was judged by.
SIMPLE_ACCEPTANCE = "simple acceptance"
GUARDED_ACCEPTANCE = "guarded acceptance"
NOT_STATED = f"{SIMPLE_ACCEPTANCE}: uncertainty not stated"

_SAYS_SIMPLE = "a measured value on or within its limit passes; no guard band (ILAC-G8:09/2019, 4.2.1)"
_SAYS_GUARDED = (
    f"{GUARDED_ACCEPTANCE} with guard band w = U, the expanded uncertainty (95.45 %): conditional where the value is "
    f"nearer to its limit than U; without ±, {SIMPLE_ACCEPTANCE} (ILAC-G8:09/2019, 4.2.3, 4.2.1; JCGM 106:2012, 8.3)"
)


@dataclass(frozen=True)
class Decision:
    """Outcome of one comparison, the rule applied, and the uncertainty it rests on (in the unit of the value).

    ``false_decision_probability`` is that of a false accept where the value was accepted, of a false reject otherwise.
    """

    outcome: str
    rule: str
    expanded_uncertainty: float | None = None
    false_decision_probability: float | None = None


def decide(value: float, limits: Limits, uncertainty: Uncertainty | None, rule: str) -> Decision:
    """The outcome of a measured value by the rule a job asks for.

    Parameters
    ----------
    value : float
        Measured value [any unit].
    limits : Limits
        Lowest and highest value allowed [the same unit].
    doubt : Uncertainty or None
        How sure the value is [the same unit]; ``None``, or one without expanded uncertainty, where that is not known.
    rule : str
        'guarded' (guard band w = U where U is known) or 'simple'.

    Returns
    -------
    Decision
        With the expanded uncertainty and the probability of a false decision wherever these are known.

    References
    ----------
    ILAC-G8:09/2019, 4.2.1 (simple acceptance) and 4.2.3 (four outcomes with a guard band); JCGM 106:2012, 8.2, 8.3.2.
    """
    if uncertainty is None or uncertainty.expanded is None or uncertainty.standard is None:
        return Decision(outcome_of(value, limits), SIMPLE_ACCEPTANCE if rule == SIMPLE else NOT_STATED)
    if rule == SIMPLE:
        outcome, named = outcome_of(value, limits), SIMPLE_ACCEPTANCE
    else:
        outcome, named = guarded_outcome(value, limits, uncertainty.expanded), GUARDED_ACCEPTANCE
    conforms = conformance_probability(value, limits, uncertainty.standard)
    wrong = 1.0 - conforms if outcome in ACCEPTED else conforms
    return Decision(outcome, named, uncertainty.expanded, wrong)


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


def conformance_probability(value: float, limits: Limits, standard_uncertainty: float) -> float:
    """Probability that the quantity itself keeps its limits, the measured value taken as normal about it.

    Limits and standard uncertainty [the unit of the value]. Source: JCGM 106:2012, 7.2 to 7.4.
    """
    if standard_uncertainty == 0.0:
        return 1.0 if _inside(value, limits, 0.0) else 0.0
    spread = NormalDist(value, standard_uncertainty)
    below = 0.0 if limits.low is None else spread.cdf(limits.low)
    above = 0.0 if limits.high is None else NormalDist(-value, standard_uncertainty).cdf(-limits.high)
    return max(0.0, 1.0 - below - above)


def rule_in_words(rule: str, findings: Iterable[Finding]) -> str:
    """The decision rule as the page states it: what was asked for, and what could be applied."""
    if rule == SIMPLE:
        return f"{SIMPLE_ACCEPTANCE}: {_SAYS_SIMPLE}"
    if any(finding.decision_rule == GUARDED_ACCEPTANCE for finding in findings):
        return _SAYS_GUARDED
    return f"{NOT_STATED}; {_SAYS_SIMPLE}"
