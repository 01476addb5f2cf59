"""Insulation resistance with the errors of its tester and of the winding's thermometer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, single
from certgen.reduction.uncertainty.single_readings import INSULATION

Array = NDArray[np.float64]


@dataclass(frozen=True)
class InsulationErrors:
    """Resistance after one minute, the same at 40 degC [ohm], and polarization index [1]; ``None`` where not known."""

    at_1_min: Correlated = None
    corrected: Correlated = None
    polarization_index: Correlated = None


def insulation_errors(errors: Errors, factor: Callable[[Array], Array]) -> InsulationErrors:
    """The insulation reading with its errors.

    Parameters
    ----------
    errors : Errors
        The readings. [SI]
    factor : callable
        Takes temperatures [K], gives the factors to 40 degC [1].

    Returns
    -------
    InsulationErrors
        One tester read both resistances: a part of its reading that is wrong leaves the index alone.
    """
    read = errors.read(INSULATION)
    if not read:
        return InsulationErrors()
    first, second = read["insulation_resistance"]
    temperature = read["winding_temperature"][0] if "winding_temperature" in read else None
    return InsulationErrors(
        at_1_min=first,
        corrected=single(lambda ohms, kelvin: ohms * factor(kelvin), first, temperature),
        polarization_index=single(lambda one, ten: ten / one, first, second),
    )
