"""Three-phase circuits against a machine library: the induction machine of OpenDSS, a power-flow program.

The library (dss-python, BSD licence) solves the network with the machine in it and tells currents, powers,
losses and shaft power of the steady state. Its machine has no core-loss branch and no friction, so none is
given here; its horsepower is 746 W.
"""

from __future__ import annotations

import importlib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from dss import DSS

from certgen.physics.equivalent_circuit import Circuit, solve

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
