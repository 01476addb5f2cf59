"""Circuits, and the way from readings to losses, against the induction machine of OpenDSS, a power-flow program.

The library (dss-python, BSD licence) solves the network with the machine in it and tells currents, powers,
losses and shaft power of the steady state. Its machine has no core-loss branch and no friction, so none is
given to the circuits here; friction and stray load loss of a test are taken off its shaft by this module. Its
horsepower is 746 W.
"""

from __future__ import annotations

import importlib
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from builders import make_job, make_readings, make_rig, make_table
from dss import DSS
from mesh_circuit import MeshCircuit
from scipy.optimize import brentq

from certgen.job.model import ColdWinding, Conditions, Winding
from certgen.physics.equivalent_circuit import Circuit, solve
from certgen.readings.model import Readings, Zero
from certgen.reduction.reduce import reduce_test
from certgen.results.losses import SEGREGATION, losses_of

EXAMPLES = Path(__file__).parents[2] / "example_jobs"
POLES, FREQUENCY, VOLTAGE = 4, 50.0, 400.0
R1, X1, R2, X2, XM = 4.4, 4.4, 3.9, 5.9, 112.0
SLIPS = (-0.03, 0.005, 0.02, 0.05, 0.1, 0.3, 1.0)
BALANCED = ((1.0, 0.0), (1.0, -120.0), (1.0, 120.0))  # phase voltages: share of rated, degrees
UNBALANCED = ((1.01, 0.0), (0.99, -120.7), (1.004, 119.5))
SYNCHRONOUS_SPEED = 4 * math.pi * FREQUENCY / POLES

#: The library solves by iteration to 1e-12 of the voltage; a billionth leaves room for that and for rounding.
agrees = {"rel": 1e-9, "abs": 1e-6}


@dataclass(frozen=True)
class LibraryPoint:
    """What the library says of one steady state, in SI."""

    line_voltages: tuple[float, float, float]
    line_currents: tuple[float, float, float]
    input_power: float
    reactive_power: float
    stator_loss: float
    rotor_loss: float
    shaft_power: float


class Network:
    """A stiff three-phase supply and one induction machine, in the library."""

    def __init__(self, phases: tuple[tuple[float, float], ...]) -> None:
        base = VOLTAGE**2 / 2000  # ohm that make 1 in the machine's own scale, at 2 kVA
        phase_kilovolts = VOLTAGE / 1000 / math.sqrt(3)
        self._say("clear", f"set defaultbasefrequency={FREQUENCY}", "new circuit.bench bus1=elsewhere basekv=0.4")
        for number, (share, angle) in enumerate(phases, start=1):
            self._say(
                f"new vsource.line{number} bus1=feed.{number} phases=1 basekv={phase_kilovolts!r} "
                f"pu={share} angle={angle} R1=1e-7 X1=1e-7 R0=1e-7 X0=1e-7"
            )
        self._say(
            f"new indmach012.motor bus1=feed kv={VOLTAGE / 1000} kva=2 conn=wye maxslip=1 "
            f"puRs={R1 / base!r} puXs={X1 / base!r} puRr={R2 / base!r} puXr={X2 / base!r} puXm={XM / base!r}",
            "set voltagebases=[0.4]", "calcvoltagebases", "set tolerance=1e-12", "set maxiterations=100",
        )  # fmt: skip

    def at_slip(self, slip: float) -> LibraryPoint:
        """The steady state of the network with the machine held at a slip."""
        self._say(f"edit indmach012.motor slip={slip!r} slipoption=fixed", "solve")
        assert DSS.ActiveCircuit.Solution.Converged
        DSS.ActiveCircuit.SetActiveElement("indmach012.motor")
        element = DSS.ActiveCircuit.ActiveCktElement
        told = dict(zip(element.AllVariableNames, element.AllVariableValues, strict=True))
        a, b, c = (complex(*pair) for pair in element.Voltages.reshape(-1, 2)[:3])
        currents = [abs(complex(*pair)) for pair in element.Currents.reshape(-1, 2)[:3]]
        active, reactive = 1000 * element.Powers.reshape(-1, 2)[:3].sum(axis=0)
        return LibraryPoint(
            line_voltages=(abs(a - b), abs(b - c), abs(c - a)),
            line_currents=(currents[0], currents[1], currents[2]),
            input_power=float(active),
            reactive_power=float(reactive),
            stator_loss=told["Stator Losses"],
            rotor_loss=told["Rotor Losses"],
            shaft_power=746 * told["Shaft Power (hp)"],
        )

    @staticmethod
    def _say(*commands: str) -> None:
        for command in commands:
            DSS.Text.Command = command


