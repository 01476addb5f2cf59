"""A sweep in the results: what it rests on, how far its runs agree, and what is missing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.changing_speed import Sweep
from certgen.assessment.results import Caution, Comparison, Difference
from certgen.quantity import Quantity, measured
from certgen.reduction.changing_speed import SweepFound, SweepGap
from certgen.reduction.model import Reduction

_RPM = 60.0 / math.tau
#: A gap between falling and rising speed is told as one when it is wider than so many standard uncertainties ...
_SURELY = 4.0
#: ... and than this part of the greatest torque. Common practice, no source.
_CLEAR = 0.03
#: An inertia that would close the gap is named when it differs by so many of its standard deviations.
_TOLD = 3.0


def sweep_of(reduction: Reduction) -> Sweep | None:
    """The sweep behind the load points; ``None`` where they were read one by one."""
    found = reduction.sweep
    if found is None:
        return None
    gap = found.gap
    return Sweep(
        bandwidth=Quantity(found.bandwidth, "Hz"),
        falling_runs=found.falling_runs,
        rising_runs=found.rising_runs,
        greatest_acceleration=Quantity(found.greatest_acceleration, "rad/s^2"),
        inertia=measured(found.inertia, "kg*m^2"),
        inertia_torque=measured(found.inertia_torque, "N*m"),
        gap_speed=None if gap is None else measured(gap.speed, "rad/s"),
        falling_torque=None if gap is None else measured(gap.falling, "N*m"),
        rising_torque=None if gap is None else measured(gap.rising, "N*m"),
        closing_inertia=None if gap is None else _closing(gap),
    )


def _closing(gap: SweepGap) -> Quantity | None:
    if not math.isfinite(gap.closing_inertia) or not gap.closing_inertia > 0.0:
        return None
    if not math.isfinite(gap.closing_deviation):
        return Quantity(gap.closing_inertia, "kg*m^2")
    return Quantity(gap.closing_inertia, "kg*m^2", 2.0 * gap.closing_deviation, 2.0)


def sweep_method(reduction: Reduction) -> Iterator[str]:
    """How the load points were made, in sentences."""
    found = reduction.sweep
    if found is None:
        return
    runs = " and ".join(
        f"{count} with {way} speed"
        for count, way in ((found.falling_runs, "falling"), (found.rising_runs, "rising"))
        if count
    )
    mean = ", each the mean of both ways" if found.falling_runs and found.rising_runs else ""
    yield (
        f"Load points made from a sweep ({runs}{mean}): torque, speed and its rate of change through one low-pass of "
        f"{found.bandwidth:.3g} Hz."
    )
    if found.inertia is not None:
        rotor = "rig and rotor" if found.rotor_included else "the rig alone; the rotor's is not stated"
        yield (
            f"Inertia {found.inertia:.3g} kg·m² ({rotor}) times the rate of change of speed added, up to "
            f"{found.inertia_torque:.2g} N·m at {found.greatest_acceleration:.3g} rad/s²."
        )


def directions_compared(found: SweepFound) -> tuple[Comparison, ...]:
    """Torque and current with falling and with rising speed, where the log has both."""
    gap = found.gap
    if gap is None:
        return ()
    at = f"at {gap.speed * _RPM:.0f} rpm"
    differences = [Difference(f"Torque {at}", "N*m", gap.falling, gap.rising)]
    if math.isfinite(gap.falling_current) and math.isfinite(gap.rising_current):
        differences.append(Difference(f"Current {at}", "A", gap.falling_current, gap.rising_current))
    allowed = "inertia allowed for" if found.inertia is not None else "torque at the absorber, no inertia stated"
    note = f"At the speed where the torques lie furthest apart ({allowed})."
    return (Comparison("Sweep with falling and with rising speed", "falling", "rising", tuple(differences), note),)


def sweep_cautions(reduction: Reduction) -> Iterator[Caution]:
    """A gap between the runs down and up that scatter does not explain."""
    found = reduction.sweep
    gap = None if found is None else found.gap
    if found is None or gap is None or found.inertia is None:
        return
    size = abs(gap.falling - gap.rising)
    greatest = max(abs(float(torque)) for torque in reduction.points.torque)
    if size <= _SURELY * gap.deviation or size <= _CLEAR * greatest:
        return
    text = (
        "The torques of the sweep down and up do not agree: check the inertias, and whether scale or torque sensor "
        "follow slower than the tachometer."
    )
    because = f"{size:.2g} N·m apart at {gap.speed * _RPM:.0f} rpm"
    if _names_inertia(found, gap):
        because += f"; {gap.closing_inertia:.3g} kg·m² would close the gap, {found.inertia:.3g} kg·m² is stated"
    yield Caution("sweep_gap", text, because)


def _names_inertia(found: SweepFound, gap: SweepGap) -> bool:
    off = abs(gap.closing_inertia - (found.inertia or 0.0))
    return gap.closing_inertia > 0.0 and off > _TOLD * gap.closing_deviation


def missing_sweep(reduction: Reduction) -> Iterator[str]:
    """What it takes to have the torque of a sweep, and how much it would be about."""
    found = reduction.sweep
    if found is None or found.inertia is not None:
        return
    part = found.greatest_acceleration * 0.01
    sentence = (
        "Torque of the sweep: inertia is missing in the rig file; speed changed by up to "
        f"{found.greatest_acceleration:.3g} rad/s², so that each 0.01 kg·m² makes {part:.2g} N·m"
    )
    gap = found.gap
    closing = None if gap is None else _closing(gap)
    if closing is not None and gap is not None and closing.value > _TOLD * gap.closing_deviation:
        sentence += f" (runs down and up would agree with {closing.value:.3g} kg·m² in all, the rotor's included)"
    yield f"{sentence}."
