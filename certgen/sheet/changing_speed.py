"""What a page says of run-down and sweep: figures with labels, and sentences below them."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.assessment.changing_speed import RunDown, Sweep
from certgen.quantity import Quantity
from certgen.sheet.figures import Form, kind_of, single, single_in

_TERMS = (("constant_term", "", "N·m"), ("viscous_term", "ω", "N·m·s"), ("windage_term", "ω²", "N·m·s²"))
_INERTIA = Form("", "kg·m²", significant=3)


def run_down_pairs(found: RunDown | None, units: str) -> Iterator[tuple[str, str]]:
    """Labels and texts of friction and inertia by run-down."""
    if found is None:
        return
    at = single(found.at_speed, "speed", units)
    where = f"at {'rated speed, ' if found.at_rated_speed else ''}{at}"
    of = "Friction" if found.coasting == "motor" else f"Friction, {found.coasting}"
    if found.friction_torque is not None:
        loss = single(found.friction_loss, kind_of("W"), units)
        yield (f"{of} (run-down)", f"{single(found.friction_torque, 'torque', units)}, {loss} {where}")
    if found.inertia is not None and found.inertia_found:
        yield ("Inertia (run-down)", single_in(found.inertia, _INERTIA))


def run_down_notes(found: RunDown | None) -> Iterator[str]:
    """The terms of friction over speed, and remarks."""
    if found is None:
        return
    terms = [(getattr(found, name), of, sign) for name, of, sign in _TERMS]
    known = [f"{_coefficient(term)} {sign}{f' {of}' if of else ''}" for term, of, sign in terms if term is not None]
    if known:
        yield f"Friction over speed by run-down: {' + '.join(known)}."
    yield from found.notes


def _coefficient(term: Quantity) -> str:
    text = f"{term.value:.3g}"
    if "e" not in text:
        return text
    digits, power = text.split("e")
    return f"{digits}·10{str(int(power)).translate(_RAISED)}"


_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def sweep_pairs(found: Sweep | None) -> Iterator[tuple[str, str]]:
    """The inertia a sweep was corrected with."""
    if found is not None and found.inertia is not None:
        yield ("Inertia in the sweep", single_in(found.inertia, _INERTIA))
