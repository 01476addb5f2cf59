"""What the register keeps of one certificate."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from certgen.archive.store import file_name
from certgen.assessment.results import Point, Results
from certgen.digest import digest
from certgen.quantity import Quantity

#: Headline values of an entry and the SI unit each is kept in.
HEADLINES = {"voltage": "V", "power": "W", "torque": "N*m", "speed": "rad/s", "current": "A", "efficiency": "1"}


@dataclass(frozen=True)
class Entry:
    """One certificate, as it goes into the register; headline values in SI, ``None`` where not measured."""

    number: str
    revision: int
    reason: str  # why a revision replaces the one before; empty for the first
    tested_on: str  # ISO date
    tested_by: str
    issued_to: str
    motor_type: str
    maker: str
    model: str
    serial: str
    description: str
    verdict: str
    voltage: float | None
    power: float | None
    torque: float | None
    speed: float | None
    current: float | None
    efficiency: float | None
    inputs: Mapping[str, str]  # file as named -> SHA-256
    source_sha256: str

    @property
    def file(self) -> str:
        """Name of the certificate's file in the archive folder."""
        return certificate_file(self.number, self.revision)

    @property
    def words(self) -> str:
        """What a search for text looks through."""
        parts = (self.number, self.maker, self.model, self.serial, self.description, self.issued_to, self.motor_type)
        return " ".join(part for part in parts if part)


def certificate_file(number: str, revision: int) -> str:
    """The file name of a certificate: its number, and the revision from the second on."""
    return file_name(number if revision == 1 else f"{number}-revision-{revision}")


def entry_of(results: Results, source_sha256: str) -> Entry:
    """The entry of one test's results, whose certificate has its number.

    Headline values are those at rated power, else at rated current, else of the assessed rating.
    """
    certificate, motor = results.certificate, results.motor
    if certificate.number is None:
        raise AssertionError("a certificate is entered after it has its number")
    return Entry(
        number=certificate.number,
        revision=certificate.revision,
        reason=certificate.revision_reason or "",
        tested_on=certificate.tested_on.isoformat(),
        tested_by=certificate.tested_by,
        issued_to=certificate.issued_to or "",
        motor_type=motor.type,
        maker=motor.maker or "",
        model=motor.model or "",
        serial=motor.serial or "",
        description=motor.description or "",
        verdict=results.verdict.outcome,
        **headlines(results),
        inputs=dict(results.traceability.inputs),
        source_sha256=source_sha256,
    )


def headlines(results: Results) -> dict[str, float | None]:
    """The headline values by name, in SI."""
    point = results.at_rated_power or results.at_rated_current or _assessed(results) or Point()
    found = {name: getattr(point, "shaft_power" if name == "power" else name) for name in HEADLINES}
    if found["voltage"] is None and results.nameplate.voltage is not None:
        found["voltage"] = Quantity(results.nameplate.voltage, "V")
    return {name: None if quantity is None else quantity.value for name, quantity in found.items()}


def _assessed(results: Results) -> Point | None:
    rating = results.assessed_rating
    if rating is None or rating.power is None:
        return None
    return Point(shaft_power=rating.power, torque=rating.torque, speed=rating.speed, current=rating.current)


def source_digest(inputs: Mapping[str, str]) -> str:
    """A digest of every file a certificate is made from: names as the job gives them, and what they hold."""
    return digest(json.dumps(sorted(inputs.items()), ensure_ascii=False).encode())
