"""The head of the run sheet: title, shop, motor, rig, and whether the rig holds the test."""

from __future__ import annotations

import math

from certgen.sheet.block_settings import Titled
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.plan_content import PlanContent
from certgen.sheet.setting import HEAVY, TITLE, Area, Block, Flow, Setting, side_by_side


def plan_heading(content: PlanContent, settings: Titled) -> Block:
    """Title and shop on the left, rig and page on the right, the outcome below."""
    plan, words = content.plan, content.words
    shop = plan.certificate.shop if plan.certificate is not None else None
    number = plan.certificate.number if plan.certificate is not None else None

    def left(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.large(settings.title, TITLE, ink="accent")
        if shop is not None:
            flow.text(shop.name, face=BOLD, size=area.scaled(1.15))
        return flow.done()

    def right(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(words("plan.rig", rig=plan.rig), face=BOLD, align="right")
        page, pages = area.page
        told = [words("plan.number", number=number)] if number else []
        flow.text(" · ".join([*told, words("page.number", page=page, pages=pages)]), align="right", ink="muted")
        return flow.done()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        flow.place(side_by_side(area, ((1.6, left), (1.0, right)), 2.0 * area.size))
        flow.space(0.3)
        flow.rule(HEAVY, "accent")
        flow.space(0.3)
        flow.spans([Span(_outcome(content), BOLD)], size=area.scaled(1.15))
        return flow.done()

    return Block(set_heading)


def _outcome(content: PlanContent) -> str:
    plan, words = content.plan, content.words
    told = f"{content.says(plan.outcome[0].upper() + plan.outcome[1:])}."
    if plan.greatest_load is None:
        return told
    part = content.figures.number(math.floor(100.0 * plan.greatest_load.value), 0)  # never more than is held
    return f"{told} {words('plan.greatest_load', part=part, by=content.says(plan.greatest_load_by))}"
