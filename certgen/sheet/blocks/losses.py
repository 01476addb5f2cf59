"""Input power taken apart: the losses at rated load, how they were found, and the efficiency over the load."""

from __future__ import annotations

from certgen.assessment.results import Losses, StrayRegression
from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import column, forms, number, single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.table import Column, Table, set_table

_AT_RATED = (
    ("stator", "stator"),
    ("rotor", "rotor"),
    ("core", "core"),
    ("friction_windage", "friction and windage"),
    ("stray", "stray load"),
)
_TABLE = (
    ("input_power", ("Input",), "electrical_power"),
    ("stator", ("Stator",), "electrical_power"),
    ("core", ("Core",), "electrical_power"),
    ("rotor", ("Rotor",), "electrical_power"),
    ("friction_windage", ("Friction,", "windage"), "electrical_power"),
    ("stray", ("Stray",), "electrical_power"),
    ("shaft_power", ("Shaft", "power"), "shaft_power"),
    ("efficiency", ("Efficiency",), "efficiency"),
)


def losses(content: Content, settings: Titled) -> Block | None:
    """The losses as a list and, where the load was followed, a table; nothing where there are none to tell."""
    found = content.results.losses
    if found is None:
        return None
    pairs, table = loss_pairs(found, content), _table(found, content)

    def set_losses(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        if table is not None:
            flow.space(0.3)
            flow.place(set_table(table, area))
        return flow.done()

    return Block(set_losses)


def loss_pairs(found: Losses, content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts: method, losses at rated load, efficiency, stray-load regression, remarks."""
    pairs = [("Method", f"{found.method}: {found.reason}" if found.reason else found.method)]
    known = [(words, getattr(found, name)) for name, words in _AT_RATED if getattr(found, name) is not None]
    if known:
        texts = [f"{words} {single(item, 'electrical_power', content.units)}" for words, item in known]
        pairs.append(("At rated load", ", ".join(texts)))
    if found.efficiency is not None:
        text = single(found.efficiency, "efficiency", content.units)
        if found.reference_temperature is not None:
            text += f", at {single(found.reference_temperature, 'temperature', content.units)}"
        pairs.append(("Efficiency", text))
    if found.stray_regression is not None:
        pairs.append(("Stray-load fit", regression_text(found.stray_regression)))
    if found.dynamometer_correction is not None:
        pairs.append(("Brake friction", single(found.dynamometer_correction, "torque", content.units)))
    if found.notes:
        pairs.append(("Remarks", " ".join(found.notes)))
    return tuple(pairs)


def regression_text(fit: StrayRegression) -> str:
    """The straight line through residual loss over torque squared, and which rules take it."""
    rules = ", ".join(f"{rule}: {'accepted' if taken else 'not accepted'}" for rule, taken in fit.accepted.items())
    removed = f", load point {fit.removed_row} left out" if fit.removed_row is not None else ""
    return (
        f"slope {fit.slope.value:.4g} W/(N·m)², intercept {number(fit.intercept.value, 1)} W, "
        f"correlation {number(fit.correlation.value, 3)} over {len(fit.rows)} points{removed}; {rules}"
    )


def _table(found: Losses, content: Content) -> Table | None:
    if not found.at_loads:
        return None
    load = tuple(f"{point.load.value:.0%}".replace("%", " %") for point in found.at_loads)
    columns = [Column(("Load",), load)]
    for name, heading, kind in _TABLE:
        items = [getattr(point, name) for point in found.at_loads]
        form = forms(kind, content.units, max(abs(item.value) for item in items))[0]
        columns.append(Column(heading, column(items, form), unit=form.sign))
    return Table(tuple(columns))
