"""Figures at rated load brought to the plate's own voltage, frequency and working temperature.

A comparison with a plate holds at rated voltage and frequency, and slip at working temperature (IEC 60034-1, 12.1, slip,
as handbooks quote it). A test is seldom made there. What is off by more than half a per cent is
corrected, with the correction's own uncertainty; what is not known adds its possible change to the uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from certgen.job.model import DC, GRID, SINGLE_PHASE, THREE_PHASE, UNIVERSAL, Job
from certgen.messages.catalogue import Message
from certgen.physics import off_rating
from certgen.physics.off_rating import (
    CommutatorExponents,
    InductionExponents,
    Spread,
    current_at_rated_supply,
    efficiency_at_rated_voltage,
    power_factor_at_rated_supply,
    power_law_at_rated_voltage,
    slip_at_rated_voltage,
)
from certgen.physics.uncertainty import half_width_to_standard
from certgen.reduction.model import LoadPoints

#: Deviations of the supply below this are not corrected. Common practice, no source.
SMALLEST_CORRECTED = 0.005
#: How far a supply may be off where its voltage was not read: the public grid by ANSI C84.1, service voltage, range A, from
#: memory; a generator or converter by twice that, common practice, no source.
_GRID_NOT_READ, _OTHER_NOT_READ = 0.05, 0.10
#: A winding at its working temperature is not colder than this [K]. Common practice, no source.
LEAST_WORKING_TEMPERATURE = 273.15 + 60.0
#: Nor warmer than the reference temperature of its class, of class B where none is known [K]: IEC 60034-2-1, from memory.
REFERENCE_TEMPERATURES = {
    "A": 273.15 + 75.0,
    "E": 273.15 + 75.0,
    "B": 273.15 + 95.0,
    "F": 273.15 + 115.0,
    "H": 273.15 + 130.0,
}
#: Temperature of a room where the job does not state it [K]. Common practice, no source.
_ROOM = 273.15 + 20.0
#: Temperature below zero at which a linear law gives a cage of aluminium no resistance [K above -273.15 degC]:
#: IEC 60034-2-1, the constant k = 225.
_CAGE = 225.0 - 273.15
_INDUCTION = {THREE_PHASE: off_rating.THREE_PHASE, SINGLE_PHASE: off_rating.SINGLE_PHASE}
_BY_EXCITATION = {
    "permanent magnet": off_rating.CONSTANT_FIELD,
    "separate": off_rating.CONSTANT_FIELD,
    "shunt": off_rating.SHUNT,
    "series": off_rating.SERIES,
}


#: How shaft power and torque at a given current go with the voltage of a motor with a commutator, x ~ U**e: torque follows
#: the current, and speed the voltage less the drop of the winding. Common practice, no source.
_AT_A_CURRENT = {"shaft_power": Spread(1.4, 0.7), "torque": Spread(0.0, 0.3)}
#: The same for the magnetizing current of an induction motor, by how far the iron saturates. Common practice, no source.
_MAGNETIZING = Spread(2.25, 0.75)
#: Power factor at rated load of an induction motor where none was read, and how far an exponent is uncertain in itself.
_ORDINARY_FACTOR, _EXPONENT = 0.72, 0.3


@dataclass(frozen=True)
class Corrected:
    """A figure at rated voltage, frequency and working temperature."""

    value: float  # in the unit of the figure
    standard_uncertainty: float = 0.0  # of the corrections alone, in the same unit
    supply_uncertainty: float = 0.0  # of the correction itself, the voltmeter's part left out where one was read
    corrections: tuple[Message, ...] = ()
    reason: Message | None = None  # why it cannot be brought there, where it cannot


@dataclass(frozen=True)
class _Parameter:
    """An uncertain number of a correction: its mean and its standard uncertainty."""

    mean: float
    standard: float


@dataclass(frozen=True)
class RatedConditions:
    """How far a test was off the plate's conditions at one load point.

    ``voltage_ratio`` and ``frequency_ratio`` are those of the test over the plate's [1]; temperatures in K, ``None`` where
    nothing gives them.
    """

    kind: str
    excitation: str | None
    voltage_ratio: float
    voltage_standard: float  # standard uncertainty of the ratio
    voltage_read: bool
    frequency_ratio: float
    voltage: float | None
    rated_voltage: float | None
    power_factor: float
    winding: float | None = None
    working: float | None = None
    room: float = _ROOM
    insulation_class: str | None = None
    not_read_band: float = _GRID_NOT_READ  # how far the voltage may be off the plate's where it was not read

    def correct(self, quantity: str, value: float) -> Corrected:
        """One figure brought to the plate's conditions.

        Parameters
        ----------
        quantity : str
            'slip', 'current', 'efficiency', 'power_factor' or 'speed'; 'shaft_power' or 'torque' at a given current; any
            other is returned as it is.
        value : float
            As measured. [SI]

        Returns
        -------
        Corrected
            Value and uncertainty. [SI]
        """
        supplied = self._supply(quantity, value)
        return self._warmed(supplied) if quantity == "slip" and supplied.reason is None else supplied

    def _supply(self, quantity: str, value: float) -> Corrected:
        if quantity == "efficiency" and not 0.0 < value <= 1.0:
            return Corrected(value)  # what cannot be belongs to readings that carry no verdict
        formula = self._formula(quantity)
        if formula is None:
            return Corrected(value, reason=self._uncorrectable(quantity))
        moved, parameters = formula
        if "voltage_ratio" not in parameters:
            return Corrected(value)
        means = {name: parameter.mean for name, parameter in parameters.items()}
        ratio = parameters["voltage_ratio"]
        if not ratio.mean > 2.0 * ratio.standard:
            return Corrected(value, reason=self._uncorrectable(quantity))  # no voltage at all would do as well
        central = moved(value, means)
        variance, of_voltmeter = 0.0, 0.0
        for name, parameter in parameters.items():
            # Where voltage is uncertain, an exponent decides at its bounds though it does not at its mean.
            places = (0.0,) if name == "voltage_ratio" else (-1.0, 0.0, 1.0)
            halves = []
            for place in places:
                here = {**means, "voltage_ratio": ratio.mean + place * ratio.standard}
                low, high = (
                    moved(value, {**here, name: parameter.mean + side * parameter.standard}) for side in (-1, 1)
                )
                halves.append(0.5 * abs(high - low))
            variance += max(halves) ** 2
            if name == "voltage_ratio" and self.voltage_read:
                of_voltmeter = max(halves) ** 2
        standard = math.sqrt(variance)
        by_supply = math.sqrt(variance - of_voltmeter)
        return Corrected(central, standard, by_supply, tuple(self._named(quantity)))

    def _formula(
        self, quantity: str
    ) -> tuple[Callable[[float, Mapping[str, float]], float], dict[str, _Parameter]] | None:
        """How a quantity follows the supply with the numbers it takes; ``None`` where no formula holds."""
        supply = self._uncertain_supply()
        if quantity in _AT_A_CURRENT and supply and self.voltage_read and self.kind in (*_INDUCTION, DC, UNIVERSAL):
            spread = self._magnetized() if self.kind in _INDUCTION else _AT_A_CURRENT[quantity]
            return _power_law(supply, Spread(-spread.mean, spread.half_width))
        # A power factor that cannot be belongs to readings that carry no verdict.
        impossible = quantity == "power_factor" and not 0.0 < self.power_factor <= 1.0
        if impossible or not supply or quantity not in ("slip", "current", "efficiency", "power_factor", "speed"):
            return (lambda value, _: value), {}
        if self.kind in _INDUCTION:
            return self._induction(quantity, supply, _INDUCTION[self.kind])
        exponents = self._commutator()
        return None if exponents is None else _by_voltage(quantity, supply, exponents)

    def _magnetized(self) -> Spread:
        """Exponent of power and torque at a given current of an induction motor, x ~ U**e.

        The active part of the current is what the magnetizing part leaves: P ~ U sqrt(I^2 - Im^2) and Im ~ U**m give
        e = 1 - m (1 / cos^2 - 1), cos the power factor.
        """
        known = math.isfinite(self.power_factor) and _ORDINARY_FACTOR / 2.0 < self.power_factor <= 1.0
        factor = self.power_factor if known else _ORDINARY_FACTOR
        weight = 1.0 / factor**2 - 1.0
        spread = _MAGNETIZING.half_width * weight + (_EXPONENT if known else 5.0 * _EXPONENT)
        return Spread(1.0 - _MAGNETIZING.mean * weight, spread)

    def _commutator(self) -> CommutatorExponents | None:
        if self.kind == UNIVERSAL:
            return off_rating.UNIVERSAL
        if self.kind != DC:
            return None
        return _BY_EXCITATION.get(self.excitation or "", off_rating.ANY_EXCITATION)

    def _induction(
        self, quantity: str, supply: dict[str, _Parameter], exponents: InductionExponents
    ) -> tuple[Callable[[float, Mapping[str, float]], float], dict[str, _Parameter]] | None:
        if quantity == "slip":
            return (
                lambda value, by: float(slip_at_rated_voltage(value, by["voltage_ratio"], exponent=by["exponent"]))
            ), {**supply, "exponent": _of(exponents.slip)}
        if quantity == "efficiency":
            return _by_losses(supply, exponents.losses)
        if quantity == "speed":
            return None
        parts = {"active_exponent": _of(exponents.active), "reactive_exponent": _of(exponents.reactive)}
        if quantity == "power_factor":
            return (
                lambda value, by: float(power_factor_at_rated_supply(value, frequency_ratio=self.frequency_ratio, **by))
            ), {**supply, **parts}
        known = math.isfinite(self.power_factor) and 0.0 < self.power_factor <= 1.0
        factor = _Parameter(self.power_factor, 0.0) if known else _Parameter(0.72, 0.13)
        return (lambda value, by: float(current_at_rated_supply(value, frequency_ratio=self.frequency_ratio, **by))), {
            **supply,
            **parts,
            "power_factor": factor,
        }

    def _uncertain_supply(self) -> dict[str, _Parameter]:
        """The voltage ratio, where it is off, not read, or the frequency is off; nothing where all is as rated."""
        off = abs(self.voltage_ratio - 1.0) > SMALLEST_CORRECTED or abs(self.frequency_ratio - 1.0) > SMALLEST_CORRECTED
        if not off and self.voltage_read:
            return {}
        return {"voltage_ratio": _Parameter(self.voltage_ratio, self.voltage_standard)}

    def _named(self, quantity: str) -> Iterator[Message]:
        if not self.voltage_read:
            yield Message("correction.voltage_not_read", band=self.not_read_band)
        elif self.voltage is not None and self.rated_voltage is not None:
            yield Message("correction.supply", voltage=self.voltage, rated=self.rated_voltage)
        if quantity != "slip" and abs(self.frequency_ratio - 1.0) > SMALLEST_CORRECTED:
            yield Message("correction.frequency", off=self.frequency_ratio - 1.0)

    def _uncorrectable(self, quantity: str) -> Message:
        if not self.voltage_read:
            return Message("correction.none_voltage_not_read", quantity=Message(f"name.{quantity}"))
        return Message("correction.none", off=self.voltage_ratio - 1.0, quantity=Message(f"name.{quantity}"))

    def _working_range(self) -> tuple[float, float]:
        """Between which temperatures the winding works where no steady run gives it [K]; a warmer one was read."""
        warmest = REFERENCE_TEMPERATURES.get(self.insulation_class or "B", REFERENCE_TEMPERATURES["B"])
        return LEAST_WORKING_TEMPERATURE, max(warmest, self.winding or 0.0)

    def _warmed(self, supplied: Corrected) -> Corrected:
        """Slip at working temperature: as the resistance of the rotor, s_w = s (k + t_w) / (k + t).

        References
        ----------
        IEEE Std 112, 5.3.2, and IEC 60034-2-1, 5.7.2 (slip corrected to a reference temperature), from memory.
        """
        warm = (self.working, self.working) if self.working is not None else self._working_range()
        tested = (self.winding, self.winding) if self.winding is not None else (self.room, max(warm))
        factors = [(_CAGE + hot) / (_CAGE + cold) for hot in warm for cold in tested]
        if self.winding is None:
            # The winding of a motor under test is not warmer than it will be at work.
            factors = [max(1.0, factor) for factor in factors]
        low, high = min(factors), max(factors)
        middle = 0.5 * (low + high)
        spread = float(half_width_to_standard(0.5 * (high - low), "rectangular"))
        standard = math.hypot(supplied.standard_uncertainty * middle, supplied.value * spread)
        key = "correction.warm" if self.winding is not None else "correction.temperature_not_known"
        values = {"winding": self.winding} if self.winding is not None else {}
        return Corrected(
            supplied.value * middle,
            standard,
            supplied.supply_uncertainty * middle,
            (*supplied.corrections, Message(key, **values)),
        )


def _by_losses(
    supply: dict[str, _Parameter], losses: Spread
) -> tuple[Callable[[float, Mapping[str, float]], float], dict[str, _Parameter]]:
    """Efficiency by how the losses follow voltage."""
    return (
        lambda value, by: float(efficiency_at_rated_voltage(value, by["voltage_ratio"], losses_exponent=by["losses"]))
    ), {**supply, "losses": _of(losses)}


def _by_voltage(
    quantity: str, supply: dict[str, _Parameter], exponents: CommutatorExponents
) -> tuple[Callable[[float, Mapping[str, float]], float], dict[str, _Parameter]] | None:
    """How a figure of a motor with a commutator follows its voltage."""
    if quantity == "efficiency":
        return _by_losses(supply, exponents.losses)
    spread = {
        "current": exponents.current,
        "speed": Spread(-exponents.speed.mean, exponents.speed.half_width),
    }.get(quantity)
    if spread is None:
        return None
    return _power_law(supply, spread)


def _power_law(
    supply: dict[str, _Parameter], spread: Spread
) -> tuple[Callable[[float, Mapping[str, float]], float], dict[str, _Parameter]]:
    return (lambda value, by: float(power_law_at_rated_voltage(value, by["voltage_ratio"], exponent=by["exponent"]))), {
        **supply,
        "exponent": _of(spread),
    }


def _of(spread: Spread) -> _Parameter:
    """A number that lies anywhere within its bounds: JCGM 100:2008, 4.3.7."""
    return _Parameter(spread.mean, float(half_width_to_standard(spread.half_width, "rectangular")))


def voltage_not_read(job: Job) -> float:
    """How far the voltage may be off the plate's where nobody read it, by what feeds the bench, as a part. [1]"""
    return _GRID_NOT_READ if job.conditions.supply in (None, GRID) else _OTHER_NOT_READ


