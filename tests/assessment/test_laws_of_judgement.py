"""Laws of a verdict: worse readings never improve it, a stated instrument never widens what is known."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from typed_job import ROWS, TypedJob

from certgen.assessment.decision import conformance_probability, decide, rank
from certgen.job.model import GUARDED
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import Limits, Results

SOUND = TypedJob().having(efficiency="78 %", insulation_class="B")
FEW = settings(max_examples=12, deadline=None)
#: From best to worst; what could not be judged is no better than anything.
VERDICTS = ("pass", "conditional pass", "conditional fail", "fail")


@pytest.fixture(scope="module")
def judged(tmp_path_factory) -> Callable[[TypedJob], Results]:
    folder = tmp_path_factory.mktemp("laws")
    return lambda job: job.judged(folder)


def more_current(by: float) -> TypedJob:
    return SOUND.column("current", lambda amperes: round(amperes * by, 4))


def more_slip(by: float) -> TypedJob:
    return SOUND.column("speed", lambda rpm: round(1500.0 - (1500.0 - rpm) * by, 2))


def more_watts(by: float) -> TypedJob:
    return SOUND.column("input_power", lambda watts: round(watts * by, 2))


def hotter(by: float) -> TypedJob:
    return replace(SOUND, warm=round(75.0 * by, 2))


def leaking(by: float) -> TypedJob:
    read = {"voltage": "500 V", "at_1_min": f"{20.0 / by**12:.6g} Mohm", "temperature": "21 degC"}
    return replace(SOUND, readings={"insulation": read})


def less_power_in_reserve(by: float) -> TypedJob:
    job = SOUND.having(power="1.3 kW", speed="1435 rpm", current="3.0 A", service_factor=1.15)
    top = ROWS[-1]
    rows = (*ROWS[:-1], (top[0], round(top[1] * (0.98 - 0.2 * (by - 1.0)), 4), *top[2:]))
    return replace(job, rows=rows)


def less_power_factor(by: float) -> TypedJob:
    """More amperes that do no work, at the same watts."""
    job = SOUND.having(power_factor=0.79, efficiency=None, current="5 A")
    return job.column("current", lambda amperes: round(amperes * by, 4))


def locked(*, amperes: float = 20.0, kilograms: float = 4.6) -> TypedJob:
    """Rotor locked at rated voltage: 20 A and 22.6 N*m, as the plate has them."""
    row = [400, round(amperes, 4), 6000, round(kilograms, 4)]
    table = {"columns": {"voltage": "V", "current": "A", "input_power": "W", "scale": "kg"}, "rows": [row]}
    job = SOUND.having(locked_rotor_current="20 A", locked_rotor_torque="22.5 N*m")
    return replace(job, readings={"locked_rotor": table})


def more_locked_current(by: float) -> TypedJob:
    return locked(amperes=20.0 * by)


def less_locked_torque(by: float) -> TypedJob:
    return locked(kilograms=4.6 / by)


def slower(by: float) -> TypedJob:
    """A shunt motor of 1.5 kW, 1500 rpm, that falls short of its speed."""
    loads = (
        (1590, 0.0, 1.3),
        (1565, 0.6, 3.7),
        (1540, 1.1, 6.1),
        (1518, 1.55, 8.3),
        (1498, 1.95, 10.2),
        (1486, 2.4, 12.4),
    )
    rows = tuple((round(rpm / (1.0 + 0.4 * (by - 1.0)), 1), kg, 180, amperes) for rpm, kg, amperes in loads)
    plate = {"power": "1.5 kW", "voltage": "180 V", "current": "10.4 A", "speed": "1500 rpm"}
    columns = {"speed": "rpm", "scale": "kg", "voltage": "V", "current": "A"}
    return replace(
        TypedJob(warm=None), kind="dc", motor={"excitation": "shunt"}, plate=plate, columns=columns, rows=rows
    )


@pytest.mark.parametrize(
    ("worse", "name"),
    [
        (less_power_factor, "power_factor_at_rated_power"),
        (more_locked_current, "locked_rotor_current_declared"),
        (less_locked_torque, "locked_rotor_torque_declared"),
        (slower, "speed_at_rated_power"),
        (more_current, "current_at_rated_power"),
        (more_slip, "slip_at_rated_power"),
        (more_watts, "efficiency_at_rated_power"),
        (hotter, "winding_temperature"),
        (leaking, "insulation"),
        (less_power_in_reserve, "service_factor"),
    ],
)
@FEW
@given(sizes=st.tuples(st.floats(1.0, 1.5), st.floats(1.0, 1.5)).map(sorted))
def test_a_worse_reading_never_improves_a_finding_or_the_verdict(judged, worse, name, sizes):
    better, poorer = (judged(worse(size)) for size in sizes)
    findings = [{one.id: one for one in results.findings if one.decides} for results in (better, poorer)]
    pair = [found.get(name) for found in findings]
    if all(one is not None and one.outcome != "not tested" for one in pair):
        assert rank(pair[1].outcome) >= rank(pair[0].outcome)
    flagged = any(results.plausibility for results in (better, poorer))
    outcomes = [results.verdict.outcome for results in (better, poorer)]
    others_as_before = all(
        rank(findings[1][one].outcome) >= rank(findings[0][one].outcome)
        for one in findings[0].keys() & findings[1].keys()
        if "not tested" not in (findings[0][one].outcome, findings[1][one].outcome)
    )
    if not flagged and others_as_before and "no verdict" not in outcomes:
        assert VERDICTS.index(outcomes[1]) >= VERDICTS.index(outcomes[0])


BARE = replace(
    TypedJob().having(efficiency="78 %"),
    fine=False,
    warm=None,
    conditions={},
    rig={
        "name": "Arm brake", "absorber": {"kind": "arm"}, "arm_length": "0.5 m", "scale": {"reads": "mass"},
    },
)  # fmt: skip
METER = {"reading": "0.5 %"}
STATEMENTS: dict[str, Callable[[TypedJob], TypedJob]] = {
    "arm": lambda job: _rig(job, arm_length={"value": "0.5 m", "tolerance": "1 mm"}),
    "scale": lambda job: _rig(job, scale={"reads": "mass", "resolution": "0.001 kg", "tolerance": "0.003 kg"}),
    "tare": lambda job: _rig(job, tare_torque={"value": "0 N*m", "tolerance": "0.03 N*m"}),
    "tachometer": lambda job: _rig(job, tachometer={"tolerance": "1 rpm"}),
    "ammeter": lambda job: _meter(job, "current"),
    "voltmeter": lambda job: _meter(job, "voltage"),
    "wattmeter": lambda job: _meter(job, "input_power"),
    "frequency": lambda job: replace(
        job, conditions={**job.conditions, "supply_frequency": {"value": "50 Hz", "tolerance": "0.1 Hz"}}
    ),
    "gravity": lambda job: replace(
        job, conditions={**job.conditions, "local_gravity": {"value": "9.80665 m/s^2", "tolerance": "0.005 m/s^2"}}
    ),
}


def _rig(job: TypedJob, **keys: object) -> TypedJob:
    return replace(job, rig={**job.rig, **keys})


def _meter(job: TypedJob, name: str) -> TypedJob:
    return _rig(job, meters={**job.rig.get("meters", {}), name: METER})


@settings(max_examples=10, deadline=None)
@given(st.lists(st.sampled_from(sorted(STATEMENTS)), unique=True, max_size=6), st.sampled_from(sorted(STATEMENTS)))
def test_stating_an_instrument_never_widens_a_finding(judged, stated, one_more):
    job = BARE
    for name in stated:
        job = STATEMENTS[name](job)
    before, after = judged(job), judged(STATEMENTS[one_more](job))
    known = {one.id: one.expanded_uncertainty for one in before.findings if one.expanded_uncertainty is not None}
    assert known
    for one in after.findings:
        if one.id in known and one.expanded_uncertainty is not None:
            # Another value of gravity also moves the point that is judged, and with it the uncertainty a little
            assert one.expanded_uncertainty <= known[one.id] * (1.0 + 1e-3), one.id


@given(st.floats(-20.0, 20.0), st.floats(-20.0, 20.0), st.floats(0.0, 20.0), st.floats(0.01, 10.0), st.integers(1, 200))
def test_conformance_with_few_degrees_of_freedom_is_students(value, low, width, standard, freedom):
    """JCGM 101:2008, 6.4.9: a scaled and shifted t-distribution, of whole degrees of freedom (JCGM 100:2008, G.4.1)."""
    spread = stats.t(freedom, value, standard)
    for limits in (Limits(low=low), Limits(high=low), Limits(low, low + width)):
        below = 0.0 if limits.low is None else spread.cdf(limits.low)
        above = 0.0 if limits.high is None else spread.sf(limits.high)
        found = conformance_probability(value, limits, standard, freedom)
        assert found == pytest.approx(1.0 - below - above, abs=1e-7)


@given(st.floats(0.0, 20.0), st.floats(0.05, 5.0), st.sampled_from([2.0, 4.0, 8.0, 30.0, math.inf]))
def test_a_false_decision_has_the_probability_of_students_distribution(value, standard, freedom):
    limit = Limits(high=10.0)
    uncertainty = Uncertainty(standard, freedom, 2.0, 2.0 * standard)
    found = decide(value, limit, uncertainty, GUARDED)
    beyond = stats.norm.sf if math.isinf(freedom) else lambda distance: stats.t.sf(distance, freedom)
    wrong = beyond((10.0 - value) / standard)
    expected = wrong if found.outcome in ("pass", "conditional pass") else 1.0 - wrong
    assert found.false_decision_probability == pytest.approx(expected, abs=6e-7)
