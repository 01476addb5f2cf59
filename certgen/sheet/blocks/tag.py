"""The blocks of a tag: what a buyer asks and a handler must know, to be read at arm's length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from certgen.assessment.statement import headline_of, scope_in_brief
from certgen.messages.format import KINDS, MISSING, plain
from certgen.quantity import Quantity
from certgen.results.model import IMPOSSIBLE, TO_LIFE, Caution, Point
from certgen.sheet.blocks.plan import plate_text
from certgen.sheet.blocks.verdict import headline_of as figure_of
from certgen.sheet.blocks.verdict import set_headlines
from certgen.sheet.content import Content, headline_point, reasons_to_print
from certgen.sheet.engine.block_settings import Code, Titled
from certgen.sheet.engine.setting import HEAVY, Area, Block, Flow, Setting
from certgen.sheet.pdf.fonts import BOLD
from certgen.sheet.pdf.matrix_code import code_mark
from certgen.sheet.words import capital
from certgen.units import from_si

# Which of a test's cautions goes on a tag: the one that decides most to whoever handles the motor.


#: Cautions about people by what they can do to them, the worst first: electric shock, a motor that flies apart or burns,
#: stored charge, what turns, fire, heat, wrong connection. Common practice, no source.
ORDER = (
    "insulation",
    "no_load_speed",
    "current_unbalance",
    "winding_rise",
    "capacitor",
    "start_winding",
    "coasting",
    "rotation",
    "commutation",
    "heat",
    "installation",
)


def main_caution(cautions: Sequence[Caution]) -> Caution | None:
    """The one of the greatest danger to people, among these the first in order; ``None`` where there is none."""
    about_people = [one for one in cautions if one.id in ORDER or one.do_not_energise or one.danger >= TO_LIFE]
    return min(about_people or cautions, key=lambda one: (-one.danger, place_in_order(one)), default=None)


def place_in_order(caution: Caution) -> int:
    """Its place among the cautions about people, behind them all where it is none of them."""
    return ORDER.index(caution.id) if caution.id in ORDER else len(ORDER)


# The figures of a tag: those that lead the certificate, and the supply they were taken at.


def tag_point(content: Content) -> Point:
    """The headline point with voltage and frequency: its own, those of the test, or the plate's."""
    named = headline_point(content.results, content.words)
    point = named.point if named else Point()
    return replace(point, voltage=_voltage(content, point), frequency=_frequency(content, point))


def _voltage(content: Content, point: Point) -> Quantity | None:
    usable = [one for one in content.results.points if IMPOSSIBLE not in one.flags and one.voltage is not None]
    loaded = max(usable, key=lambda one: one.torque.value if one.torque else 0.0, default=Point())
    plate = content.results.nameplate.voltage
    return point.voltage or loaded.voltage or (None if plate is None else Quantity(plate, "V"))


def _frequency(content: Content, point: Point) -> Quantity | None:
    plate = content.results.nameplate.frequency
    known = point.frequency or content.results.conditions.supply_frequency
    return known or (None if plate is None else Quantity(plate, "Hz"))


# What a tag's code holds: lines of plain text, a word and its value each, the same whatever units the page prints.
#
# The handbook documents the lines (``docs/sheets.md``); scanners and scripts may rely on them.


FIRST_LINE = "certgen tag 1"

#: Headline figures in the order of their lines, each with its unit as the unit registry writes it.
FIGURES = (
    ("power", "shaft_power", "W"),
    ("torque", "torque", "N*m"),
    ("speed", "speed", "rpm"),
    ("current", "current", "A"),
    ("voltage", "voltage", "V"),
    ("frequency", "frequency", "Hz"),
)
#: Longest number in a code, so that it stays small enough to print.
_LONGEST = 80


def code_text(content: Content) -> str:
    """The text of the code."""
    certificate = content.results.certificate
    lines = [FIRST_LINE, f"number {(certificate.number or MISSING)[:_LONGEST]}"]
    if certificate.revision > 1:
        lines.append(f"revision {certificate.revision}")
    lines += [f"tested {certificate.tested_on.isoformat()}", f"verdict {content.results.verdict.outcome}"]
    named = headline_point(content.results)
    lines += [f"{word} {value}" for word, value in _figures(content)] if named else []
    if content.digest is not None:
        lines.append(f"{content.digest.of}-sha256 {content.digest.sha256}")
    return "\n".join(lines)


def _figures(content: Content) -> list[tuple[str, str]]:
    point = tag_point(content)
    found = [(word, getattr(point, name), unit) for word, name, unit in FIGURES]
    return [(word, f"{plain(from_si(item.value, unit))} {unit}") for word, item, unit in found if item is not None]


# The blocks of a tag: what a buyer asks and a handler must know, to be read at arm's length.


