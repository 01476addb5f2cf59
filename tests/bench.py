"""A bench of one motor on disk: job, rig and readings as texts, to be edited and checked by a test."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

JOB = """\
certificate:
  number: WS-2026-007
  tested_on: 2026-03-14
  tested_by: R. Tanner
  shop: {name: Weir Street Bench, address: [4 Weir Street]}
motor:
  type: three-phase induction
  serial: 0048117
nameplate:
  power: 1.5 kW
  voltage: 400 V
  current: 3.4 A
  frequency: 50 Hz
  speed: 1420 rpm
  poles: 4
  power_factor: 0.79
  efficiency: 80 %
  service_factor: 1.15
rig: ../rigs/rig.yaml
conditions: {ambient: 21 degC, supply_frequency: 50 Hz, local_gravity: 9.81 m/s^2}
readings:
  zero_before: 0.004 kg
  zero_after: 0.006 kg
  load_test:
    columns: {speed: rpm, scale: kg, voltage: V, current: A, input_power: W}
    rows:
      - [1492, 0.00, 401, 1.92, 160]
      - [1458, 1.10, 400, 2.50, 1030]
      - [1420, 2.06, 399, 3.45, 1850]
criteria: iec-60034-1
"""

ARM_RIG = """\
name: Arm brake
absorber: {kind: arm}
arm_length: {value: 0.5 m, tolerance: 0.5 mm}
scale:
  reads: mass
  resolution: 0.001 kg
  calibration:
    applied: [0 kg, 1 kg, 2 kg, 5 kg]
    indicated: [0.002 kg, 1.001 kg, 2.004 kg, 5.009 kg]
tare_torque: 0.03 N*m
limits: {torque: 16 N*m, scale: 5 kg}
"""

ROPE_RIG = """\
name: Rope brake
absorber: {kind: rope}
drum_radius: 100 mm
rope_diameter: 8 mm
scale: {reads: force}
"""

TORQUE_SENSOR_RIG = """\
name: Torque sensor
absorber: {kind: torque sensor}
"""

#: Good instruments, for a rig of a test that is not about uncertainty.
FINE_INSTRUMENTS = """\
tachometer: {tolerance: 0.1 rpm}
meters:
  voltage: {reading: 0.2 %}
  current: {reading: 0.2 %}
  input_power: {reading: 0.2 %}
  winding_temperature: {digits: 1, resolution: 0.1 degC}
  winding_resistance: {reading: 0.05 %}
  ambient_temperature: {digits: 1, resolution: 0.1 degC}
  torque: {reading: 0.2 %}
"""

#: Everything else that can be read of a motor; stands below the load test.
MORE_READINGS = """\
  no_load:
    columns: {voltage: V, current: A, input_power: W}
    rows:
      - [440, 2.78, 193]
      - [400, 2.12, 140]
      - [240, 0.92, 53]
      - [160, 0.61, 33]
  locked_rotor:
    columns: {voltage: V, current: A, input_power: W, scale: kg}
    rows: [[100, 3.4, 280, 0.4]]
  winding:
    cold: {resistance: 7.03 ohm, temperature: 21 degC}
    hot: {resistance: 8.67 ohm, after: 25 s, ambient: 22 degC}
    between: lines
  insulation: {voltage: 500 V, at_1_min: 340 Mohm, at_10_min: 910 Mohm, temperature: 21 degC}
  heat_run:
    load: 100 %
    columns: {time: min, frame_temperature: degC}
    rows: [[0, 21], [30, 44], [60, 52], [90, 56], [120, 58], [150, 59]]
"""

CSV = """\
n (1/min),Kraft,U,I,P,Notiz
1492,0.00,401,1.92,160,
1458,1.10,400,2.50,1030,"warm, quiet"
1420,2.06,399,3.45,1850,
"""

CRITERIA = """\
name: weir-street
title: Limits of Weir Street
edition: "2026"
criteria:
  - id: current
    title: Current at rated power
    quantity: current
    at: rated power
    declared: current
    high: {part: 10 %}
    clause: house rule 3
"""


def replaced(text: str, edits: Mapping[str, str]) -> str:
    """A text with each key, which stands in it exactly once, replaced by its value."""
    for old, new in edits.items():
        if text.count(old) != 1:
            raise ValueError(f"{old!r} stands {text.count(old)} times, not once")
        text = text.replace(old, new)
    return text


_TYPED = JOB[JOB.index("    columns:") : JOB.index("criteria:")]
_FROM_FILE = """\
    file: load_test.csv
    columns:
      speed: {from: n (1/min), unit: rpm}
      scale: {from: Kraft, unit: kg}
      voltage: {from: U, unit: V}
      current: {from: I, unit: A}
      input_power: {from: P, unit: W}
      remark: {from: Notiz}
"""
_ROPE = {"scale: kg": "scale: N, scale_2: N", "0.00,": "10, 10,", "1.10,": "75, 5,", "2.06,": "125, 7,"}
_NO_ZEROS = {"  zero_before: 0.004 kg\n": "", "  zero_after: 0.006 kg\n": ""}

#: Benches to begin with: the text of each file by its short name.
BENCHES: dict[str, dict[str, str]] = {
    "arm": {"job": JOB, "rig": ARM_RIG},
    "file": {"job": replaced(JOB, {_TYPED: _FROM_FILE}), "rig": ARM_RIG, "csv": CSV},
    "rope": {"job": replaced(JOB, {**_ROPE, **_NO_ZEROS}), "rig": ROPE_RIG},
    "torque sensor": {"job": replaced(JOB, {"scale: kg": "torque: N*m", **_NO_ZEROS}), "rig": TORQUE_SENSOR_RIG},
    "full": {"job": replaced(JOB, {"criteria:": MORE_READINGS + "criteria:"}), "rig": ARM_RIG},
    "criteria": {
        "job": replaced(JOB, {"criteria: iec-60034-1": "criteria: limits.yaml"}), "rig": ARM_RIG, "criteria": CRITERIA,
    },
}  # fmt: skip

#: Where each file stands, seen from the shop's folder.
FILES = {
    "job": Path("motor/job.yaml"),
    "rig": Path("rigs/rig.yaml"),
    "csv": Path("motor/load_test.csv"),
    "criteria": Path("motor/limits.yaml"),
}


@dataclass
class Bench:
    """One shop's folder, with the texts of its files until they are written."""

    folder: Path
    texts: dict[str, str] = field(default_factory=lambda: dict(BENCHES["arm"]))

    def start(self, name: str) -> Bench:
        """Begin with another of the benches."""
        self.texts = dict(BENCHES[name])
        return self

    def edit(self, file: str, edits: Mapping[str, str]) -> Bench:
        """Replace parts of a file's text, each of which stands in it once."""
        self.texts[file] = replaced(self.texts[file], edits)
        return self

    def with_fine_instruments(self) -> Bench:
        """The typed job on a rig that states good instruments, its frequency known and its winding warm at every load."""
        self.texts["rig"] += FINE_INSTRUMENTS
        warm = {"input_power: W}": "input_power: W, winding_temperature: degC}"}
        rows = {f", {watts}]": f", {watts}, 75]" for watts in (160, 1030, 1850)}
        frequency = {"supply_frequency: 50 Hz": "supply_frequency: {value: 50 Hz, tolerance: 0.01 Hz}"}
        return self.edit("job", {**warm, **rows, **frequency})

    def write(self) -> Path:
        """Write the files and return the path of the job."""
        for name, text in self.texts.items():
            path = self.folder / FILES[name]
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="")
        return self.folder / FILES["job"]
