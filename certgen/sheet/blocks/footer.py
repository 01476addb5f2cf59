"""What the page is worth and where it came from: scope, program, digests of the files it was made from."""

from __future__ import annotations

from certgen.sheet.content import Content
from certgen.sheet.figures import MISSING
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.layout import Titled
from certgen.sheet.setting import THIN, Area, Block, Flow, Setting

SCOPE = "The results relate only to the item tested."
_DIGITS = 12


def footer(content: Content, settings: Titled) -> Block:
    """The last lines of the page."""
    made = content.results.traceability
    digests = "; ".join(f"{name} {digest[:_DIGITS]}" for name, digest in made.inputs.items())
    origin = f"Made by {made.program} {made.version}"
    if digests:
        origin += f" from (SHA-256, first {_DIGITS} digits): {digests}"

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "accent")
        flow.space(0.25)
        legend = Span(f"{MISSING} not measured, not declared or not stated.", ink="muted")
        flow.spans([Span(SCOPE, BOLD), legend, Span(f"{origin}.", ink="muted")])
        if settings.title:
            flow.text(settings.title, ink="muted")
        return flow.done()

    return Block(set_footer)
