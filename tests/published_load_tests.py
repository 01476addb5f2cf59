"""Measured load tests by others, in SI, for checks that must stay silent or name what is visibly wrong."""

from __future__ import annotations

import math

import numpy as np

from certgen.assessment.plausibility.row_relations import LoadRows, TypedColumn
from certgen.assessment.plausibility.scatter_between_rows import Spread

RPM = 2.0 * math.pi / 60.0

#: 220 V 150 W 60 Hz single-phase motor with a 4 uF capacitor, no load towards breakdown: mN*m, rpm, V, mA, mW.
#: github.com/Shinjinok/MultiLayerHeatTransferEx, commit 818acc0e, Octave/220V_150W_60Hz.txt, its first eleven rows.
SINGLE_PHASE_150_W = np.array([
    (97.65625, 1771.875, 220.71, 483.0, 82600.0), (121.0938, 1768.125, 220.73, 491.0, 85600.0),
    (148.4375, 1764.375, 220.73, 501.0, 89900.0), (275.0, 1743.75, 220.64, 558.0, 108200.0),
    (396.875, 1721.25, 220.66, 639.0, 130100.0), (495.3125, 1701.25, 220.63, 716.0, 149200.0),
    (578.125, 1681.25, 220.61, 786.0, 165900.0), (644.5313, 1661.25, 220.59, 853.0, 181200.0),
    (701.5625, 1641.25, 220.57, 926.0, 197600.0), (744.5313, 1623.125, 220.56, 983.0, 210300.0),
    (789.0625, 1601.875, 220.54, 1042.0, 223300.0),
])  # fmt: skip

#: 18.5 kW 400 V 50 Hz four-pole cage motor: output W, A, rpm, power factor, efficiency. Haumer, Kral, Kapeller, Baeuml,
#: Gragger: The AdvancedMachines Library, Modelica 2009; Modelica Standard Library, IMC_withLosses.mo, 23439a13 (BSD-3).
CAGE_18_5_KW = np.array([
    (1845, 11.2, 1496, 0.327, 0.725), (3549, 12.27, 1493, 0.506, 0.8268), (5325, 13.87, 1490, 0.636, 0.8698),
    (7521, 16.41, 1486, 0.741, 0.8929), (9372, 18.78, 1482, 0.797, 0.9028), (11010, 21.07, 1479, 0.831, 0.9064),
    (12930, 23.92, 1475, 0.857, 0.9088), (14950, 27.05, 1471, 0.875, 0.9089), (16360, 29.4, 1467, 0.887, 0.907),
    (18500, 32.85, 1462, 0.896, 0.9044), (20180, 35.92, 1458, 0.902, 0.9008), (22170, 39.35, 1453, 0.906, 0.8972),
])  # fmt: skip

#: Three-phase four-pole 50 Hz motor, about 1.2 kW, a student laboratory: V, A, kW, rpm, N*m (public MATLAB script).
CAGE_1_2_KW = np.array([
    (415.7, 2.01, 0.29, 1470, 0.46), (415.3, 2.13, 0.64, 1467, 2.83), (412.9, 2.32, 0.94, 1462, 4.54),
    (414.9, 2.61, 1.26, 1432, 6.42), (414.5, 2.75, 1.37, 1409, 7.02), (414.5, 2.91, 1.56, 1399, 8.05),
])  # fmt: skip

#: DC shunt motor on 224 V, two spring balances on an arm of 0.1504 m: kg, kg, A, rpm
#: (public Scilab script BRAKE TEST ON DC SHUNT MOTOR).
SHUNT_BRAKE = np.array([
    (2, 0.7, 2, 1490), (3.7, 1.3, 3, 1475), (4.8, 1.6, 4, 1463), (5.7, 1.7, 5, 1450), (6.8, 2, 6, 1440),
    (7.9, 2.2, 7, 1428), (9.2, 2.4, 8, 1415), (10, 2.7, 9, 1393), (11.4, 3.0, 11, 1381), (12.4, 3.2, 12, 1363),
])  # fmt: skip


def single_phase_150_w() -> LoadRows:
    torque, speed, voltage, current, power = SINGLE_PHASE_150_W.T
    return LoadRows(
        kind="single_phase", synchronous_speed=1800 * RPM, speed=speed * RPM, torque=torque / 1e3, voltage=voltage,
        current=current / 1e3, input_power=power / 1e3,
        spread={
            "speed": Spread(0.625 * RPM / math.sqrt(12), 3e-4), "torque": Spread(0.004 / math.sqrt(12), 0.002),
            "voltage": Spread(0.003, 0.001), "current": Spread(0.0003, 0.001), "input_power": Spread(0.03, 0.001),
        },
        columns=(
            TypedColumn("speed", "speed", speed, RPM, RPM), TypedColumn("torque", "torque", torque, 1e-3, 1e-3),
            TypedColumn("voltage", "voltage", voltage), TypedColumn("current", "current", current, 1e-3, 1e-3),
            TypedColumn("input_power", "input_power", power, 1e-3, 1e-3),
        ),
    )  # fmt: skip


def cage_18_5_kw() -> LoadRows:
    power, current, speed, factor, efficiency = CAGE_18_5_KW.T
    return LoadRows(
        kind="three_phase", synchronous_speed=1500 * RPM, speed=speed * RPM, torque=power / (speed * RPM),
        current=current, input_power=power / efficiency, voltage=np.full(len(power), 400.0), power_factor=factor,
        spread={
            "speed": Spread(RPM / math.sqrt(12), 3e-4), "torque": Spread(0.01, 0.002), "voltage": Spread(0.1, 0.001),
            "current": Spread(0.01, 0.001), "input_power": Spread(2.0, 0.001),
        },
    )  # fmt: skip


def cage_1_2_kw() -> LoadRows:
    voltage, current, power, speed, torque = CAGE_1_2_KW.T
    return LoadRows(
        kind="three_phase", synchronous_speed=1500 * RPM, speed=speed * RPM, torque=torque, voltage=voltage,
        current=current, input_power=1e3 * power,
        spread={
            "speed": Spread(RPM / math.sqrt(12), 3e-4), "torque": Spread(0.01 / math.sqrt(12), 0.002),
            "voltage": Spread(0.03, 0.0025), "current": Spread(0.003, 0.0025), "input_power": Spread(3.0, 0.002),
        },
    )  # fmt: skip


def shunt_brake() -> LoadRows:
    heavier, lighter, current, speed = SHUNT_BRAKE.T
    change = 9.80665 * 0.1504
    return LoadRows(
        kind="dc", excitation="shunt", speed=speed * RPM, torque=(heavier - lighter) * change,
        voltage=np.full(len(speed), 224.0), current=current,
        spread={
            "speed": Spread(RPM, 5e-4), "torque": Spread(0.1 * change / math.sqrt(6), 0.002), "voltage": Spread(0.3, 0.002),
            "current": Spread(0.5 / math.sqrt(12), 0.004),
        },
        columns=(
            TypedColumn("balance_1", "torque", heavier, change), TypedColumn("balance_2", "torque", lighter, -change),
            TypedColumn("current", "current", current), TypedColumn("speed", "speed", speed, RPM, RPM),
        ),
    )  # fmt: skip
