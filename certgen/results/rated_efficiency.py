"""The one efficiency of a test that class, levels and finding rest on, with the method it was found by."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.losses import SEGREGATION
from certgen.results.model import Losses
from certgen.results.rated import Judged
from certgen.results.rated_conditions import Corrected, rated_conditions
from certgen.results.uncertainty import uncertainty_of


@dataclass(frozen=True)
class RatedEfficiency:
    """Efficiency at rated power [1], ``nan`` where it was not measured; ``method`` says how it was found."""

    value: float
    uncertainty: Uncertainty | None
    method: Message
    corrected: Corrected  # the same at the plate's voltage and frequency


def by_segregation(losses: Losses | None) -> Quantity | None:
    """Efficiency at rated power by the segregated losses [1], where the readings carry it."""
    if losses is None or losses.method != SEGREGATION or losses.reference_temperature is None:
        return None
    return losses.efficiency


def rated_efficiency(job: Job, judged: Judged, losses: Losses | None) -> RatedEfficiency:
    """Efficiency at rated power: by the segregated losses at their reference temperature, else output over input.

    Parameters
    ----------
    job : Job
        Motor and plate. [SI]
    judged : Judged
        The point at rated power, which there is. [SI]
    losses : Losses or None
        Of the same test.

    Returns
    -------
    RatedEfficiency
        As found, and brought to the plate's voltage. [1]

    References
    ----------
    IEC 60034-2-1:2014, 5.1 and table 2 (method 2-1-1B, summation of losses, is the preferred one for three-phase cage
    motors), from memory.
    """
    assert judged.point is not None  # the caller says why where there is none
    segregated = None if judged.power_ratio is not None else by_segregation(losses)
    if segregated is not None and losses is not None and losses.reference_temperature is not None:
        value, known = segregated.value, uncertainty_of(segregated)
        method = Message("efficiency.by_losses", temperature=losses.reference_temperature.value)
    else:
        value, known = float(judged.point.efficiency[0]), judged.uncertainties.get("efficiency")
        method = Message("efficiency.direct")
    voltage = judged.uncertainties.get("voltage")
    standard = None if voltage is None else voltage.standard
    conditions = rated_conditions(job, judged.point, voltage_standard=standard, working=None)
    corrected = conditions.correct("efficiency", value) if math.isfinite(value) else Corrected(value)
    return RatedEfficiency(value, known, method, corrected)


def with_correction(uncertainty: Uncertainty | None, corrected: Corrected) -> Uncertainty | None:
    """The uncertainty of a figure with that of its correction; nothing where its own is not known."""
    if corrected.standard_uncertainty == 0.0 or uncertainty is None or uncertainty.standard is None:
        return uncertainty
    standard = math.hypot(uncertainty.standard, corrected.standard_uncertainty)
    return replace(uncertainty, standard=standard, expanded=(uncertainty.coverage_factor or 2.0) * standard)
