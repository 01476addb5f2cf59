"""What was compared with what, under which rule, and how it came out."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from certgen.assessment.decision import ACCEPTED, CONDITIONAL, GUARDED_ACCEPTANCE
from certgen.messages.catalogue import Message
from certgen.messages.format import (
    MISSING,
    Form,
    both,
    bound_in,
    column,
    decimals_of,
    forms,
    kind_of,
    not_resolved,
    spread_text,
)
from certgen.quantity import Quantity
from certgen.results.model import Comparison, Difference, Finding
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting, side_by_side
from certgen.sheet.engine.table import LEFT, RIGHT, Column, Table, divided, natural_width, set_table
from certgen.sheet.pdf.fonts import BOLD
from certgen.sheet.words import Words

_MOST_EXTRA_DECIMALS = 3
#: Stands behind the outcome of a finding on which the verdict does not rest.
_INFORMATION = "*"
_NOT_TESTED = "not tested"


def findings(content: Content, settings: Titled) -> Block:
    """The reasons, the findings as a table, each with its rule, and in a sentence what is met for information."""
    listed = [finding for finding in content.results.findings if not _met_information(finding)]
    words, notes = content.words, _notes(listed, content)
    reasons = " ".join(content.says(reason) for reason in content.results.verdict.reasons)
    rows = [(*cells_of(finding, content), _rule(finding, content)) for finding in listed]
    table = Table(_columns(rows, words), ruled=True) if rows else None

    def part(start: int, end: int) -> Block:
        """Some of the rows; the notes stand under the last of them."""

        def set_part(area: Area) -> Setting:
            flow = Flow(area)
            flow.title(f"{settings.title} {words('page.continued')}" if start and settings.title else settings.title)
            if start == 0 and reasons:
                flow.text(reasons)
            if table is None and not notes:
                flow.text(words("findings.none"))
            if table is not None:
                flow.place(set_table(table.part(start, end), area))
            if notes and end == len(rows):
                flow.text(" ".join(notes))
            return flow.done()

        def inner(first: int, last: int) -> Block:
            return part(start + first, start + last)

        return Block(set_part, divide=lambda area, room: divided(inner, end - start, area, room))

    return part(0, len(rows))


def _notes(listed: Sequence[Finding], content: Content) -> list[str]:
    """What stands below the table: the meaning of its signs, and what is met for information."""
    notes = []
    if any(withheld(finding, content) for finding in listed):
        notes.append(content.words("findings.withheld"))
    if any(not finding.decides for finding in listed):
        notes.append(content.words("findings.information", sign=_INFORMATION))
    met = met_information(content)
    return [*notes, met] if met else notes


def withheld(finding: Finding, content: Content) -> bool:
    """Whether an outcome carries no statement, because the test as a whole makes none."""
    none_made = content.results.verdict.outcome == _NOT_TESTED
    return none_made and finding.decides and finding.declared is not None and finding.outcome != _NOT_TESTED


def _columns(rows: Sequence[tuple[str, ...]], words: Words) -> tuple[Column, ...]:
    titles, declared, required, measured, units, outcomes, rules = zip(*rows, strict=True)
    return (
        Column((words("column.quantity"),), titles, align=LEFT, share=1.0),
        Column((words("column.declared"),), declared, align=RIGHT),
        Column((words("column.required"),), required, align=RIGHT),
        Column((words("column.measured"),), measured, align=RIGHT),
        Column((words("column.unit"),), units, align=LEFT),
        Column((words("column.outcome"),), outcomes, align=LEFT, face=BOLD),
        Column((words("column.rule"),), rules, align=LEFT, share=1.0),
    )


def _met_information(finding: Finding) -> bool:
    return not finding.decides and finding.outcome == "pass"


def met_information(content: Content) -> str:
    """The findings for information that are met, in one sentence; empty where there are none."""
    parts = []
    for finding in content.results.findings:
        if _met_information(finding):
            title, _, required, measured, sign, _ = cells_of(finding, content)
            parts.append(f"{title} {measured}{f' {sign}' if sign else ''} ({required})")
    return content.words("findings.met", findings=content.words.joined(parts)) if parts else ""


def cells_of(finding: Finding, content: Content) -> tuple[str, ...]:
    """Title, declared, required, measured, unit and outcome of a finding, as printed."""
    units, words = content.units, content.words
    largest = max((abs(value) for value in (finding.measured, finding.declared) if value is not None), default=0.0)
    kind = kind_of(finding.unit, finding.quantity or finding.id)
    if finding.measured is not None and not_resolved(_quantity(finding), kind):
        largest += finding.expanded_uncertainty or 0.0
    shown = forms(kind, units, largest)
    texts = [_in_form(finding, form, words, spread=form is shown[0]) for form in shown]
    declared, required, measured = (both(parts) for parts in zip(*texts, strict=True))
    sign = both([form.sign for form in shown])
    mark = "" if finding.decides else f" {_INFORMATION}"
    outcome = f"{content.outcome(finding.outcome)}{mark}"
    if withheld(finding, content):
        outcome = f"({outcome})"
    return content.says(finding.title), declared, required, measured, sign, outcome


def _in_form(finding: Finding, form: Form, words: Words, *, spread: bool) -> tuple[str, str, str]:
    """Declared, required and measured in one unit, the last with its uncertainty where wanted."""
    declared = MISSING if finding.declared is None else form.plain(form.value(finding.declared))
    low, high = (finding.required.low, finding.required.high) if finding.required else (None, None)
    bounds = [None if bound is None else form.value(bound) for bound in (low, high)]
    measured = None if finding.measured is None else form.value(finding.measured)
    decimals = _telling_decimals(measured, bounds, _decimals(finding, form))
    shown = MISSING if measured is None else form.number(measured, decimals)
    if not_resolved(_quantity(finding), kind_of(finding.unit)) and measured is not None:
        shown = f"< {bound_in(_quantity(finding), form)}"
    elif spread and measured is not None and finding.expanded_uncertainty:
        shown += f" ± {spread_text(_quantity(finding), form, decimals)}"
    least, most = (None if bound is None else form.number(bound, decimals) for bound in bounds)
    return declared, _required(least, most, words), shown


def _required(low: str | None, high: str | None, words: Words) -> str:
    if low is not None and high is not None:
        return words("page.to", low=low, high=high)
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


def _rule(finding: Finding, content: Content) -> str:
    """Where the limit comes from, and what else must be known."""
    words, general = content.words, content.results.conditions.decision_rule
    parts = [content.says(finding.source), content.says(finding.note)]
    if finding.outcome in CONDITIONAL and finding.false_decision_probability is not None:
        wrong = "findings.false_accept" if finding.outcome in ACCEPTED else "findings.false_reject"
        parts.append(words(wrong, part=f"{finding.false_decision_probability:.0%}".replace("%", " %")))
    if finding.decision_rule and not _is_general(finding.decision_rule, general):
        parts.append(words("findings.decision_rule", rule=content.says(finding.decision_rule)))
    return words.joined(part.rstrip(".") for part in parts if part)


def _is_general(rule: str, general: Message) -> bool:
    """Whether the note on the decision rule covers a finding's own as well."""
    return rule != GUARDED_ACCEPTANCE or general.key == "rule.guarded"


