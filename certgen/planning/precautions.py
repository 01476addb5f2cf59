"""What to see to before power is on. Usual cautions, common practice; local codes and licensed practice decide."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.model import DC, SINGLE_PHASE, UNIVERSAL
from certgen.planning.holding import Bench
from certgen.planning.plan import Precaution


def precautions_of(bench: Bench) -> tuple[Precaution, ...]:
    """The list, people first."""
    return tuple(_precautions(bench))


def _precautions(bench: Bench) -> Iterator[Precaution]:
    job, rig = bench.job, bench.rig
    volts = job.nameplate.voltage
    supply = f"supply of {volts:.0f} V" if volts is not None else "electrical supply"
    yield Precaution(
        "Connection, earthing and protection by licensed practice under the local code; that code stands above this sheet.",
        supply,
    )
    yield Precaution("Supply locked off and proved dead while hands are at terminals, coupling or brake.", supply)
    yield Precaution(
        "Emergency stop within reach, tried before the test; it must cut the motor and, where the motor may race, not "
        "release the brake.",
        "rotating machine",
    )
    yield Precaution("Frame earthed; insulation to the frame tested and good.", "used motor")
    yield Precaution(
        "Motor and brake bolted down, shafts aligned, keys and set screws secured, coupling and belt guarded.",
        f"rig {rig.name}",
    )
    yield Precaution(
        "Eye protection on; hair, sleeves, gloves and cords away from what turns. Nobody stands in line with a rim.",
        "rotating machine",
    )
    if job.motor.type in (UNIVERSAL, DC):
        yield Precaution(
            "The load cannot fall off: brake or belt secured, and somebody at the switch.",
            f"motor type {job.motor.type} may race",
        )
        yield Precaution("No solvent, dust or gas about: brushes spark.", f"motor type {job.motor.type}")
    if job.motor.type == SINGLE_PHASE:
        yield Precaution(
            "Capacitors discharged through a resistor before terminals are touched, before and after.",
            f"motor type {job.motor.type}",
        )
    if rig.tachometer.magnet is not None:
        yield Precaution(
            "The glued magnet pulled at by hand, and nobody in its plane while it turns.", "magnet of the tachometer"
        )
    yield Precaution(
        "Brake, motor and resistors become hot enough to burn; nothing that burns near them, an extinguisher for live "
        "parts at hand.",
        "heat of the load",
    )
    yield Precaution("Two people: one at the switch and meters, one at the brake.", "usual at a brake test")
