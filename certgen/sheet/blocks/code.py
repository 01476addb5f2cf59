"""The code to scan: number, outcome and figures as lines of plain text, a word and its value each.

The handbook documents the lines (``docs/sheets.md``); scanners and scripts may rely on them.
"""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import quote

from certgen.messages.format import US, plain
from certgen.quantity import Quantity
from certgen.results.model import IMPOSSIBLE, Point
from certgen.sheet.content import Content, headline_point
from certgen.sheet.engine.block_settings import Code, Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting
from certgen.sheet.pdf.matrix_code import code_mark
from certgen.units import from_si

FIRST_LINE = "certgen tag 2"

#: Headline figures in the order of their lines, each with its units as the unit registry writes them: SI, customary.
FIGURES = (
    ("power", "shaft_power", "W", "hp"),
    ("torque", "torque", "N*m", "lbf*ft"),
    ("speed", "speed", "rpm", "rpm"),
    ("current", "current", "A", "A"),
    ("voltage", "voltage", "V", "V"),
    ("frequency", "frequency", "Hz", "Hz"),
)
#: What the code of a draft says in place of number and verdict.
DRAFT = "draft, no certificate"
#: Longest number in a code, so that it stays small enough to print.
_LONGEST = 80
#: Ends of an address that a number is put behind.
_OPEN = ("/", "=", "#")


def code_text(content: Content) -> str:
    """The text of the code: the shop's address first where it has one, figures in the first system of the page.

    Without a number it is a draft's, and says no more than that.
    """
    certificate = content.results.certificate
    if certificate.number is None:
        return DRAFT
    number = certificate.number
    lines = [FIRST_LINE, f"number {number[:_LONGEST]}"]
    if certificate.shop is not None and certificate.shop.url is not None:
        lines.insert(0, address_of(certificate.shop.url, number))
    if certificate.revision > 1:
        lines.append(f"revision {certificate.revision}")
    lines += [f"tested {certificate.tested_on.isoformat()}", f"verdict {content.results.verdict.outcome}"]
    named = headline_point(content.results)
    lines += [f"{word} {value}" for word, value in _figures(content)] if named else []
    if content.digest is not None:
        lines.append(f"{content.digest.of}-sha256 {content.digest.sha256}")
    return "\n".join(lines)


def address_of(url: str, number: str) -> str:
    """The shop's address, with the number behind it where it ends in a slash, an equals sign or a hash."""
    return f"{url}{quote(number[:_LONGEST], safe='')}" if url.endswith(_OPEN) else url


def _figures(content: Content) -> list[tuple[str, str]]:
    point, customary = supplied_point(content), content.units == US
    found = [(word, getattr(point, name), units[customary]) for word, name, *units in FIGURES]
    return [(word, f"{plain(from_si(item.value, unit))} {unit}") for word, item, unit in found if item is not None]


# The figures of a tag: those that lead the certificate, and the supply they were taken at.


def supplied_point(content: Content) -> Point:
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


# The blocks.


#: Most dots of a printer of 203 an inch to a module of the code on a certificate.
_DOTS = 3
#: Digits of the digest that are printed beside the code of a tag.
_DIGITS = 12


def code(content: Content, settings: Titled) -> Block:
    """Number, outcome and figures as a code to scan."""
    text = code_text(content)

    def set_code(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        mark = code_mark(text, area.width, _DOTS)._replace(alt=content.words("alt.code", text=text))
        flow.place(Setting(mark.height, (mark,)), area.width - mark.width)
        return flow.done()

    return Block(set_code)


def tag_code(content: Content, settings: Code) -> Block:
    """Number, digest and headline figures as a code to scan, and what it holds in words."""
    text, words, digest = code_text(content), content.words, content.digest
    said = words("tag.code")
    if digest is not None:
        said = words(f"tag.code_{digest.of}", digits=_DIGITS, digest=digest.sha256[:_DIGITS])

    def set_code(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        mark = code_mark(text, area.width, settings.dots)._replace(alt=words("alt.code", text=text))
        flow.place(Setting(mark.height, (mark,)), (area.width - mark.width) / 2.0)
        flow.text(said, size=area.smallest, align="centre")
        return flow.done()

    return Block(set_code)