_FIGURES = ("shaft_power", "torque", "speed", "current", "voltage", "frequency")
#: Text sizes in parts of the body text.
_OUTCOME, _NUMBER, _CAUTION = 2.6, 1.7, 1.15
#: Digits of the digest that are printed beside the code.
_DIGITS = 12


def tag_heading(content: Content, settings: Titled) -> Block:
    """Title, shop, number and day."""
    certificate, words = content.results.certificate, content.words

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        shop = certificate.shop.name if certificate.shop else ""
        flow.text(" · ".join(part for part in (settings.title, shop) if part))
        flow.large(certificate.number or words("heading.no_number"), _NUMBER)
        if certificate.revision > 1:
            flow.text(words("heading.revision", revision=certificate.revision, before=certificate.revision - 1))
        flow.text(words("heading.tested_on", date=certificate.tested_on))
        flow.space(0.2)
        flow.rule(HEAVY)
        return flow.done()

    return Block(set_heading)


def tag_verdict(content: Content, settings: Titled) -> Block:
    """The headline large, what the verdict covers, and its first reason; the others are the certificate's."""
    found, words = content.results.verdict, content.words
    headline, scope = content.says(headline_of(found)), scope_in_brief(found)
    reasons = [content.says(reason) for reason in reasons_to_print(found)]
    more = [words("tag.more_reasons", count=len(reasons) - 1)] if len(reasons) > 1 else []

    def set_verdict(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.text(settings.title)
        flow.large(headline, _OUTCOME)
        if scope is not None:
            flow.text(capital(content.says(scope)), face=BOLD)
        flow.text(" ".join([*reasons[:1], *more]))
        return flow.done()

    return Block(set_verdict)


def tag_figures(content: Content, settings: Titled) -> Block:
    """Power, torque, speed, current, voltage and frequency; what is not known keeps its place but for the frequency."""
    words, point = content.words, tag_point(content)
    named = headline_point(content.results, words)
    shown = _FIGURES if point.frequency is not None else _FIGURES[:-1]
    figures = tuple(figure_of(words(f"tag.{name}"), getattr(point, name), KINDS[name], content.units) for name in shown)

    def set_figures(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(words("verdict.measured", how=named.how) if named else words("verdict.no_point"))
        flow.place(set_headlines(figures, area))
        return flow.done()

    return Block(set_figures)


def tag_motor(content: Content, settings: Titled) -> Block:
    """Kind of motor, maker, model, serial number, and what the plate declares."""
    motor, words = content.results.motor, content.words
    kind = words.phrase(motor.type)
    kind = words("identity.motor", type=kind) if motor.type != "other" else kind
    kind = words("motor.direct_current") if motor.type == "dc" else kind
    declared = plate_text(content, content.results.nameplate)
    marks = ", ".join(part for part in (motor.maker, motor.model) if part)

    def set_motor(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(kind[:1].upper() + kind[1:], face=BOLD)
        for text in (marks, words("tag.serial", serial=motor.serial) if motor.serial else ""):
            if text:
                flow.text(text)
        flow.text(words("tag.plate", declared=declared) if declared else words("plate.none"))
        return flow.done()

    return Block(set_motor)


def tag_caution(content: Content, settings: Titled) -> Block | None:
    """The main caution between heavy rules, and how many more the certificate holds."""
    cautions, words = content.results.cautions, content.words
    main = main_caution(cautions)
    if main is None:
        return None
    more = words("tag.more_cautions", count=len(cautions) - 1) if len(cautions) > 1 else ""

    def set_caution(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(HEAVY)
        flow.space(0.2)
        if settings.title:
            flow.text(settings.title)
        flow.text(content.says(main.text), face=BOLD, size=area.scaled(_CAUTION))
        because = words("page.because", because=content.says(main.because).rstrip("."))
        flow.text(f"{because} {more}".rstrip())
        flow.space(0.2)
        flow.rule(HEAVY)
        return flow.done()

    return Block(set_caution)


def tag_code(content: Content, settings: Code) -> Block:
    """Number, digest and headline figures as a code to scan, and what it holds in words."""
    text, words, digest = code_text(content), content.words, content.digest
    said = words("tag.code")
    if digest is not None:
        said = words(f"tag.code_{digest.of}", digits=_DIGITS, digest=digest.sha256[:_DIGITS])

    def set_code(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        code = code_mark(text, area.width, settings.dots)
        flow.place(Setting(code.height, (code,)), (area.width - code.width) / 2.0)
        flow.text(said, size=area.smallest, align="centre")
        return flow.done()

    return Block(set_code)


def tag_footer(content: Content, settings: Titled) -> Block:
    """That the tag is no certificate."""
    words, made = content.words, content.results.traceability

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(words("tag.footer"), size=area.smallest)
        flow.text(words("footer.made_by", program=made.program, version=made.version), size=area.smallest)
        if settings.title:
            flow.text(settings.title, size=area.smallest)
        return flow.done()

    return Block(set_footer)
