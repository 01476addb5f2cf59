"""A plan told in the terminal."""

from __future__ import annotations

import math
import re

from builders import make_job, make_rig

from certgen.document.build import Dimensioned, Toleranced
from certgen.job.rig import (
    AbsorberHeat,
    Ammeter,
    Meters,
    RigLimits,
    Rim,
    Scale,
    ShortTime,
    Tachometer,
    TachometerMagnet,
)
from certgen.planning.make import make_plan
from certgen.terminal.plan import plan_text

RPM = 2.0 * math.pi / 60.0


def told(kind="three-phase induction", rig=None, units="si", **plate):
    return plan_text(make_plan(make_job(kind, **plate), rig or make_rig("arm"), None, {}), "job.yaml", units)


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
    assert row.split()[4:] == ["0.057", "kg", "—", "—", "at", "most", "187.5", "W", "not", "known", "not", "stated"]


def test_without_a_plate_it_says_so():
    text = told()
    assert "rated torque: — (not known: the plate gives no power and no speed)" in text
    assert "load points: none" in text


def test_starting_and_limits_carry_both_numbers():
    rig = make_rig("arm", limits=RigLimits(torque=11.0), meters=Meters(current=Ammeter(full_scale=10.0)))
    text = told(power=1500.0, voltage=400.0, speed=1420 * RPM, frequency=50.0, code_letter="J", rig=rig)
    assert "do not run: torque, needed 12.80 N·m at 125 %, limit 11.00 N·m" in text
    assert "switching on: 20.61 A to 23.23 A. Code letter J (NEMA MG 1" in text


def test_every_sentence_is_in_the_readers_units():
    """Nothing of the plan but the scale's own readings stands in SI on a page in customary units."""
    rig = make_rig(
        "arm",
        limits=RigLimits(torque=11.0, absorber_power=1600.0, scale=Dimensioned(11.0, "mass", "lb"), rim_speed=16.0),
        scale=Scale("mass", resolution=Dimensioned(0.002, "mass", "lb")),
        rim=Rim(0.1),
        tare_torque=Toleranced(0.03),
        tachometer=Tachometer(magnet=TachometerMagnet(0.006, 0.02, 5.0)),
        absorber_heat=AbsorberHeat(800.0, ShortTime(1600.0, 300.0)),
    )
    plate = {"power": 1500.0, "speed": 1420 * RPM, "frequency": 50.0, "insulation_class": "B"}
    text = told(rig=rig, units="us", **plate)
    assert "torque 9.443 lbf·ft, limit 8.113 lbf·ft" in text
    assert "absorber power 2.514 hp, limit 2.146 hp" in text
    assert "Tare torque 0.0221 lbf·ft taken off." in text
    assert "rim speed, needed 51.54 ft/s at synchronous speed, limit 52.49 ft/s" in text
    assert "pull on the magnet, needed 0.6656 lbf at synchronous speed, limit 1.124 lbf" in text
    assert "air at 68 °F" in text
    unit = re.compile(r"\d (N·m|kg|kW|W|°C|m/s|N|mm|m)\b(?!/)")
    assert [found[0] for found in unit.finditer(text)] == []
    assert unit.search(told(rig=rig, **plate)) is not None
