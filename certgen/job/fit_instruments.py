"""Whether what a rig says of its instruments fits together."""

from __future__ import annotations

from collections.abc import Callable, Container

from certgen.document.build import Dimensioned
from certgen.document.vocabulary import keys_of
from certgen.job.meters import Meter, Meters
from certgen.job.rig import Rig

#: Keeps a mistake at a key: its path, what is wrong, what to write instead.
Tell = Callable[[str, str, str], None]


def scale_quantities(rig: Rig) -> list[tuple[str, Dimensioned | None]]:
    """What a rig states in the unit of its scale, by key, without the loads of its calibration."""
    scale = rig.scale
    if scale is None:
        return []
    listed = [(f"scale.{name}", getattr(scale, name)) for name in ("resolution", "hysteresis", "tolerance")]
    stated = scale.calibration.expanded_uncertainty if scale.calibration else None
    if stated is not None and stated.dimension != "ratio":
        listed.append(("scale.calibration.expanded_uncertainty", stated))
    return [*listed, ("limits.scale", rig.limits.scale if rig.limits else None)]


def check_instruments(rig: Rig, given: Container[str], tell: Tell) -> None:
    """Keep every accuracy that cannot be worked out or is none, and a scale judged twice; ``given`` are the keys written."""
    for name in keys_of(Meters):
        meter: Meter | None = getattr(rig.meters, name) if rig.meters is not None else None
        if meter is not None:
            _check_meter(meter, f"meters.{name}", given, tell)
    for path, one in scale_quantities(rig):
        if one is not None and not one.value > 0.0:
            tell(path, f"{one.value:g} is no size", "write more than zero, or leave the key out")
    _check_applied(rig, tell)
    scale = rig.scale
    if scale is not None and scale.tolerance is not None and scale.calibration is not None:
        what = "a scale with a calibration has its error from there"
        tell("scale.tolerance", what, "keep the calibration or the tolerance")


def _check_applied(rig: Rig, tell: Tell) -> None:
    calibration = rig.scale.calibration if rig.scale is not None else None
    stated = calibration.expanded_uncertainty if calibration is not None else None
    if calibration is None or stated is None:
        return
    path = "scale.calibration.expanded_uncertainty"
    loads = [abs(one.value) for one in calibration.applied or () if one is not None]
    largest = 1.0 if stated.dimension == "ratio" else max(loads, default=stated.value)
    if stated.dimension == "ratio" and not stated.value > 0.0:
        tell(path, f"{stated.value:g} is no size", "write more than zero, or leave the key out")
    elif stated.value > largest:
        tell(path, "this is more than the largest load itself", "write how far the largest load may be off")


def _check_meter(meter: Meter, path: str, given: Container[str], tell: Tell) -> None:
    if meter.range is not None and f"{path}.full_scale" not in given:
        tell(f"{path}.range", "a part of range needs the range", "write its full_scale beside it")
    if meter.digits is not None and f"{path}.resolution" not in given:
        tell(f"{path}.digits", "digits need the size of one", "write the resolution beside them")
