"""What the plate declares, beside what the test found at the point that leads the page."""

from __future__ import annotations

from certgen.quantity import Quantity
from certgen.sheet.content import Content, headline_point
from certgen.sheet.figures import MISSING, both, column, forms, with_sign
from certgen.sheet.fonts import Span
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.table import LEFT, RIGHT, Column, Table, set_table
from certgen.sheet.words import Words

#: Keys of the plate that a test answers, with the kind of quantity.
_ANSWERED = (
    ("power", "shaft_power"),
    ("speed", "speed"),
    ("current", "current"),
    ("voltage", "voltage"),
    ("frequency", "frequency"),
    ("power_factor", "power_factor"),
    ("efficiency", "efficiency"),
    ("service_factor_current", "current"),
    ("design_letter", ""),
    ("code_letter", ""),
)
#: Keys that it does not.
_DECLARED_ONLY = (
    ("poles", ""),
    ("service_factor", "service_factor"),
    ("insulation_class", ""),
    ("design_letter", ""),
    ("code_letter", ""),
    ("duty", ""),
    ("ambient", "temperature"),
)
_LETTERS = ("design_letter", "code_letter")

_Row = tuple[str, str, str, str]


def nameplate_rows(content: Content) -> tuple[_Row, ...]:
    """Label, declared, measured and unit for every key of the plate that a test may answer."""
    return tuple(_row(content, name, kind) for name, kind in _ANSWERED if _has_row(content, name))


def _has_row(content: Content, name: str) -> bool:
    """Whether a key stands in the table: declared, and a measure or an answered letter."""
    if getattr(content.results.nameplate, name) is None:
        return False
    return name not in _LETTERS or getattr(content.results.characteristic, name) is not None


def _row(content: Content, name: str, kind: str) -> _Row:
    declared, label = getattr(content.results.nameplate, name), content.words(f"plate.{name}")
    if not kind:
        letter = getattr(content.results.characteristic, name)
        return label, str(declared), MISSING if letter is None else str(letter), ""
    measured = _answer(content, name)
    shown = forms(kind, content.units, declared)
    declared_text = both([form.plain(form.value(declared)) for form in shown])
    measured_text = both([column([measured], form, spreads=False)[0] for form in shown])
    return label, declared_text, measured_text, both([form.sign for form in shown])


def _answer(content: Content, name: str) -> Quantity | None:
    """What the test says to one measure of the plate."""
    results = content.results
    if name == "service_factor_current":
        return results.at_service_factor.current if results.at_service_factor else None
    named = headline_point(results)
    answer: Quantity | None = getattr(named.point, "shaft_power" if name == "power" else name) if named else None
    return results.conditions.supply_frequency if name == "frequency" and answer is None else answer


def declared_only(content: Content) -> str:
    """What the plate says beyond that, in one sentence; empty where it says nothing more."""
    parts = []
    for name, kind in _DECLARED_ONLY:
        declared, label = getattr(content.results.nameplate, name), content.words(f"declared.{name}")
        if _has_row(content, name) and name in _LETTERS:
            continue
        if declared is not None and kind:
            shown = forms(kind, content.units, declared)
            parts.append(f"{label} {' / '.join(with_sign(form.plain(form.value(declared)), form) for form in shown)}")
        elif declared is not None:
            parts.append(f"{label} {declared}")
    return ", ".join(parts)


def nameplate(content: Content, settings: Titled) -> Block:
    """The plate as a table."""
    rows, beyond = nameplate_rows(content), declared_only(content)
    words = content.words
    named = headline_point(content.results, words)

    def set_nameplate(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not rows and not beyond:
            flow.text(words("plate.none"))
            return flow.done()
        if rows:
            flow.place(set_table(Table(_columns(rows, words)), area))
        basis = [Span(words("plate.measured", how=named.how), ink="muted")] if rows and named else []
        more = [Span(words("plate.also"), ink="muted"), Span(f"{beyond}.")] if beyond else []
        if basis or more:
            flow.spans([*basis, *more])
        return flow.done()

    return Block(set_nameplate)


def _columns(rows: tuple[_Row, ...], words: Words) -> tuple[Column, ...]:
    labels, declared, measured, units = zip(*rows, strict=True)
    return (
        Column((words("column.quantity"),), labels, align=LEFT),
        Column((words("column.declared"),), declared, align=RIGHT),
        Column((words("column.measured"),), measured, align=RIGHT),
        Column((words("column.unit"),), units, align=LEFT),
    )
