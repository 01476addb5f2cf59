"""Who made the test and answers for it."""

from __future__ import annotations

from certgen.sheet.content import Content
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.layout import Titled
from certgen.sheet.setting import THIN, Area, Block, Flow, Setting, side_by_side

#: Height left for a hand to sign in, in parts of the body text size.
_ROOM = 2.4


def signature(content: Content, settings: Titled) -> Block:
    """The name, with lines for signature and date."""
    name, words = content.results.certificate.tested_by, content.words

    def line(label: str, area: Area) -> Setting:
        flow = Flow(area)
        flow.space(_ROOM)
        flow.rule(THIN, "ink")
        flow.text(label, ink="muted")
        return flow.done()

    def set_signature(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.spans([Span(words("signature.by"), ink="muted"), Span(name, BOLD)])
        signed, issued = words("signature.signature"), words("signature.date")
        parts = ((1.8, lambda inner: line(signed, inner)), (1.0, lambda inner: line(issued, inner)))
        flow.place(side_by_side(area, parts, 2.0 * area.size))
        return flow.done()

    return Block(set_signature)
