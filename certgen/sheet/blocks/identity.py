"""Who the certificate is for, and the motor as it came."""

from __future__ import annotations

from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import MISSING
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting


def identity_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts; what was not given stays on the page as missing."""
    certificate, motor, words = content.results.certificate, content.results.motor, content.words
    kind = words.phrase(motor.type)
    gear = content.results.nameplate.gear
    pairs = [
        ("customer", certificate.issued_to),
        ("item", words("identity.motor", type=kind) if motor.type != "other" else kind),
        ("description", motor.description),
        ("maker_model", ", ".join(part for part in (motor.maker, motor.model) if part)),
        ("serial", motor.serial),
        ("condition", motor.condition),
    ]
    if gear is not None:
        pairs.append(("gear", words("identity.gear_ratio", ratio=content.figures.plain(gear.ratio))))
    return tuple((words(f"identity.{key}"), text or MISSING) for key, text in pairs)


def identity(content: Content, settings: Titled) -> Block:
    """Customer and motor as a list."""
    pairs = identity_pairs(content)

    def set_identity(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_identity)
