"""Head and foot of a sheet: title, shop, number, whom it is for, who answers for it, and what the page is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from certgen.job.model import CONVERTER, DC, SINGLE_PHASE, THREE_PHASE, UNIVERSAL, Certificate
from certgen.job.plate_ratings import ratings_reported
from certgen.messages.catalogue import Message
from certgen.messages.format import MISSING
from certgen.results.instruments import NOT_HOLDING
from certgen.sheet.blocks.nameplate import declared
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import HEAVY, THIN, TITLE, Area, Block, Flow, PictureMark, Setting, side_by_side
from certgen.sheet.engine.table import LEFT, Column, Table, set_pairs, table_block
from certgen.sheet.pdf.fonts import BOLD, LEADING, REGULAR, Span, width
from certgen.sheet.pdf.structure import HEADING, Tag
from certgen.sheet.pdf.structure import TITLE as TITLE_ROLE
from certgen.sheet.words import Words

#: Height of a logo in parts of the body text, and its most of the width.
_LOGO, _LOGO_SHARE = 4.2, 0.25
#: Sizes in parts of the body text: of the title, the number, and what the motor is.
_TITLE, _NUMBER, _MOTOR = 1.75, 1.45, 1.45
#: Width below which the number stands under the title, in parts of the body text.
_NARROW = 34.0


def heading(content: Content, settings: Titled) -> Block:
    """The title with the shop on the left; number, day and page on the right."""
    certificate, words = content.results.certificate, content.words
    shop = certificate.shop

    def left(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.large(settings.title, _TITLE, ink="title", tag=Tag(TITLE_ROLE))
        if shop is not None:
            reach = " · ".join(part for part in (", ".join(shop.address), shop.contact) if part)
            flow.spans([Span(shop.name, BOLD), *([Span(f"· {reach}")] if reach else [])])
        return flow.done()

    def right(area: Area, align: str = "right") -> Setting:
        flow = Flow(area)
        flow.large(certificate.number or words("heading.without_number"), _NUMBER, align=align)
        number, count = area.page
        for line in joined_lines([*days(certificate, words), words("page.number", page=number, pages=count)], area):
            flow.text(line, align=align)
        if certificate.revision > 1:
            this, before = certificate.revision, certificate.revision - 1
            flow.text(words("heading.revision", revision=this, before=before), face=BOLD, align=align)
        return flow.done()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        logo = content.logo
        wide = high = 0.0
        if logo is not None:
            high = _LOGO * area.size
            wide = min(high * logo.ratio, _LOGO_SHARE * area.width)
            high = wide / logo.ratio
            said = content.words("alt.logo", shop=shop.name if shop is not None else "")
            flow.marks.append(PictureMark(0.0, 0.0, wide, high, logo, said))
            wide += 1.5 * area.size
        beside = replace(area, width=area.width - wide)
        if beside.width < _NARROW * area.size:
            flow.place(left(beside), wide)
            flow.y = max(flow.y, high)
            flow.place(right(area, "left"))
        else:
            flow.place(side_by_side(beside, ((2.2, left), (1.0, right)), 2.0 * area.size), wide)
            flow.y = max(flow.y, high)
        flow.space(0.3)
        flow.rule(HEAVY, "bar")
        return flow.done()

    return Block(set_heading)


def joined_lines(parts: Sequence[str], area: Area) -> list[str]:
    """Parts with a dot between them, in as many lines as they take; none is parted where it fits a line."""
    lines = list(parts[:1])
    for part in parts[1:]:
        longer = f"{lines[-1]} · {part}"
        if width(longer, REGULAR, area.size) <= area.width:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines


def days(certificate: Certificate, words: Words) -> tuple[str, ...]:
    """When the motor came in, was tested, and the certificate was issued, as far as stated."""
    known = (
        ("heading.received_on", certificate.received_on),
        ("heading.tested_on", certificate.tested_on),
        ("heading.issued_on", certificate.issued_on),
    )
    return tuple(words(key, date=day) for key, day in known if day is not None)


# What the motor is, and whom the sheet is for.


#: What of the plate stands in the line that says what the motor is.
_IN_LINE = (("voltage", "voltage"), ("speed", "speed"))
#: What of the plate stands below it.
_BELOW = (
    ("current", "current"),
    ("frequency", "frequency"),
    ("power_factor", "power_factor"),
    ("efficiency", "efficiency"),
    ("service_factor", "service_factor"),
)
_LETTERS = ("insulation_class", "duty", "design_letter", "code_letter")


def motor_line(content: Content) -> str:
    """What the motor is, from its plate: '1.5 kW three-phase motor, 4 poles, 400 V, 1430 rpm'."""
    plate, words = content.results.nameplate, content.words
    called = words(f"motor.{_KINDS[content.results.motor.type]}")
    power = declared(content, plate, "power", "shaft_power")
    if power is not None:
        called = words("motor.rated", power=power, motor=called)
    poles = plate.poles or content.results.characteristic.poles
    parts = [called, words("motor.poles", count=poles) if poles is not None else ""]
    parts += [declared(content, plate, name, kind) or "" for name, kind in _IN_LINE]
    line = ", ".join(part for part in parts if part)
    return line[:1].upper() + line[1:]


#: The kinds of motor by the key of their name.
_KINDS = {
    THREE_PHASE: "three_phase",
    SINGLE_PHASE: "single_phase",
    UNIVERSAL: "universal",
    DC: "direct_current",
    "other": "other",
}


def plate_text(content: Content) -> str:
    """What else the plate says, in one line; that there is none where nothing can be read."""
    plate, words = content.results.nameplate, content.words
    known = [(name, declared(content, plate, name, kind)) for name, kind in _BELOW]
    parts = [words(f"motor.plate.{name}", value=value) for name, value in known if value is not None]
    parts += [words(f"motor.plate.{name}", value=text) for name in _LETTERS if (text := getattr(plate, name))]
    if parts or plate.power is not None or plate.current is not None or plate.punched:
        return ", ".join(parts)
    return words("motor.no_plate")


def identity_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts of what was given; that maker and serial number were not stated stays on the page."""
    certificate, motor, words = content.results.certificate, content.results.motor, content.words
    gear = content.results.nameplate.gear
    ratio = words("identity.gear_ratio", ratio=content.figures.plain(gear.ratio)) if gear is not None else None
    pairs = (
        ("plate", plate_text(content)),
        ("rating", " ".join(map(content.says, ratings_reported(content.results.nameplate)))),
        ("gear", ratio),
        ("maker_model", ", ".join(part for part in (motor.maker, motor.model) if part) or words("motor.not_stated")),
        ("serial", motor.serial or words("motor.not_stated")),
        ("frame", _frame(content)),
        ("description", motor.description),
        ("condition", motor.condition),
        ("customer", certificate.issued_to),
    )
    return tuple((words(f"identity.{key}"), text) for key, text in pairs if text)