def rated_conditions(
    job: Job, point: LoadPoints, *, voltage_standard: float | None, working: float | None
) -> RatedConditions:
    """How far one load point was off the plate's voltage, frequency and working temperature.

    Parameters
    ----------
    job : Job
        Plate and conditions. [SI]
    point : LoadPoints
        One load point, read off the curve or tested. [SI]
    voltage_standard : float or None
        Standard uncertainty of its voltage; ``None`` where it is not known. [V]
    working : float or None
        Temperature of the winding at rated load and steady; ``None`` where the test does not tell it. [K]

    Returns
    -------
    RatedConditions
        What corrects each figure.
    """
    plate = job.nameplate
    volts, rated = float(point.voltage[0]), plate.voltage
    read = math.isfinite(volts) and volts > 0.0
    ratio, standard = 1.0, 0.0
    if rated is not None and read:
        ratio, standard = volts / rated, (voltage_standard or 0.0) / rated
    elif rated is not None:
        standard = float(half_width_to_standard(voltage_not_read(job), "rectangular"))
    hertz, rated_hertz = float(point.frequency[0]), plate.frequency
    known = rated_hertz is not None and math.isfinite(hertz) and hertz > 0.0
    winding = float(point.temperature[0])
    return RatedConditions(
        kind=job.motor.type,
        excitation=getattr(job.motor, "excitation", None),
        voltage_ratio=ratio,
        voltage_standard=standard,
        voltage_read=read or rated is None,
        not_read_band=voltage_not_read(job),
        frequency_ratio=hertz / rated_hertz if known and rated_hertz is not None else 1.0,
        voltage=volts if read else None,
        rated_voltage=rated,
        power_factor=float(point.power_factor[0]),
        winding=winding if math.isfinite(winding) else None,
        working=working,
        room=job.conditions.ambient if job.conditions.ambient is not None else _ROOM,
        insulation_class=plate.insulation_class,
    )
