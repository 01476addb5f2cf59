"""What the register keeps of a certificate, and what it knows of one that was entered."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from certgen.archive.store import file_name
from certgen.assessment.statement import headline_of, scope_in_brief
from certgen.document.source import digest
from certgen.messages.catalogue import text_of
from certgen.quantity import Quantity
from certgen.results.model import Point, Results
from certgen.results.points import leading_point

#: Headline values of an entry and the SI unit each is kept in.
HEADLINES = {"voltage": "V", "power": "W", "torque": "N*m", "speed": "rad/s", "current": "A", "efficiency": "1"}


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One certificate, as it goes into the register; headline values in SI, ``None`` where not measured.

    Its fields are columns of the register; those with a default are missing in one of an earlier version.
    """

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
    source_sha256: str  # over the files it is made from
    headline: str = ""  # what the certificate prints large
    scope: str = ""  # what its verdict does not cover, in brief
    set_by: str = ""  # the headline value that defines the others; empty where all were measured

    @property
    def shown_number(self) -> str:
        """The number with its revision from the second on."""
        return shown_number(self.number, self.revision)

    @property
    def words(self) -> str:
        """What a search for text looks through."""
        parts = (self.number, self.maker, self.model, self.serial, self.description, self.issued_to, self.motor_type)
        return " ".join(part for part in parts if part)


@dataclass(frozen=True, kw_only=True)
class Registered(Entry):
    """One certificate as the register knows it: the entry, its file, and what became of it."""

    file: str
    state: str
    entered_at: str
    pdf_sha256: str
    replaced_by: str | None
    replaced_by_revision: int | None
    because: str | None

    @property
    def replacement(self) -> str | None:
        """The certificate that replaces this one, where there is one."""
        if self.replaced_by is None or self.replaced_by_revision is None:
            return None
        return shown_number(self.replaced_by, self.replaced_by_revision)


def shown_number(number: str, revision: int) -> str:
    """A number as people say it: with the revision where it is not the first."""
    return number if revision == 1 else f"{number} revision {revision}"


def certificate_file(number: str, revision: int) -> str:
    """The file name of a certificate: its number, and the revision from the second on."""
    return file_name(number if revision == 1 else f"{number}-revision-{revision}")


def entry_of(results: Results, source_sha256: str, units: str = "si") -> Entry:
    """The entry of one test's results, whose certificate has its number and prints in these units.

    Headline values are those that lead the certificate, also where the test has one load point only.
    """
    certificate, motor = results.certificate, results.motor
    scope = scope_in_brief(results.verdict)
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
        headline=text_of(headline_of(results.verdict), units=units),
        scope="" if scope is None else text_of(scope, units=units),
        set_by=set_value(results),
        **headlines(results),
        source_sha256=source_sha256,
    )


def headlines(results: Results) -> dict[str, float | None]:
    """The headline values by name, in SI."""
    leading = leading_point(results)
    return headlines_of(Point() if leading is None else leading.point, results.nameplate.voltage)


def headlines_of(point: Point, rated_voltage: float | None) -> dict[str, float | None]:
    """The headline values of a point by name, in SI; where no voltage was read there, the plate's [V]."""
    found = {name: getattr(point, "shaft_power" if name == "power" else name) for name in HEADLINES}
    if found["voltage"] is None and rated_voltage is not None:
        found["voltage"] = Quantity(rated_voltage, "V")
    return {name: None if quantity is None else quantity.value for name, quantity in found.items()}


def set_value(results: Results) -> str:
    """The headline value at which the others were read off, by name; empty where all were measured."""
    leading = leading_point(results)
    set_by = "" if leading is None else leading.set_by
    return "power" if set_by == "shaft_power" else set_by


def source_digest(inputs: Mapping[str, str]) -> str:
    """A digest of every file a certificate is made from: names as the job gives them, and what they hold."""
    return digest(json.dumps(sorted(inputs.items()), ensure_ascii=False).encode())
