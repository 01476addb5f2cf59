"""What the live view makes of rows, by arithmetic done by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from builders import make_job, make_rig, make_table

from certgen.document.build import Dimensioned, Reader, Toleranced
from certgen.document.source import Problems
from certgen.job.load import LoadedJob, ReadingsBefore
from certgen.job.model import Conditions, Job
from certgen.job.rig import Drive, Rig, RigLimits, Tachometer
from certgen.readings.recording.rows import Row
from certgen.recorder.live import Live, LiveView, Margin
from certgen.reduction.torque import shaft_torque

_RPM = 2.0 * math.pi / 60.0


def view(rig: Rig, job: Job | None = None, envelope: object = None) -> LiveView:
    reader = Reader("", Path(), Problems())
    return LiveView(LoadedJob(job or make_job(), rig, Path(), reader, reader), envelope)  # type: ignore[arg-type]


def row(**values: float) -> Row:
    return Row((), values)


def margins(live: Live) -> dict[str, tuple[float, float]]:
    return {one.name: (one.value, one.limit) for one in live.margins}


def test_torque_power_and_load_of_an_arm() -> None:
    """2 kg at 0.5 m under 9.81 m/s^2 is 9.81 N*m; at 150 rad/s that is 1471.5 W."""
    job = make_job(conditions=Conditions(local_gravity=9.81), power=1500.0)
    live = view(make_rig("arm"), job).of([row(speed=150.0, scale=2.0)])
    assert live.torque == pytest.approx(9.81)
    assert live.power == pytest.approx(1471.5)
    assert live.load == pytest.approx(0.981)


def test_it_is_the_torque_of_the_certificate() -> None:
    """The same scale, arm, tare, belt and zero as the reduction of a test takes."""
    rig = make_rig(
        "arm", tare_torque=Toleranced(0.03), drive=Drive("belt", 2.0, 0.95), tachometer=Tachometer(on="absorber")
    )
    job = make_job()
    job = Job(**{**job.__dict__, "readings": ReadingsBefore(zero_before=Dimensioned(0.04, "mass"))})
    live = view(rig, job).of([row(speed=75.0, scale=2.0)])
    from builders import make_readings

    from certgen.readings.model import Zero

    readings = make_readings(Zero(0.04), speed=[75.0], scale=[2.0])
    assert live.torque == pytest.approx(float(shaft_torque(readings, rig, None).at_shaft[0]))
    assert live.speed == pytest.approx(150.0)


def test_the_worst_of_the_new_rows_is_held_against_each_limit() -> None:
    limits = RigLimits(
        torque=16.0, speed=400.0, scale=Dimensioned(5.0, "mass"), coupling_torque=20.0, absorber_power=3000.0,
        brake_current=12.0,
    )  # fmt: skip
    rig = make_rig("arm", limits=limits)
    job = make_job(conditions=Conditions(local_gravity=9.81), current=3.4, service_factor_current=3.8)
    rows = [
        row(speed=150.0, scale=3.0, current=3.6, brake_current=4.0),
        row(speed=151.0, scale=2.0, current=3.3, brake_current=6.0),
    ]
    live = view(rig, job).of(rows)
    assert live.speed == 151.0
    assert margins(live) == {
        "torque": pytest.approx((14.715, 16.0)),
        "speed": (151.0, 400.0),
        "scale": (3.0, 5.0),
        "coupling_torque": pytest.approx((14.715, 20.0)),
        "absorber_power": pytest.approx((14.715 * 150.0, 3000.0)),
        "brake_current": (6.0, 12.0),
        "rated_current": (3.6, 3.4),
        "service_factor_current": (3.6, 3.8),
    }
    assert live.nearest == Margin("torque", pytest.approx(14.715), 16.0, "torque")


def test_the_most_the_brake_holds_depends_on_the_speed() -> None:
    envelope = make_table(speed=np.array([100.0, 0.0, 200.0]), torque=[20.0, 0.0, 18.0])
    live = view(make_rig(), envelope=envelope)
    assert margins(live.of([row(speed=50.0, torque=5.0)])) == {"torque_at_speed": (5.0, 10.0)}
    assert margins(live.of([row(speed=250.0, torque=5.0)])) == {}  # nothing is said beyond the last speed
    assert margins(live.of([row(speed=0.0, torque=5.0)])) == {}


def test_what_was_not_read_is_not_told() -> None:
    live = view(make_rig("arm", limits=RigLimits(torque=16.0))).of([row(current=3.0)])
    assert math.isnan(live.torque)
    assert math.isnan(live.load)
    assert live.margins == ()
    assert live.nearest is None
