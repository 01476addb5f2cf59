"""Speed of direct-current motors: the row goes by the excitation, stated or as the motor's own curve tells it."""

from __future__ import annotations

import math

import pytest
from typed_job import TypedJob, finding

RPM = math.pi / 30.0
#: 1.5 kW at 1500 rpm is 1 kW per 1000 rpm: a tenth for shunt motors, 15 % for series ones (IEC 60034-1, 12.1, from memory).
PLATE = {"power": "1.5 kW", "voltage": "180 V", "current": "10.4 A", "speed": "1500 rpm"}
SHUNT = (1590, 1565, 1540, 1518, 1498, 1486)
LOADS = ((0.0, 1.3), (0.6, 3.7), (1.1, 6.1), (1.55, 8.3), (1.95, 10.2), (2.2, 11.4))


def dc(
    speeds: tuple[float, ...] = SHUNT, *, lightest: int = 0, excitation: str | None = None, **plate: str
) -> TypedJob:
    rows = tuple((rpm, kg, 180, amperes) for rpm, (kg, amperes) in zip(speeds, LOADS, strict=True))[lightest:]
    return TypedJob(
        plate={**PLATE, **plate},
        kind="dc",
        motor={} if excitation is None else {"excitation": excitation},
        columns={"speed": "rpm", "scale": "kg", "voltage": "V", "current": "A"},
        rows=rows,
        warm=None,
    )


@pytest.mark.parametrize(("excitation", "part"), [("shunt", 0.10), ("permanent magnet", 0.10), ("series", 0.15)])
def test_a_stated_excitation_chooses_the_row(tmp_path, excitation, part):
    found = finding(dc(excitation=excitation).judged(tmp_path), "speed_at_rated_power")
    assert found.required.high == pytest.approx(1500 * RPM * (1.0 + part))
    assert (found.outcome, found.basis) == ("pass", "workshop")


def test_the_motors_own_curve_chooses_where_nothing_is_stated(tmp_path):
    """6 % from no load to rated load is a shunt motor's, and its row is the one printed."""
    found = finding(dc().judged(tmp_path), "speed_at_rated_power")
    assert "by its curve a shunt-wound or permanent-magnet motor" in str(found.note)
    assert found.required.high == pytest.approx(1500 * RPM * 1.10)
    assert found.outcome == "pass"


def test_where_nothing_tells_it_a_value_between_the_rows_is_not_tested(tmp_path):
    """Plate 1700 rpm, 1500 measured: 12 % too slow; without a run at no load the curve has no character."""
    found = finding(dc(lightest=2, speed="1700 rpm").judged(tmp_path), "speed_at_rated_power")
    assert found.outcome == "not tested"
    assert "motor.excitation" in str(found.note)


@pytest.mark.parametrize(("speed", "outcome"), [("1510 rpm", "pass"), ("1850 rpm", "fail")])
def test_where_both_rows_agree_nothing_has_to_be_stated(tmp_path, speed, outcome):
    assert finding(dc(lightest=2, speed=speed).judged(tmp_path), "speed_at_rated_power").outcome == outcome


def test_a_motor_faster_than_its_plate_is_not_better(tmp_path):
    """A field that has lost its magnets or turns runs a motor faster: no side of the speed is harmless."""
    found = finding(dc(excitation="shunt", speed="1200 rpm").judged(tmp_path), "speed_at_rated_power")
    assert found.outcome == "fail"
