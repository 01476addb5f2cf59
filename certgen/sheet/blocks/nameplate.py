"""What the plate declares, beside what the test found at the point that leads the page."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from certgen.job.model import Nameplate
from certgen.job.plate_ratings import ratings_reported
from certgen.messages.format import (
    MISSING,
    Form,
    PlateFigures,
    both,
    coefficient,
    column,
    forms,
    kind_of,
    single,
    with_sign,
)
from certgen.quantity import Quantity
from certgen.results.changing_speed import coasting_part
from certgen.sheet.content import Content, headline_point
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting, side_by_side
from certgen.sheet.engine.table import LEFT, RIGHT, Column, Table, set_pairs, set_table
from certgen.sheet.pdf.fonts import Span
from certgen.sheet.words import Words

if TYPE_CHECKING:
    from certgen.sheet.plan_content import PlanContent

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


def declared(content: Content | PlanContent, plate: Nameplate, name: str, kind: str) -> str | None:
    """A measure of the plate as punched, with its unit: '1.5 kW', '230/400 V', '0.75 kW (partly legible)'.

    ``None`` where the plate has none. Several values in one place keep their digits and their unit; of one alone that in
    the second system of units stands in brackets.
    """
    punched, values = plate.punched.get(name), _values(plate, name)
    if punched is not None and punched.is_several:
        text = content.says(PlateFigures(punched.written))
    elif values:
        text = both(
            [with_sign(form.plain(form.value(values[0])), form) for form in forms(kind, content.units, values[0])]
        )
    else:
        return None
    partly = punched is not None and punched.partly_legible
    return content.words("plate.partly", value=text) if partly else text


def _values(plate: Nameplate, name: str) -> tuple[float, ...]:
    punched, value = plate.punched.get(name), getattr(plate, name)
    return punched.values if punched is not None else () if value is None else (value,)


def _figures(values: tuple[float, ...], form: Form) -> str:
    return "/".join(form.plain(form.value(value)) for value in values)


def nameplate_rows(content: Content) -> tuple[_Row, ...]:
    """Label, declared, measured and unit for every key of the plate that a test may answer."""
    return tuple(_row(content, name, kind) for name, kind in _ANSWERED if _has_row(content, name))


def _has_row(content: Content, name: str) -> bool:
    """Whether a key stands in the table: declared, and a measure or an answered letter."""
    plate = content.results.nameplate
    if getattr(plate, name) is None and name not in plate.punched:
        return False
    return name not in _LETTERS or getattr(content.results.characteristic, name) is not None


def _row(content: Content, name: str, kind: str) -> _Row:
    plate, label = content.results.nameplate, content.words(f"plate.{name}")
    if not kind:
        letter = getattr(content.results.characteristic, name)
        return label, str(getattr(plate, name)), MISSING if letter is None else str(letter), ""
    measured = _answer(content, name)
    values = _values(plate, name)
    shown = forms(kind, content.units, values[0])
    declared_text = both([_figures(values, form) for form in shown])
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
        plate, label = content.results.nameplate, content.words(f"declared.{name}")
        if _has_row(content, name) and name in _LETTERS:
            continue
        text = declared(content, plate, name, kind) if kind else getattr(plate, name)
        if text is not None:
            parts.append(f"{label} {text}")
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
        basis = [Span(words("plate.measured", how=named.how))] if rows and named else []
        more = [Span(words("plate.also")), Span(f"{beyond}.")] if beyond else []
        ratings = [Span(content.says(rating)) for rating in ratings_reported(content.results.nameplate)]
        if basis or more or ratings:
            flow.spans([*basis, *ratings, *more])
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


# What a page says of run-down and sweep: figures with labels, and sentences below them.


_TERMS = (
    ("constant_term", "torque", ""),
    ("viscous_term", "viscous_torque", "ω"),
    ("windage_term", "windage_torque", "ω²"),
)


def run_down_pairs(content: Content) -> Iterator[tuple[str, str]]:
    """Labels and texts of friction and inertia by run-down."""
    found, units, words = content.results.run_down, content.units, content.words
    if found is None:
        return
    at = single(found.at_speed, "speed", units)
    label = words("run_down.friction")
    if found.coasting != "motor":
        label = words("run_down.friction_of", part=content.says(coasting_part(found.coasting)))
    if found.friction_torque is not None:
        loss = single(found.friction_loss, kind_of("W"), units)
        given = {"torque": single(found.friction_torque, "torque", units), "loss": loss, "speed": at}
        yield (label, words("run_down.at_rated_speed" if found.at_rated_speed else "run_down.at_speed", **given))
    if found.inertia is not None and found.inertia_found:
        yield (words("run_down.inertia"), single(found.inertia, "inertia", units))


def run_down_notes(content: Content) -> Iterator[str]:
    """The terms of friction over speed, and remarks."""
    found = content.results.run_down
    if found is None:
        return
    terms = [(getattr(found, name), kind, of) for name, kind, of in _TERMS]
    known = [f"{_term(term, kind, content)} {of}".rstrip() for term, kind, of in terms if term is not None]
    if known:
        yield content.words("run_down.terms", terms=" + ".join(known))
    yield from (content.says(note) for note in found.notes)


def _term(term: Quantity, kind: str, content: Content) -> str:
    return both([coefficient(term, form) for form in forms(kind, content.units, 1.0)])


def sweep_pairs(content: Content) -> Iterator[tuple[str, str]]:
    """The inertia a sweep was corrected with."""
    found = content.results.sweep
    if found is not None and found.inertia is not None:
        yield (content.words("sweep.inertia"), single(found.inertia, "inertia", content.units))


# Single figures of the machine, as far as the test gives them.


_FIGURES = (
    "synchronous_speed",
    "no_load_speed",
    "no_load_current",
    "rated_torque",
    "locked_rotor_torque",
    "locked_rotor_current",
    "pull_up_torque",
    "pull_up_speed",
    "breakdown_torque",
    "breakdown_speed",
    "peak_power",
    "kva_per_hp",
    "code_letter",
    "design_letter",
    "efficiency_class",
    "gear_ratio",
    "gear_loss",
)
#: Figures that stand in brackets behind others: part of the rated value.
_RATIOS = {
    "locked_rotor_torque": "locked_rotor_torque_ratio",
    "locked_rotor_current": "locked_rotor_current_ratio",
    "pull_up_torque": "pull_up_torque_ratio",
    "breakdown_torque": "breakdown_torque_ratio",
}
#: Words that stand behind others.
_REASONS = {"design_letter": "design_letter_reason", "efficiency_class": "efficiency_class_reason"}
#: Width of one column of figures, in parts of the text size; as many stand side by side as the block has room for.
_COLUMN = 19.0


def characteristic_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts of the figures that are known."""
    found, words = content.results.characteristic, content.words
    pairs = []
    if found.poles is not None:
        basis = f" ({content.says(found.poles_basis)})" if found.poles_basis else ""
        pairs.append((words("machine.poles"), f"{found.poles}{basis}"))
    for name in _FIGURES:
        value = getattr(found, name)
        if value is not None:
            figure = isinstance(value, Quantity)
            text = single(value, kind_of(value.unit, name), content.units) if figure else content.says(value)
            pairs.append((words(f"machine.{name}"), f"{text}{_behind(content, name)}"))
    pairs += [*sweep_pairs(content), *run_down_pairs(content)]
    return tuple(pairs)


