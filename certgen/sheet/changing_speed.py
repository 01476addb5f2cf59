"""What a page says of run-down and sweep: figures with labels, and sentences below them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from certgen.quantity import Quantity
from certgen.sheet.content import Content
from certgen.sheet.figures import Form, Units, kind_of, single, single_in

_TERMS = (("constant_term", "", "N·m"), ("viscous_term", "ω", "N·m·s"), ("windage_term", "ω²", "N·m·s²"))
_INERTIA = Form("", "kg·m²", significant=3)


def run_down_pairs(content: Content) -> Iterator[tuple[str, str]]:
    """Labels and texts of friction and inertia by run-down."""
    found, units, words = content.results.run_down, content.units, content.words
    if found is None:
        return
    at = single(found.at_speed, "speed", units)
    label = words("run_down.friction")
    if found.coasting != "motor":
        label = words("run_down.friction_of", part=words.phrase(found.coasting))
    if found.friction_torque is not None:
        loss = single(found.friction_loss, kind_of("W"), units)
        given = {"torque": single(found.friction_torque, "torque", units), "loss": loss, "speed": at}
        yield (label, words("run_down.at_rated_speed" if found.at_rated_speed else "run_down.at_speed", **given))
    if found.inertia is not None and found.inertia_found:
        yield (words("run_down.inertia"), single_in(found.inertia, _marked(content)))


def run_down_notes(content: Content) -> Iterator[str]:
    """The terms of friction over speed, and remarks."""
    found = content.results.run_down
    if found is None:
        return
    terms = [(getattr(found, name), of, sign) for name, of, sign in _TERMS]
    known = [
        f"{_coefficient(term, content.figures)} {sign}{f' {of}' if of else ''}"
        for term, of, sign in terms
        if term is not None
    ]
    if known:
        yield content.words("run_down.terms", terms=" + ".join(known))
    yield from (content.says(note) for note in found.notes)


def _marked(content: Content) -> Form:
    """The form of an inertia with the decimal mark of the page."""
    return replace(_INERTIA, mark=content.figures.mark, digits=content.figures.digits)


def _coefficient(term: Quantity, figures: Units) -> str:
    text = f"{term.value:.3g}".replace(".", figures.mark)
    if "e" not in text:
        return text
    digits, power = text.split("e")
    return f"{digits}·10{str(int(power)).translate(_RAISED)}"


_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def sweep_pairs(content: Content) -> Iterator[tuple[str, str]]:
    """The inertia a sweep was corrected with."""
    found = content.results.sweep
    if found is not None and found.inertia is not None:
        yield (content.words("sweep.inertia"), single_in(found.inertia, _marked(content)))
