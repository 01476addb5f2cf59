from __future__ import annotations

from certgen.recorder.live import Alarms, Margin


def torque(value: float) -> list[Margin]:
    return [Margin("torque", value, 16.0, "torque")]


def test_a_limit_is_told_when_it_comes_near_and_when_it_is_passed() -> None:
    alarms = Alarms()
    assert list(alarms.raised(torque(14.3))) == []
    assert list(map(str, alarms.raised(torque(14.6)))) == ["NEAR THE LIMIT: torque 14.6 of 16 N·m."]
    assert list(alarms.raised(torque(15.9))) == []
    assert list(map(str, alarms.raised(torque(16.2)))) == ["PAST THE LIMIT: torque 16.2 of 16 N·m. Take the load off."]
    assert list(alarms.raised(torque(16.4))) == []


def test_a_value_on_the_edge_does_not_repeat_its_warning() -> None:
    alarms = Alarms()
    assert len(list(alarms.raised(torque(14.41)))) == 1
    for value in (14.39, 14.41, 14.39, 14.0, 14.41):
        assert list(alarms.raised(torque(value))) == []
    assert list(alarms.raised(torque(13.0))) == []
    assert len(list(alarms.raised(torque(14.41)))) == 1


def test_a_current_of_the_plate_is_told_only_when_it_is_passed() -> None:
    alarms = Alarms()
    assert list(alarms.raised([Margin("rated_current", 3.39, 3.4, "current", of_rig=False)])) == []
    (warning,) = alarms.raised([Margin("rated_current", 3.5, 3.4, "current", of_rig=False)])
    assert str(warning) == "above the rated current: 3.5 of 3.4 A"
