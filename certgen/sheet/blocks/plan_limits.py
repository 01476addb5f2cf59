"""What the rig holds against what is asked of it, and what makes its readings doubtful."""

from __future__ import annotations

from certgen.planning.plan import EXCEEDED, HOLDS, NOT_STATED, RigCheck
from certgen.sheet.block_settings import Titled
from certgen.sheet.figures import MISSING
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.plan_content import PlanContent
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.table import LEFT, RIGHT, Column, Table, set_table


def plan_limits(content: PlanContent, settings: Titled) -> Block:
    """The limits stated as a table; those not stated in a sentence; notes."""
    plan, words = content.plan, content.words
    stated = [one for one in plan.rig_checks if one.outcome != NOT_STATED]
    unstated = [_unstated(one, content) for one in plan.rig_checks if one.outcome == NOT_STATED]

    def set_limits(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if stated:
            flow.place(set_table(_table(stated, content), area))
        if unstated:
            flow.spans([Span(words("plan.not_stated"), BOLD), Span(f"{', '.join(unstated)}.")])
        for note in (*plan.rig_notes, *plan.missing):
            flow.text(content.says(note))
        return flow.done()

    return Block(set_limits)


def _unstated(one: RigCheck, content: PlanContent) -> str:
    """A limit that is not stated, with what would be asked of it."""
    name = content.says(one.name)
    return name if one.asked is None else f"{name} ({content.limit(one.name, one.asked)})"


def _table(stated: list[RigCheck], content: PlanContent) -> Table:
    words = content.words
    return Table(
        (
            Column((words("plan.limit"),), tuple(content.says(one.name) for one in stated), align=LEFT),
            Column((words("plan.asked"),), tuple(content.limit(one.name, one.asked) for one in stated), align=RIGHT),
            Column((words("plan.stated"),), tuple(content.limit(one.name, one.limit) for one in stated), align=RIGHT),
            Column((words("plan.result"),), tuple(_result(one, content) for one in stated), align=LEFT, share=1.0),
        ),
        ruled=True,
    )


def _result(one: RigCheck, content: PlanContent) -> str:
    outcome = content.words(f"plan.outcome.{one.outcome.replace(' ', '_')}")
    if one.outcome == HOLDS:
        return outcome
    place = content.words("plan.at", load=content.says(one.at)) if one.outcome == EXCEEDED and one.at else ""
    note = f": {content.says(one.note)}" if one.note else ""
    return f"{outcome}{' ' if place else ''}{place}{note}" or MISSING