# Two tests of one motor beside each other.


#: Rows from which a table stands in two panels, and the gap between them in parts of the text size.
_LONG, _PANEL_GAP = 6, 3.0


def comparisons(content: Content, settings: Titled) -> Block | None:
    """One table a comparison, side by side; nothing where only one test was made."""
    found = content.results.comparisons
    if not found:
        return None

    def set_comparisons(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        parts = [(1.0, partial(_set_one, one, content)) for one in found]
        flow.place(side_by_side(area, parts, 2.0 * area.size))
        return flow.done()

    return Block(set_comparisons)


def _set_one(found: Comparison, content: Content, area: Area) -> Setting:
    flow = Flow(area)
    flow.text(content.says(found.title), face=BOLD)
    if found.differences:
        flow.place(_set_panels(comparison_table(found, content), area))
    if found.note:
        flow.text(content.says(found.note))
    return flow.done()


def _set_panels(table: Table, area: Area) -> Setting:
    """A long table in two panels side by side, where the area is wide enough for both."""
    gap = _PANEL_GAP * area.size
    room = (area.width - gap) / 2
    if table.rows < _LONG or natural_width(table) * area.size > room:
        return set_table(table, area)
    half = -(-table.rows // 2)
    panels = (table.part(0, half), table.part(half, table.rows))
    return side_by_side(area, [(1.0, partial(set_table, panel)) for panel in panels], gap)


def comparison_table(found: Comparison, content: Content) -> Table:
    """Quantity, the two values, their difference, and the unit."""
    rows = [_row(one, content) for one in found.differences]
    words = content.words
    titles, first, second, change, signs = zip(*rows, strict=True)
    return Table(
        (
            Column((words("column.quantity"),), titles, align=LEFT),
            Column((content.says(found.first),), first, align=RIGHT),
            Column((content.says(found.second),), second, align=RIGHT),
            Column((words("column.change"),), change, align=RIGHT),
            Column((words("column.unit"),), signs, align=LEFT),
        )
    )


def _row(one: Difference, content: Content) -> tuple[str, str, str, str, str]:
    unit, first, second = one.unit, one.first, one.second
    kind = kind_of(unit, one.quantity)
    form = forms(kind, content.units, max(abs(first), abs(second)))[0]
    before, after = column([Quantity(first, unit), Quantity(second, unit)], form)
    difference = form.value(second) - form.value(first)
    places = form.places([form.value(first), form.value(second)])
    change = form.number(difference, places)
    change = f"+{change}" if difference > 0 else change
    if one.message is not None:
        change = content.says(one.message)
    elif one.expanded_uncertainty:
        spread = spread_text(Quantity(second - first, unit, one.expanded_uncertainty), form, places)
        change = f"{change} ± {spread}"
    return content.says(one.title), before, after, change, form.sign
