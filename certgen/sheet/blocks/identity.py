"""Who the certificate is for, and the motor as it came."""

from __future__ import annotations

from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import MISSING, plain
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting


def identity_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts; what was not given stays on the page as missing."""
    certificate, motor = content.results.certificate, content.results.motor
    gear = content.results.nameplate.gear
    pairs = [
        ("Customer", certificate.issued_to),
        ("Item", motor.type + (" motor" if motor.type != "other" else "")),
        ("Description", motor.description),
        ("Maker, model", ", ".join(part for part in (motor.maker, motor.model) if part)),
        ("Serial number", motor.serial),
        ("Condition", motor.condition),
    ]
    if gear is not None:
        pairs.append(("Gear", f"ratio {plain(gear.ratio)}; speed, torque and power are those of the output shaft"))
    return tuple((label, text or MISSING) for label, text in pairs)


def identity(content: Content, settings: Titled) -> Block:
    """Customer and motor as a list."""
    pairs = identity_pairs(content)

    def set_identity(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_identity)
