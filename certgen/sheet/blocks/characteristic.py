"""Single figures of the machine, as far as the test gives them."""

from __future__ import annotations

from functools import partial

from certgen.quantity import Quantity
from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import kind_of, single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting, side_by_side

_LABELS = {
    "synchronous_speed": "Synchronous speed",
    "no_load_speed": "No-load speed",
    "no_load_current": "No-load current",
    "rated_torque": "Rated torque",
    "locked_rotor_torque": "Locked-rotor torque",
    "pull_up_torque": "Pull-up torque",
    "breakdown_torque": "Breakdown torque",
    "breakdown_speed": "Breakdown speed",
    "peak_power": "Peak power",
    "code_letter": "Code letter",
    "design_letter": "Design letter",
    "efficiency_class": "Efficiency class",
}
#: Width of one column of figures, in parts of the text size; as many stand side by side as the block has room for.
_COLUMN = 24.0


def characteristic_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts of the figures that are known."""
    found = content.results.characteristic
    pairs = []
    if found.poles is not None:
        basis = f" ({found.poles_basis})" if found.poles_basis else ""
        pairs.append(("Poles", f"{found.poles}{basis}"))
    for name, label in _LABELS.items():
        value = getattr(found, name)
        if isinstance(value, Quantity):
            pairs.append((label, single(value, kind_of(value.unit, name), content.units)))
        elif value is not None:
            pairs.append((label, str(value)))
    return tuple(pairs)


def characteristic(content: Content, settings: Titled) -> Block:
    """The figures in as many columns as there is room for."""
    pairs = characteristic_pairs(content)

    def set_characteristic(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not pairs:
            flow.text("None: the test gives no single figures of the machine.")
            return flow.done()
        count = min(len(pairs), max(1, int(area.width / (_COLUMN * area.size))))
        length = -(-len(pairs) // count)
        panels = [pairs[start : start + length] for start in range(0, len(pairs), length)]
        parts = [(1.0, partial(set_pairs, panel)) for panel in panels]
        flow.place(side_by_side(area, parts, 2.0 * area.size))
        return flow.done()

    return Block(set_characteristic)
