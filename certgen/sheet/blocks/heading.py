"""The head of the sheet: title, shop, certificate number, day of the test, page."""

from __future__ import annotations

from dataclasses import replace

from certgen.sheet.content import Content
from certgen.sheet.fonts import BOLD
from certgen.sheet.layout import Titled
from certgen.sheet.setting import HEAVY, TITLE, Area, Block, Flow, PictureMark, Setting, side_by_side

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