def _frame(content: Content) -> str:
    """Frame, mounting, enclosure, cooling, shaft, bearings and rotation in one line; nothing where none is given."""
    motor, words, shaft = content.results.motor, content.words, content.results.motor.shaft
    given = [motor.frame, motor.mounting, motor.enclosure, motor.cooling]
    if shaft is not None and shaft.diameter is not None:
        given.append(words("identity.shaft", diameter=_length(shaft.diameter, content)))
    if shaft is not None and shaft.keyway is not None:
        given.append(words("identity.keyway", width=_length(shaft.keyway, content)))
    given += [motor.bearings and words("identity.bearings", text=motor.bearings), motor.rotation]
    return ", ".join(part for part in given if part)


def _length(metres: float, content: Content) -> str:
    return content.says(Message("identity.length", length=metres))


def identity(content: Content, settings: Titled) -> Block:
    """What the motor is in one bold line, then plate, maker, serial number, condition and customer."""
    pairs, line = identity_pairs(content), motor_line(content)

    def set_identity(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.title(settings.title)
        flow.text(line, face=BOLD, size=area.scaled(_MOTOR), tag=Tag(HEADING))
        flow.space(0.15)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_identity)


# The foot of a certificate: who answers for it, a code to scan, what the page is worth.


#: Height left for a hand to sign in, in parts of the body text size.
_ROOM = 2.0


def authoriser(certificate: Certificate) -> tuple[str, str]:
    """Name and function of who answers for a certificate; the function is empty where it is not stated."""
    return certificate.authorised_by or certificate.tested_by, certificate.function or ""


