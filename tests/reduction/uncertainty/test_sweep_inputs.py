"""What is not sure of a sweep: scatter and inertia in the budget, and what is told where the inertia has no limits."""

from __future__ import annotations

import pytest
from builders import make_readings, make_rig
from sweep_bench import Swept, sweep_job

from certgen.document.build import Toleranced
from certgen.job.rig import Meter, Meters, Tachometer
from certgen.reduction.reduce import reduce_test
from certgen.reduction.sweep import points_of_sweep
from certgen.reduction.uncertainty.inputs import sweep_inputs
from certgen.reduction.uncertainty.model import Measured

SWEPT = Swept(both=False, rate=100.0)


def swept(rig_inertia, rotor):
    job = sweep_job(rotor=rotor)
    rig = make_rig(
        inertia=rig_inertia, tachometer=Tachometer(tolerance=0.01), meters=Meters(torque=Meter(reading=0.0005))
    )
    readings = points_of_sweep(job, rig, SWEPT.readings())
    return reduce_test(job, rig, readings), Measured(rig, readings, None)


def test_scatter_and_both_inertias_are_inputs():
    _, measured = swept(Toleranced(0.02, 0.002), Toleranced(0.005, 0.0005))
    names = [one.identifier for one in sweep_inputs(measured)]
    assert names == [
        "scatter of the sweep, speed",
        "scatter of the sweep, rate of change of speed",
        "scatter of the sweep, torque",
        "inertia of the rig",
        "inertia of the rotor",
    ]


def test_the_tolerance_of_the_inertia_widens_the_torque_by_what_it_makes_of_it():
    """0.002 kg*m^2 at about 35 rad/s^2 is 0.07 N*m either way: with k = 2 over the square root of 3, 0.08 N*m."""
    sure, _ = swept(Toleranced(0.02, 1e-6), None)
    unsure, measured = swept(Toleranced(0.02, 0.002), None)
    rate = measured.readings.load_test.column("acceleration")
    row = int(abs(rate).argmax())
    first, second = (one.uncertainties.points[row]["torque"].standard for one in (sure, unsure))
    assert (second**2 - first**2) ** 0.5 == pytest.approx(0.002 * abs(rate[row]) / 3.0**0.5, rel=1e-3)


@pytest.mark.parametrize(
    ("rig_inertia", "rotor", "name", "value"),
    [
        (Toleranced(0.02), Toleranced(0.005, 0.0005), "inertia of the rig", 0.02),
        (Toleranced(0.02, 0.002), Toleranced(0.005), "inertia of the rotor", 0.005),
    ],
)
def test_an_inertia_without_limits_may_be_a_fifth_off(rig_inertia, rotor, name, value):
    reduction, measured = swept(rig_inertia, rotor)
    assert reduction.uncertainties.points[10]["torque"].expanded is not None
    inertia = {one.identifier: one for one in sweep_inputs(measured)}[name]
    assert inertia.standard_uncertainty == pytest.approx(0.2 * value / 3.0**0.5)
    assert str(inertia.assumption) == f"{name} ± 20 %"


def test_points_read_one_by_one_have_no_such_inputs():
    measured = Measured(make_rig(inertia=Toleranced(0.02)), make_readings(speed=[1.0], torque=[1.0]), None)
    assert list(sweep_inputs(measured)) == []
