"""What the page is worth and where it came from: scope, program, digests of the files it was made from."""

from __future__ import annotations

from certgen.sheet.content import Content
from certgen.sheet.figures import MISSING
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.layout import Titled
from certgen.sheet.setting import THIN, Area, Block, Flow, Setting

_DIGITS = 12


def footer(content: Content, settings: Titled) -> Block:
    """The last lines of the page."""
    made, words = content.results.traceability, content.words
    files = "; ".join(f"{name} {digest[:_DIGITS]}" for name, digest in made.inputs.items())
    version = {"program": made.program, "version": made.version}
    origin = words("footer.made_by", **version)
    if files:
        origin = words("footer.made_from", **version, digits=_DIGITS, files=files)

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "accent")
        flow.space(0.25)
        legend = Span(words("footer.legend", missing=MISSING), ink="muted")
        flow.spans([Span(words("footer.scope"), BOLD), legend, Span(origin, ink="muted")])
        if settings.title:
            flow.text(settings.title, ink="muted")
        return flow.done()

    return Block(set_footer)
