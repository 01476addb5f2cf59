"""Insulation resistance corrected to 40 degC, polarization index, and the least values that go with the plate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.job.model import FIELD_WINDING, Insulation, Job
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.winding import THERMOPLASTIC, THERMOSETTING, correction_to_40, polarization_index
from certgen.quantity import Quantity, measured
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.reduction.uncertainty.winding_errors import InsulationErrors, insulation_errors
from certgen.results.uncertainty import errors_of, with_errors
from certgen.standards import insulation_limits as limits
from certgen.standards.insulation_limits import LeastInsulation

_ICE_POINT = 273.15  # K
#: Ends of the range over which a resistance is corrected. [K] IEEE Std 43-2013, from memory.
_COLDEST, _HOTTEST = _ICE_POINT + 10.0, _ICE_POINT + 85.0
_INSIDE = 1e-3
#: What a resistance is corrected to. [K]
REFERENCE = _ICE_POINT + 40.0


@dataclass(frozen=True)
class Correction:
    """The factor to 40 degC: ``None`` where it is not known, then with the greatest it could be."""

    factor: float | None
    at_most: float
    text: Message  # how it was corrected, or why not


@dataclass(frozen=True)
class InsulationFigures:
    """One insulation reading, made comparable with its least values; resistances in ohm."""

    read: Insulation
    correction: Correction
    at_1_min: Quantity
    corrected: Quantity | None  # to 40 degC
    polarization_index: Quantity | None
    rated_voltage: float | None  # V; the greatest supply voltage of the test where the plate gives none
    least_resistance: LeastInsulation | None
    least_index: float | None  # None where none is asked
    index_waived: bool  # the resistance is so great that the index says nothing
    resistance_uncertainty: Uncertainty | None  # of the resistance that is compared
    index_uncertainty: Uncertainty | None
    notes: tuple[Message, ...]  # how the figures were come by

    @property
    def compared_resistance(self) -> float:
        """What is held against the least value [ohm]: the resistance at 40 degC, or as read without a correction."""
        return _corrected(self.read, self.correction)


def insulation_figures(job: Job, reduction: Reduction) -> InsulationFigures | None:
    """The insulation reading corrected to 40 degC, its index, and what the plate asks of both; ``None`` without one.

    Parameters
    ----------
    job : Job
        The reading; the plate's voltage and insulation class. [SI]
    reduction : Reduction
        Its greatest supply voltage stands in where the plate gives none. [SI]

    Notes
    -----
    Correction and least values are those of IEEE Std 43 (from memory). Of a class that is not known the lower of two
    corrections is taken. No index is asked where the resistance is so great that the index says nothing.
    """
    read = job.readings.insulation
    if read is None:
        return None
    letter, rated = job.nameplate.insulation_class, _rated_voltage(job, reduction)
    correction = _correction(read, letter)
    of_figures, errors = _errors(reduction, letter), errors_of(reduction)
    index = None if read.at_10_min is None else float(polarization_index(read.at_1_min, read.at_10_min))
    waived = correction.factor is not None and limits.polarization_index_waived(_corrected(read, correction))
    least_index = None if index is None or waived else limits.least_polarization_index(letter)
    field, power = read.winding == FIELD_WINDING, job.nameplate.power
    least_resistance = None if rated is None else limits.least_insulation(rated, power, field=field)
    compared = of_figures.at_1_min if correction.factor is None else of_figures.corrected
    resistance_uncertainty, index_uncertainty = (
        None if figure is None or errors is None else errors.uncertainty(figure)
        for figure in (compared, of_figures.polarization_index)
    )
    as_read = Quantity(read.at_1_min, "ohm")
    at_40 = None if correction.factor is None else measured(_corrected(read, correction), "ohm")
    return InsulationFigures(
        read=read,
        correction=correction,
        at_1_min=with_errors(as_read, of_figures.at_1_min, errors) or as_read,
        corrected=with_errors(at_40, of_figures.corrected, errors),
        polarization_index=with_errors(measured(index, "1"), of_figures.polarization_index, errors),
        rated_voltage=rated,
        least_resistance=least_resistance,
        least_index=least_index,
        index_waived=waived,
        resistance_uncertainty=resistance_uncertainty,
        index_uncertainty=index_uncertainty,
        notes=tuple(_notes(correction, least_resistance, index, least_index, waived=waived)),
    )


def _corrected(read: Insulation, correction: Correction) -> float:
    return read.at_1_min * (1.0 if correction.factor is None else correction.factor)


def _errors(reduction: Reduction, letter: str | None) -> InsulationErrors:
    errors, kinds = errors_of(reduction), _kinds(letter)
    if errors is None:
        return InsulationErrors()

    def factor(kelvin: Array) -> Array:
        # A little inside the ends of the range, so that a reading at an end can be moved.
        inside = np.clip(kelvin, _COLDEST + _INSIDE, _HOTTEST - _INSIDE)
        factors = [np.asarray(correction_to_40(inside, insulation=kind)) for kind in kinds]
        return np.asarray(np.min(factors, axis=0))

    return insulation_errors(errors, factor)


def _rated_voltage(job: Job, reduction: Reduction) -> float | None:
    volts = reduction.points.voltage[np.isfinite(reduction.points.voltage)]
    return job.nameplate.voltage or (float(volts.max()) if volts.size else None)


def _kinds(letter: str | None) -> tuple[str, ...]:
    """The kinds of insulation a class may be: both where it is not known."""
    kind = limits.insulation_kind(letter)
    return (THERMOSETTING, THERMOPLASTIC) if kind is None else (kind,)


def _correction(read: Insulation, letter: str | None) -> Correction:
    kind, kinds = limits.insulation_kind(letter), _kinds(letter)
    if read.temperature is None or not _COLDEST - 1e-6 <= read.temperature <= _HOTTEST + 1e-6:
        cold = read.temperature is not None and read.temperature < _COLDEST
        most = 1.0 if cold else max(float(correction_to_40(_HOTTEST, insulation=kind)) for kind in kinds)
        why = Message("insulation.temperature_not_recorded", reference=REFERENCE)
        if read.temperature is not None:
            why = Message("insulation.temperature_outside", range=(_COLDEST, _HOTTEST), reference=REFERENCE)
        return Correction(None, most, why)
    factor = min(float(correction_to_40(read.temperature, insulation=kind)) for kind in kinds)
    how = Message(
        "insulation.corrected",
        reference=REFERENCE,
        temperature=read.temperature,
        how=Message("insulation.by_lower_rule" if kind is None else f"insulation.as_{kind}"),
        source=limits.correction_source(),
    )
    return Correction(factor, factor, how)


def _notes(
    correction: Correction,
    least: LeastInsulation | None,
    index: float | None,
    least_index: float | None,
    *,
    waived: bool,
) -> Iterator[Message]:
    """How the figures were come by; the remarks of a finding stand with it."""
    yield Message("insulation.sentence", text=correction.text)
    if least is not None and least.holds_for == limits.FIELD_WINDINGS:
        yield Message("insulation.least_of_field_windings")
    elif least is not None:
        yield Message("insulation.least_of", windings=least.holds_for)
    if index is None:
        yield Message("insulation.no_index")
    elif waived:
        yield Message("insulation.index_waived", source=limits.polarization_index_source(waived=True))
    elif least_index is None:
        yield Message("insulation.no_least_index")
