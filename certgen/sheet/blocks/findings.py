"""What was compared with what, under which rule, and how it came out."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.assessment.decision import ACCEPTED, CONDITIONAL
from certgen.assessment.results import Finding
from certgen.quantity import Quantity
from certgen.sheet.content import Content
from certgen.sheet.figures import MISSING, Form, both, decimals_of, forms, kind_of, number, plain, spread_text
from certgen.sheet.fonts import BOLD
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.table import LEFT, RIGHT, Column, Table, set_table

_MOST_EXTRA_DECIMALS = 3
#: Stands behind the outcome of a finding on which the verdict does not rest.
_INFORMATION = "*"


def findings(content: Content, settings: Titled) -> Block:
    """The findings as a table, each with its rule; those for information that are met in one sentence below it."""
    listed = [finding for finding in content.results.findings if not _met_information(finding)]
    general = content.results.conditions.decision_rule
    rows = [(*_cells(finding, content.units), _rule(finding, general)) for finding in listed]
    marked = any(not finding.matters for finding in listed)
    met = met_information(content)

    def set_findings(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not rows and not met:
            flow.text("Nothing was compared: the plate declares nothing that this test could check.")
        if rows:
            flow.place(set_table(Table(_columns(rows), ruled=True), area))
        if marked:
            flow.text(f"{_INFORMATION} for information, not part of the verdict.", ink="muted")
        if met:
            flow.text(met, ink="muted")
        return flow.done()

    return Block(set_findings)


def _columns(rows: Sequence[tuple[str, ...]]) -> tuple[Column, ...]:
    titles, declared, required, measured, units, outcomes, rules = zip(*rows, strict=True)
    return (
        Column(("Quantity",), titles, align=LEFT, share=1.0),
        Column(("Declared",), declared, align=RIGHT),
        Column(("Required",), required, align=RIGHT),
        Column(("Measured",), measured, align=RIGHT),
        Column(("Unit",), units, align=LEFT),
        Column(("Outcome",), outcomes, align=LEFT, face=BOLD),
        Column(("Rule and remarks",), rules, align=LEFT, share=1.0),
    )


def _met_information(finding: Finding) -> bool:
    return not finding.matters and finding.outcome == "pass"


def met_information(content: Content) -> str:
    """The findings for information that are met, in one sentence; empty where there are none."""
    parts = []
    for finding in content.results.findings:
        if _met_information(finding):
            title, _, required, measured, sign, _ = _cells(finding, content.units)
            parts.append(f"{title} {measured}{f' {sign}' if sign else ''} ({required})")
    return f"For information, met: {'; '.join(parts)}." if parts else ""


def _cells(finding: Finding, units: str) -> tuple[str, ...]:
    largest = max((abs(value) for value in (finding.measured, finding.declared) if value is not None), default=0.0)
    shown = forms(kind_of(finding.unit, f"{finding.id} {finding.title.lower().replace(' ', '_')}"), units, largest)
    texts = [_in_form(finding, form, spread=form is shown[0]) for form in shown]
    declared, required, measured = (both(parts) for parts in zip(*texts, strict=True))
    sign = both([form.sign for form in shown])
    mark = "" if finding.matters else f" {_INFORMATION}"
    return finding.title, declared, required, measured, sign, f"{finding.outcome}{mark}"


def _in_form(finding: Finding, form: Form, *, spread: bool) -> tuple[str, str, str]:
    """Declared, required and measured in one unit, the last with its uncertainty where wanted."""
    declared = MISSING if finding.declared is None else plain(form.value(finding.declared))
    low, high = (finding.required.low, finding.required.high) if finding.required else (None, None)
    bounds = [None if bound is None else form.value(bound) for bound in (low, high)]
    measured = None if finding.measured is None else form.value(finding.measured)
    decimals = _telling_decimals(measured, bounds, _decimals(finding, form))
    shown = MISSING if measured is None else number(measured, decimals)
    if spread and measured is not None and finding.expanded_uncertainty:
        shown += f" ± {spread_text(_quantity(finding), form, decimals)}"
    return declared, _required(bounds, decimals), shown


def _required(bounds: list[float | None], decimals: int) -> str:
    low, high = (None if bound is None else number(bound, decimals) for bound in bounds)
    if low is not None and high is not None:
        return f"{low} to {high}"
    if low is not None:
        return f"≥ {low}"
    return MISSING if high is None else f"≤ {high}"


def _decimals(finding: Finding, form: Form) -> int:
    """Decimals of a finding's figures: those of its uncertainty, else those of its quantity."""
    if finding.measured is not None and finding.expanded_uncertainty:
        return decimals_of([_quantity(finding)], form)
    bounds = (finding.required.low, finding.required.high) if finding.required else ()
    return form.places(form.value(value) for value in (finding.measured, *bounds) if value is not None)


def _quantity(finding: Finding) -> Quantity:
    return Quantity(finding.measured or 0.0, finding.unit, finding.expanded_uncertainty)


def _telling_decimals(measured: float | None, bounds: list[float | None], decimals: int) -> int:
    """Decimals at which the printed figures stand to each other as the true ones do."""
    if measured is None:
        return decimals
    for extra in range(_MOST_EXTRA_DECIMALS + 1):
        if all(_same_order(measured, bound, decimals + extra) for bound in bounds if bound is not None):
            return decimals + extra
    return decimals


def _same_order(measured: float, bound: float, decimals: int) -> bool:
    shown, limit = round(measured, decimals), round(bound, decimals)
    return (measured < bound) == (shown < limit) and (measured > bound) == (shown > limit)


def _rule(finding: Finding, general: str) -> str:
    """Where the limit comes from, and what else must be known."""
    parts = [finding.source, finding.note]
    if finding.outcome in CONDITIONAL and finding.false_decision_probability is not None:
        wrong = "accept" if finding.outcome in ACCEPTED else "reject"
        parts.append(f"probability of false {wrong} {finding.false_decision_probability:.0%}".replace("%", " %"))
    if finding.decision_rule and finding.decision_rule.partition(":")[0].lower() not in general.lower():
        parts.append(f"decision rule: {finding.decision_rule}")
    return "; ".join(part.rstrip(".") for part in parts if part)
