"""Whether what a rig says it can stand fits together: heat, envelope, belt and rim."""

from __future__ import annotations

from certgen.job.fit_instruments import Tell
from certgen.job.rig import ROPE, Rig


def check_limits(rig: Rig, tell: Tell) -> None:
    """Keep every limit that contradicts another or has nothing to hold for."""
    _check_heat(rig, tell)
    _check_envelope(rig, tell)
    limits, drive = rig.limits, rig.drive
    if limits is None:
        return
    if limits.belt_power is not None and drive is not None and drive.kind == "direct":
        tell("limits.belt_power", "a direct drive has no belt", "remove it, or write the belt under 'drive'")
    no_drum = rig.absorber is not None and rig.absorber.kind not in (None, ROPE)
    if limits.rim_speed is not None and rig.rim is None and no_drum:
        what = "the radius this speed holds at is not known"
        tell("limits.rim_speed", what, "write it, for example 'rim: {radius: 60 mm}'")


def _check_heat(rig: Rig, tell: Tell) -> None:
    heat = rig.absorber_heat
    if heat is None:
        return
    if heat.short_time is not None and heat.time_constant is not None:
        what = "short_time and time_constant stand together, and each gives the other"
        tell("absorber_heat.time_constant", what, "keep one of them")
    short = heat.short_time.power if heat.short_time is not None else None
    if short is not None and heat.continuous is not None and short <= heat.continuous:
        what = "this is not more than the continuous power"
        tell("absorber_heat.short_time.power", what, "write the greater power that is borne for a short time only")


def _check_envelope(rig: Rig, tell: Tell) -> None:
    source = rig.brake_envelope
    if source is None:
        return
    for name, unit in (("speed", "rpm"), ("torque", "N*m")):
        if name not in source.names:
            what = f"the column '{name}' is missing"
            tell("brake_envelope.columns", what, f"name it with its unit, for example '{name}: {unit}'")