@pytest.fixture(scope="module")
def generator() -> Iterator[ModuleType]:
    """The circuit that makes the readings of the example jobs."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(EXAMPLES))
        yield importlib.import_module("simulated_bench.three_phase")


def generated(generator: ModuleType, point: LibraryPoint, slip: float) -> Any:
    motor = generator.ThreePhaseMotor(POLES, FREQUENCY, R1=R1, X1=X1, R2=R2, X2=X2, Xm=XM)
    return generator.at_slip(motor, point.line_voltages, slip)


@pytest.mark.parametrize("phases", [BALANCED, UNBALANCED], ids=["balanced", "unbalanced"])
@pytest.mark.parametrize("slip", SLIPS)
def test_circuit_of_the_examples(generator, phases, slip):
    library = Network(phases).at_slip(slip)
    ours = generated(generator, library, slip)
    assert ours.line_currents == pytest.approx(library.line_currents, **agrees)
    assert ours.input_power == pytest.approx(library.input_power, **agrees)
    assert ours.stator_loss == pytest.approx(library.stator_loss, **agrees)
    assert ours.rotor_loss == pytest.approx(library.rotor_loss, **agrees)
    assert ours.shaft_power == pytest.approx(library.shaft_power, **agrees)
    if slip != 1.0:
        speed = SYNCHRONOUS_SPEED * (1 - slip)
        assert ours.torque == pytest.approx(library.shaft_power / speed, **agrees)


@pytest.mark.parametrize("slip", SLIPS)
def test_circuit_of_the_program(slip):
    library = Network(BALANCED).at_slip(slip)
    circuit = Circuit(
        stator_resistance=R1, stator_reactance=X1, rotor_resistance=R2, rotor_reactance=X2,
        magnetizing_reactance=XM, poles=POLES, frequency=FREQUENCY,
    )  # fmt: skip
    ours = solve(circuit, library.line_voltages[0] / math.sqrt(3), slip)
    apparent = math.hypot(library.input_power, library.reactive_power)
    assert ours.stator_current == pytest.approx(library.line_currents[0], **agrees)
    assert ours.input_power == pytest.approx(library.input_power, **agrees)
    assert ours.power_factor == pytest.approx(library.input_power / apparent, **agrees)
    assert ours.shaft_power == pytest.approx(library.shaft_power, **agrees)
    # On a balanced supply torque is air-gap power over synchronous speed, at standstill too.
    air_gap_power = library.shaft_power + library.rotor_loss
    assert ours.torque == pytest.approx(air_gap_power / SYNCHRONOUS_SPEED, **agrees)


@pytest.mark.parametrize("slip", SLIPS)
def test_circuit_of_the_tests(slip):
    library = Network(BALANCED).at_slip(slip)
    ours = MeshCircuit(R1, X1, R2, X2, XM, POLES, FREQUENCY).at(library.line_voltages[0] / math.sqrt(3), slip)
    assert float(ours.current) == pytest.approx(library.line_currents[0], **agrees)
    assert float(ours.input_power) == pytest.approx(library.input_power, **agrees)
    assert float(ours.stator_loss) == pytest.approx(library.stator_loss, **agrees)
    assert float(ours.rotor_loss) == pytest.approx(library.rotor_loss, **agrees)
    assert float(ours.developed_power) == pytest.approx(library.shaft_power, **agrees)


# The way from readings to losses, on readings that are the library's alone.


FRICTION = 25.0  # of the tested motor at synchronous speed [W]; with the power 2.5 of speed, as IEC 60034-2-1 takes it
STRAY = 0.2  # stray load loss over the square of torque [W/(N*m)^2]
LOADED = (0.062, 0.05, 0.04, 0.03, 0.02, 0.012)
LINE_VOLTAGES = ("voltage_ab", "voltage_bc", "voltage_ca")
PHASE_CURRENTS = ("current_a", "current_b", "current_c")


def friction_at(speed: float) -> float:
    return FRICTION * (speed / SYNCHRONOUS_SPEED) ** 2.5


def torque_left(point: LibraryPoint, speed: float) -> float:
    """What the library's shaft gives after friction and stray load loss: a T^2 + w T = rest. [N*m]"""
    rest = point.shaft_power - friction_at(speed)
    return 2 * rest / (speed + math.sqrt(speed**2 + 4 * STRAY * rest))


