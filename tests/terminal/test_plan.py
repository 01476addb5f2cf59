"""A plan told in the terminal."""

from __future__ import annotations

import math

from builders import make_job, make_rig

from certgen.job.rig import Ammeter, Meters, RigLimits
from certgen.planning.make import make_plan
from certgen.terminal.plan import plan_text

RPM = 2.0 * math.pi / 60.0


def told(kind="three-phase induction", rig=None, **plate):
    return plan_text(make_plan(make_job(kind, **plate), rig or make_rig("arm"), None, {}), "job.yaml")


def test_a_full_plate_is_a_table_with_every_load_in_a_row():
    text = told(power=1500.0, speed=1420 * RPM, frequency=50.0, current=3.4, power_factor=0.79)
    lines = text.splitlines()
    start = next(number for number, line in enumerate(lines) if line.startswith("load points"))
    assert lines[start + 1].split()[:4] == ["load", "torque", "scale", "speed"]
    assert [line.split("%")[0].strip() for line in lines[start + 2 : start + 8]] == [
        "125",
        "115",
        "100",
        "75",
        "50",
        "25",
    ]
    assert "2.057 kg  1420 rpm  3.40 A" in lines[start + 4]


def test_what_is_not_known_is_a_dash_and_said_below():
    text = told(
        "universal", power=150.0, speed=6450 * RPM, rig=make_rig("arm", limits=RigLimits(torque=1.0, speed=1e4))
    )
    assert "speed: not compared at 125 %, 115 %, 75 %, 50 %, 25 %" in text
    row = next(line for line in text.splitlines() if line.startswith("  125 %  "))
    assert row.split() == ["125", "%", "0.2776", "N·m", "0.057", "kg", "—", "—", "—", "not", "known", "not", "stated"]


def test_without_a_plate_it_says_so():
    text = told()
    assert "rated torque: — (not known: the plate gives no power and no speed)" in text
    assert "load points: none" in text


def test_starting_and_limits_carry_both_numbers():
    rig = make_rig("arm", limits=RigLimits(torque=11.0), meters=Meters(current=Ammeter(full_scale=10.0)))
    text = told(power=1500.0, voltage=400.0, speed=1420 * RPM, frequency=50.0, code_letter="J", rig=rig)
    assert "exceeded: torque 12.80 N·m of 11.00 N·m at 125 %" in text
    assert "switching on: 20.61 A to 23.23 A. Code letter J (NEMA MG 1" in text