def _behind(content: Content, name: str) -> str:
    """What follows a figure: its ratio to the rated value."""
    ratio = getattr(content.results.characteristic, _RATIOS[name]) if name in _RATIOS else None
    if ratio is None:
        return ""
    return f", {content.words('machine.times_rated', ratio=single(ratio, 'index', content.units))}"


def characteristic_notes(content: Content) -> str:
    """What letters and classes rest on, and what an incomplete curve proves."""
    found, says = content.results.characteristic, content.says
    reasons = [
        f"{content.words(f'machine.{name}')} {says(getattr(found, name))}: {says(getattr(found, reason)).rstrip('.')}."
        for name, reason in _REASONS.items()
        if getattr(found, name) is not None and getattr(found, reason)
    ]
    return " ".join([*reasons, *map(says, found.proves)])


def characteristic(content: Content, settings: Titled) -> Block:
    """The figures in as many columns as there is room for."""
    pairs = characteristic_pairs(content)
    notes = " ".join([characteristic_notes(content), *run_down_notes(content)]).strip()

    def set_characteristic(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not pairs:
            flow.text(content.words("machine.none"))
            return flow.done()
        count = min(len(pairs), max(1, int(area.width / (_COLUMN * area.size))))
        length = -(-len(pairs) // count)
        panels = [pairs[start : start + length] for start in range(0, len(pairs), length)]
        parts = [(1.0, partial(set_pairs, panel)) for panel in panels]
        flow.place(side_by_side(area, parts, 2.0 * area.size))
        if notes:
            flow.text(notes)
        return flow.done()

    return Block(set_characteristic)
