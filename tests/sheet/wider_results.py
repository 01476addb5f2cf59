"""Losses, heat, insulation, an assessed rating and a comparison, to fill the blocks that stand only where measured."""

from __future__ import annotations

from dataclasses import replace

from certgen.quantity import Quantity
from certgen.results.model import (
    AssessedRating,
    Comparison,
    Difference,
    InsulationResult,
    Losses,
    LossPoint,
    Results,
    StrayRegression,
    Thermal,
)


def watts(value: float) -> Quantity:
    """A power [W]."""
    return Quantity(value, "W")


def ratio(value: float) -> Quantity:
    """A ratio."""
    return Quantity(value, "1")


def loss_point(load: float) -> LossPoint:
    """A plausible 1.5 kW motor at a part of its rated load."""
    shaft, stator, rotor, stray = 1500.0 * load, 90.0 + 60.0 * load**2, 75.0 * load**2, 22.0 * load**2
    taken = shaft + stator + rotor + stray + 70.0 + 12.0
    return LossPoint(
        ratio(load), watts(taken), watts(stator), watts(70.0), watts(rotor), watts(12.0), watts(stray), watts(shaft),
        ratio(shaft / taken),
    )  # fmt: skip


LOSSES = Losses(
    method="loss segregation",
    reason="six load points and eight no-load voltages",
    stator=watts(150.0),
    rotor=watts(75.0),
    core=watts(70.0),
    friction_windage=watts(12.0),
    stray=watts(22.0),
    efficiency=ratio(0.8201),
    reference_temperature=Quantity(388.15, "K"),
    stray_regression=StrayRegression(
        Quantity(0.2191, "W/(N*m)^2"), watts(3.4), ratio(0.981), (1, 2, 3, 4, 5, 7), 6,
        {"IEEE 112 method B": True, "IEC 60034-2-1": False},
    ),
    at_loads=tuple(loss_point(load) for load in (0.25, 0.5, 0.75, 1.0, 1.15, 1.25)),
    dynamometer_correction=Quantity(0.021, "N*m"),
    notes=("Copper winding assumed.",),
)  # fmt: skip
THERMAL = Thermal(
    winding_rise=Quantity(61.3, "K"),
    hot_resistance=Quantity(8.71, "ohm"),
    rise_limit=Quantity(105.0, "K"),
    rise_limit_source="IEC 60034-1, Table 8, class F",
    final_rise=Quantity(38.9, "K"),
    time_constant=Quantity(2040.0, "s"),
    remaining_rise=Quantity(0.4, "K"),
    steady=True,
    steady_criterion="less than 1 K in half an hour",
    notes=("The first resistance was read 25 s after switching off.",),
)
INSULATION = InsulationResult(
    outcome="pass",
    at_1_min=Quantity(340e6, "ohm"),
    at_40_degC=Quantity(96e6, "ohm"),
    minimum=Quantity(5e6, "ohm"),
    polarization_index=ratio(2.68),
    minimum_polarization_index=ratio(2.0),
)
RATING = AssessedRating(
    words="Assessed by this bench from its own test; not a maker's rating.",
    power=watts(750.0),
    power_label="0.75 kW",
    current=Quantity(1.9, "A"),
    speed=Quantity(146.6, "rad/s"),
    torque=Quantity(5.12, "N*m"),
    basis=("The heat run allows 0.94 kW.", "Breakdown torque allows 0.88 kW."),
    limited_by="breakdown torque",
)
COMPARISON = Comparison(
    "Before and after",
    "PMB-1",
    "PMB-2",
    (
        Difference("Shaft power at rated current", "shaft_power", "W", 1310.0, 1502.0),
        Difference("Speed at rated power", "speed", "rad/s", 145.5, 149.5),
        Difference("Efficiency at rated power", "efficiency", "1", 0.74, 0.825),
    ),
    "Rotor renewed between the tests.",
)


def with_everything(results: Results) -> Results:
    """The same results with every wider part filled."""
    return replace(
        results,
        losses=LOSSES,
        thermal=THERMAL,
        insulation=INSULATION,
        assessed_rating=RATING,
        comparisons=(COMPARISON,),
    )