def read_off(points: list[LibraryPoint], speeds: list[float]) -> dict[str, list[float]]:
    """Columns of a load test: the library's currents and powers, friction and stray load loss taken off its shaft."""
    columns = {name: [one.line_voltages[phase] for one in points] for phase, name in enumerate(LINE_VOLTAGES)}
    columns |= {name: [one.line_currents[phase] for one in points] for phase, name in enumerate(PHASE_CURRENTS)}
    columns["input_power"] = [one.input_power for one in points]
    columns["speed"] = speeds
    columns["torque"] = [torque_left(one, speed) for one, speed in zip(points, speeds, strict=True)]
    return columns


def no_load_slip(network: Network) -> float:
    """Slip at which the library's shaft gives what friction takes."""

    def left(slip: float) -> float:
        return network.at_slip(slip).shaft_power - friction_at(SYNCHRONOUS_SPEED * (1 - slip))

    return float(brentq(left, 1e-6, 0.05, xtol=1e-12))


@pytest.mark.parametrize("phases", [BALANCED, UNBALANCED], ids=["balanced", "unbalanced"])
def test_load_points_reduced_from_the_librarys_readings(phases):
    network = Network(phases)
    library = [network.at_slip(slip) for slip in LOADED]
    speeds = [SYNCHRONOUS_SPEED * (1 - slip) for slip in LOADED]
    points = reduce_test(
        make_job(conditions=Conditions(supply_frequency=FREQUENCY), poles=POLES),
        make_rig(),
        make_readings(**read_off(library, speeds)),
    ).points
    given = [torque_left(one, speed) * speed for one, speed in zip(library, speeds, strict=True)]
    assert points.shaft_power == pytest.approx(given, **agrees)
    assert points.slip == pytest.approx(LOADED, **agrees)
    assert points.losses == pytest.approx(
        [one.input_power - out for one, out in zip(library, given, strict=True)], **agrees
    )
    assert points.efficiency == pytest.approx(
        [out / one.input_power for one, out in zip(library, given, strict=True)], **agrees
    )
    if phases is BALANCED:
        apparent = [math.hypot(one.input_power, one.reactive_power) for one in library]
        assert points.power_factor == pytest.approx(
            [one.input_power / all_of for one, all_of in zip(library, apparent, strict=True)], **agrees
        )


def test_losses_segregated_from_the_librarys_readings():
    """Copper losses of stator and rotor, friction and stray load loss come back; there is no core loss to find.

    The winding stands at the reference temperature of class B throughout, so that nothing is corrected.
    """
    warm = 95.0 + 273.15
    network = Network(BALANCED)
    library = [network.at_slip(slip) for slip in LOADED]
    speeds = [SYNCHRONOUS_SPEED * (1 - slip) for slip in LOADED]
    load_test = make_table(**read_off(library, speeds), winding_temperature=[warm] * len(LOADED))
    light = []
    for share in (1.1, 1.0, 0.95, 0.9, 0.6, 0.5, 0.4, 0.3):
        lowered = Network(tuple((share, angle) for _, angle in BALANCED))
        light.append(lowered.at_slip(no_load_slip(lowered)))
    no_load = make_table(
        voltage=[one.line_voltages[0] for one in light], current=[one.line_currents[0] for one in light],
        input_power=[one.input_power for one in light], winding_temperature=[warm] * len(light),
    )  # fmt: skip
    torque = torque_left(library[2], speeds[2])
    rated = torque * speeds[2]
    job = make_job(
        conditions=Conditions(supply_frequency=FREQUENCY), power=rated, voltage=VOLTAGE, frequency=FREQUENCY,
        poles=POLES, speed=speeds[2], insulation_class="B",
    )  # fmt: skip
    winding = Winding(cold=ColdWinding(2.0 * R1, warm), between="lines")
    job = replace(job, readings=replace(job.readings, winding=winding))
    readings = Readings(load_test, Zero(), Zero(), {"no_load": no_load})
    found = losses_of(job, readings, reduce_test(job, make_rig(), readings), None, "iec-60034-2-1")
    assert found is not None and found.method == SEGREGATION, found
    # Friction rests on a line through readings of falling speed, rotor loss in them: a per cent. The output is the input
    # less all losses, so that a third of a watt of friction moves the point at rated output, by 1e-4 of its current.
    assert found.stator.value == pytest.approx(library[2].stator_loss, rel=1e-3)
    assert found.rotor.value == pytest.approx(library[2].rotor_loss, rel=1e-3)
    assert found.friction_windage.value == pytest.approx(friction_at(speeds[2]), rel=0.02)
    assert found.core.value == pytest.approx(0.0, abs=0.002 * rated)
    assert found.stray.value == pytest.approx(STRAY * torque**2, abs=0.001 * rated)
    assert found.efficiency.value == pytest.approx(rated / library[2].input_power, abs=5e-4)
