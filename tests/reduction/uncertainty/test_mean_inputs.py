"""The scatter behind the means of a log in the uncertainty of its points."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_job, make_rig, make_table

from certgen.document.build import Toleranced
from certgen.job.model import Conditions
from certgen.job.rig import Meter, Meters, Tachometer
from certgen.physics.uncertainty import coverage_factor
from certgen.readings.model import OfMeans, Readings, Table, Zero
from certgen.reduction.reduce import reduce_test
from certgen.reduction.uncertainty.inputs import mean_inputs
from certgen.reduction.uncertainty.model import Measured

STANDARD, FREEDOM = np.array([0.01, 0.02, 0.04, 0.03]), np.array([3.0, 9.0, 19.0, 1.0])


def readings():
    table = make_table(speed=[150.0, 149.0, 148.0, 147.0], torque=[1.0, 2.0, 3.0, 4.0])
    logged = Table(table.columns, table.remarks, {"torque": OfMeans(STANDARD, FREEDOM)})
    return Readings(logged, Zero(0.0, 0.0), Zero())


def rig():
    exact = Meter(reading=1e-12, range=None, digits=None, resolution=None, full_scale=None)
    return make_rig(tachometer=Tachometer(tolerance=1e-9), meters=Meters(torque=exact), tare_torque=Toleranced(0.0))


def test_each_row_has_its_own_uncertainty_and_degrees_of_freedom():
    """JCGM 100:2008, 4.2.3: u = s/sqrt(n) with n - 1 degrees of freedom; G.6.4: k by Student."""
    reduction = reduce_test(make_job("other", conditions=Conditions()), rig(), readings())
    for row, doubt in enumerate(reduction.uncertainties.points):
        assert doubt["torque"].standard == pytest.approx(STANDARD[row], rel=1e-6)
        assert doubt["torque"].degrees_of_freedom == pytest.approx(FREEDOM[row], rel=1e-4)
        assert doubt["torque"].coverage_factor == pytest.approx(coverage_factor(FREEDOM[row]), rel=1e-6)
        assert doubt["shaft_power"].standard == pytest.approx(STANDARD[row] * (150.0 - row), rel=1e-6)


def test_a_column_without_scatter_is_no_source_of_doubt():
    table = readings().load_test
    silent = Table(table.columns, table.remarks, {"torque": OfMeans(np.zeros(4), np.full(4, math.inf))})
    assert list(mean_inputs(Measured(rig(), Readings(silent, Zero(), Zero()), None))) == []


def test_rows_typed_by_hand_have_none():
    plain = Readings(make_table(speed=[1.0], torque=[1.0]), Zero(), Zero())
    assert list(mean_inputs(Measured(rig(), plain, None))) == []


def test_a_point_read_off_between_two_means_has_the_degrees_of_freedom_of_both():
    """JCGM 100:2008, G.4.1 (Welch and Satterthwaite): at least those of the less sure, at most those of both."""
    job = make_job("other", conditions=Conditions(), power=2.5 * 148.5)
    reduction = reduce_test(job, rig(), readings())
    doubt = reduction.uncertainties.operating["at_rated_power"]["torque"]
    assert 9.0 < doubt.degrees_of_freedom < 19.0 + 9.0 + 3.0