def signature(content: Content, settings: Titled) -> Block:
    """The name and function of who authorises, with lines for signature and date."""
    certificate, words = content.results.certificate, content.words
    name, function = authoriser(certificate)
    by = words("signature.by")
    if name != certificate.tested_by:
        by = words("signature.tested_by", name=certificate.tested_by)
    day = words("signature.day", date=certificate.issued_on) if certificate.issued_on is not None else ""

    def line(label: str, area: Area, written: str = "") -> Setting:
        flow = Flow(area)
        flow.space(_ROOM - LEADING if written else _ROOM)
        if written:
            flow.text(written)
        flow.rule(THIN, "ink")
        flow.text(label)
        return flow.done()

    def set_signature(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "ink")
        flow.space(0.3)
        flow.title(settings.title)
        flow.spans([Span(by), Span(f"{name}," if function else name, BOLD), *([Span(function)] if function else [])])
        signed, issued = words("signature.signature"), words("signature.date")
        parts = ((1.8, lambda inner: line(signed, inner)), (1.0, lambda inner: line(issued, inner, day)))
        flow.place(side_by_side(area, parts, 1.5 * area.size))
        return flow.done()

    return Block(set_signature)


def _out_of_date(content: Content) -> str:
    """Instruments whose calibration did not hold on the day of the test; nothing where all did."""
    parts = []
    for one in content.results.conditions.calibrations:
        if one.state in NOT_HOLDING:
            state = content.words(f"instruments.state.{one.state.replace(' ', '_')}")
            parts.append(content.words("footer.calibration", name=content.says(one.name), state=state))
    return content.words("footer.calibrations", items=content.words.joined(parts)) if parts else ""


def scope(content: Content, settings: Titled) -> Block:
    """What the results relate to, how the page may be copied, and where the evidence stands."""
    words = content.words

    def set_scope(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "ink")
        flow.space(0.3)
        flow.title(settings.title)
        converter = words("footer.converter") if content.results.conditions.supply == CONVERTER else ""
        said = (
            Span(words("footer.copies")),
            Span(converter, BOLD),
            Span(words("footer.evidence")),
            Span(_out_of_date(content), BOLD),
        )
        flow.spans([Span(words("footer.scope"), BOLD), *(span for span in said if span.text)])
        return flow.done()

    return Block(set_scope)


# The foot of a record, the files it was made from, and its end.


def footer(content: Content, settings: Titled) -> Block:
    """The last lines of every page: scope, what a dash means, the program."""
    made, words = content.results.traceability, content.words
    origin = words("footer.made_by", program=made.program, version=made.version)

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "ink")
        flow.space(0.25)
        legend = Span(words("footer.legend", missing=MISSING))
        flow.spans([Span(words("footer.scope"), BOLD), Span(words("footer.copies")), legend, Span(origin)])
        if settings.title:
            flow.text(settings.title)
        return flow.done()

    return Block(set_footer)


def inputs(content: Content, settings: Titled) -> Block | None:
    """The files the figures were made from, each with its digest."""
    made, words = content.results.traceability, content.words
    if not made.inputs:
        return None
    names, digests = zip(*made.inputs.items(), strict=True)
    columns = (
        Column((words("column.file"),), names, align=LEFT, share=1.0),
        Column((words("column.digest"),), digests, align=LEFT, share=2.0),
    )
    return table_block(settings.title, Table(columns), words("page.continued"))


def end_mark(content: Content, settings: Titled) -> Block:
    """That nothing follows."""
    said = content.words("footer.end", number=content.results.certificate.number or MISSING)

    def set_end(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "ink")
        flow.space(0.25)
        flow.text(said, face=BOLD, align="centre")
        return flow.done()

    return Block(set_end)


# The head of a sheet about several tests: title, whose they are, page; and its foot.


def list_heading(title: str, lines: tuple[str, ...], shop: str, words: Words) -> Block:
    """Title and lines on the left, shop and page on the right."""

    def left(area: Area) -> Setting:
        flow = Flow(area)
        if title:
            flow.large(title, TITLE, ink="title", tag=Tag(TITLE_ROLE))
        for line in lines:
            flow.text(line)
        return flow.done()

    def right(area: Area) -> Setting:
        flow = Flow(area)
        if shop:
            flow.text(shop, face=BOLD, align="right")
        number, count = area.page
        flow.text(words("page.number", page=number, pages=count), align="right")
        return flow.done()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        flow.place(side_by_side(area, ((2.2, left), (1.0, right)), 2.0 * area.size))
        flow.space(0.3)
        flow.rule(HEAVY, "bar")
        return flow.done()

    return Block(set_heading)


def list_footer(sentences: tuple[str, ...]) -> Block:
    """The last lines of each page."""

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "ink")
        flow.space(0.25)
        flow.text(" ".join(sentence for sentence in sentences if sentence))
        return flow.done()

    return Block(set_footer)
