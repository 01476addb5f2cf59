"""Input power taken apart: the losses at rated load, how they were found, and the efficiency over the load."""

from __future__ import annotations

from functools import partial

from certgen.assessment.results import Losses, StrayRegression
from certgen.physics.uncertainty import round_with
from certgen.quantity import Quantity
from certgen.sheet.content import Content
from certgen.sheet.figures import column, forms, number, single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting, side_by_side
from certgen.sheet.table import Column, Table, set_table

#: Width of the table to that of the words beside it.
_TABLE_SHARE = 1.15
_AT_RATED = (
    ("stator", "stator"),
    ("rotor", "rotor"),
    ("core", "core"),
    ("friction_windage", "friction and windage"),
    ("stray", "stray load"),
    ("constant", "core, friction and windage together"),
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
    """The losses over the load beside how they were found; nothing where they were not told apart."""
    found = content.results.losses
    if found is None or found.stator is None:
        return None
    table, words = _table(found, content), loss_text(found, content)

    def set_losses(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if table is None:
            flow.place(set_words(area))
        else:
            parts = ((_TABLE_SHARE, partial(set_table, table)), (1.0, set_words))
            flow.place(side_by_side(area, parts, 2.0 * area.size))
        return flow.done()

    def set_words(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(words)
        return flow.done()

    return Block(set_losses)


def loss_text(found: Losses, content: Content) -> str:
    """Method, losses at rated load where no table shows them, stray-load regression, brake friction, remarks."""
    method = f"{found.method}: {found.reason}" if found.reason else found.method
    sentences = [f"{method[:1].upper()}{method[1:]}."]
    if not found.at_loads:
        known = [(words, getattr(found, name)) for name, words in _AT_RATED if getattr(found, name) is not None]
        texts = [f"{words} {single(item, 'electrical_power', content.units)}" for words, item in known]
        sentences.append(f"At rated load: {', '.join(texts)}.")
    if found.reference_temperature is not None:
        sentences.append(f"At {single(found.reference_temperature, 'temperature', content.units)}.")
    if found.stray_regression is not None:
        sentences.append(f"Stray-load fit: {regression_text(found.stray_regression)}.")
    return " ".join([*sentences, *found.notes])


def regression_text(fit: StrayRegression) -> str:
    """The straight line through residual loss over torque squared, and which rules take it."""
    rules = ", ".join(f"{rule}: {'accepted' if taken else 'not accepted'}" for rule, taken in fit.accepted.items())
    removed = f", load point {fit.removed_row} left out" if fit.removed_row is not None else ""
    return (
        f"slope {_with_spread(fit.slope, f'{fit.slope.value:.4g}')} W/(N·m)², "
        f"intercept {_with_spread(fit.intercept, number(fit.intercept.value, 1))} W, "
        f"correlation {number(fit.correlation.value, 3)} over {len(fit.rows)} points{removed}; {rules}"
    )


def _with_spread(item: Quantity, alone: str) -> str:
    """A figure with its uncertainty, both to the same decimal; ``alone`` where that is not known."""
    if not item.expanded_uncertainty:
        return alone
    value, spread = round_with(item.value, item.expanded_uncertainty)
    return f"{value.replace('-', '−')} ± {spread}"


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
