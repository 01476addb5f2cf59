"""Head and foot of a sheet: title, shop, number, whom it is for, who answers for it, and what the page is worth."""

from __future__ import annotations

from dataclasses import replace

from certgen.messages.format import MISSING
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import HEAVY, THIN, TITLE, Area, Block, Flow, PictureMark, Setting, side_by_side
from certgen.sheet.engine.table import set_pairs
from certgen.sheet.pdf.fonts import BOLD, Span
from certgen.sheet.words import Words

#: Height of a logo in parts of the body text, and its most of the width.
_LOGO, _LOGO_SHARE = 5.0, 0.25
#: Size of the number in parts of the body text.
_NUMBER = 1.5
#: Width below which the number stands under the title, in parts of the body text.
_NARROW = 34.0


def heading(content: Content, settings: Titled) -> Block:
    """The title with the shop on the left; number, day and page on the right."""
    certificate, words = content.results.certificate, content.words
    shop = certificate.shop

    def left(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.large(settings.title, TITLE, ink="accent")
        if shop is not None:
            flow.text(shop.name, face=BOLD, size=area.scaled(1.15))
            reach = " · ".join(part for part in (", ".join(shop.address), shop.contact) if part)
            if reach:
                flow.text(reach, ink="muted")
        return flow.done()

    def right(area: Area, align: str = "right") -> Setting:
        flow = Flow(area)
        flow.text(words("heading.number"), ink="muted", align=align)
        flow.large(certificate.number or words("heading.no_number"), _NUMBER, align=align)
        if certificate.revision > 1:
            this, before = certificate.revision, certificate.revision - 1
            flow.text(words("heading.revision", revision=this, before=before), align=align)
        number, count = area.page
        day = words("heading.tested_on", date=certificate.tested_on.isoformat())
        flow.text(f"{day} · {words('page.number', page=number, pages=count)}", align=align)
        return flow.done()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        logo = content.logo
        wide = high = 0.0
        if logo is not None:
            high = _LOGO * area.size
            wide = min(high * logo.ratio, _LOGO_SHARE * area.width)
            high = wide / logo.ratio
            flow.marks.append(PictureMark(0.0, 0.0, wide, high, logo))
            wide += 1.5 * area.size
        beside = replace(area, width=area.width - wide)
        if beside.width < _NARROW * area.size:
            flow.place(left(beside), wide)
            flow.y = max(flow.y, high)
            flow.place(right(area, "left"))
        else:
            flow.place(side_by_side(beside, ((2.2, left), (1.0, right)), 2.0 * area.size), wide)
            flow.y = max(flow.y, high)
        flow.space(0.4)
        flow.rule(HEAVY, "accent")
        return flow.done()

    return Block(set_heading)


# Who the certificate is for, and the motor as it came.


def identity_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts; what was not given stays on the page as missing."""
    certificate, motor, words = content.results.certificate, content.results.motor, content.words
    kind = words.phrase(motor.type)
    gear = content.results.nameplate.gear
    pairs = [
        ("customer", certificate.issued_to),
        ("item", words("identity.motor", type=kind) if motor.type != "other" else kind),
        ("description", motor.description),
        ("maker_model", ", ".join(part for part in (motor.maker, motor.model) if part)),
        ("serial", motor.serial),
        ("condition", motor.condition),
    ]
    if gear is not None:
        pairs.append(("gear", words("identity.gear_ratio", ratio=content.figures.plain(gear.ratio))))
    return tuple((words(f"identity.{key}"), text or MISSING) for key, text in pairs)


def identity(content: Content, settings: Titled) -> Block:
    """Customer and motor as a list."""
    pairs = identity_pairs(content)

    def set_identity(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_identity)


# What the page is worth and where it came from: scope, program, digests of the files it was made from.


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


# Who made the test and answers for it.


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


# The head of a sheet about several tests: title, whose they are, page; and its foot.


def list_heading(title: str, lines: tuple[str, ...], shop: str, words: Words) -> Block:
    """Title and lines on the left, shop and page on the right."""

    def left(area: Area) -> Setting:
        flow = Flow(area)
        if title:
            flow.large(title, TITLE, ink="accent")
        for line in lines:
            flow.text(line)
        return flow.done()

    def right(area: Area) -> Setting:
        flow = Flow(area)
        if shop:
            flow.text(shop, face=BOLD, align="right")
        number, count = area.page
        flow.text(words("page.number", page=number, pages=count), align="right", ink="muted")
        return flow.done()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        flow.place(side_by_side(area, ((2.2, left), (1.0, right)), 2.0 * area.size))
        flow.space(0.3)
        flow.rule(HEAVY, "accent")
        return flow.done()

    return Block(set_heading)


def list_footer(sentences: tuple[str, ...]) -> Block:
    """The last lines of each page."""

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "accent")
        flow.space(0.25)
        flow.text(" ".join(sentence for sentence in sentences if sentence), ink="muted")
        return flow.done()

    return Block(set_footer)
