"""Where the run sheet came from."""

from __future__ import annotations

from certgen.sheet.block_settings import Titled
from certgen.sheet.figures import MISSING
from certgen.sheet.fonts import Span
from certgen.sheet.plan_content import PlanContent
from certgen.sheet.setting import THIN, Area, Block, Flow, Setting

_DIGITS = 12


def plan_footer(content: PlanContent, settings: Titled) -> Block:
    """The last lines: what the dash means, program, digests of the files the plan was made from."""
    plan, words = content.plan, content.words
    files = "; ".join(f"{name} {digest[:_DIGITS]}" for name, digest in plan.inputs.items())
    origin = words("footer.made_from", program=plan.program, version=plan.version, digits=_DIGITS, files=files)

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "accent")
        flow.space(0.25)
        flow.spans([Span(words("plan.legend", missing=MISSING), ink="muted"), Span(origin, ink="muted")])
        if settings.title:
            flow.text(settings.title, ink="muted")
        return flow.done()

    return Block(set_footer)
