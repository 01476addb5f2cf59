"""A 2.2 kW motor whose cage has cracked bars and whose rotor was skimmed after a rub; logged to a file."""

from __future__ import annotations

from dataclasses import replace

from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row, csv
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.three_phase import ThreePhaseMotor
from simulated_bench.three_phase_run import between_lines, hold, plate_values, rated, truth, wandering

NAME = "worn_rotor"
AS_MADE = ThreePhaseMotor(
    poles=4, frequency=50, R1=2.2, X1=3.1, R2=1.9, X2=4.1, Xm=84, Rc=1600, rated_emf=212, saturation=0.25,
    friction=0.06, windage=0.1, R_stray=0.5,
)  # fmt: skip
#: Cracked bars: more rotor resistance and stray loss. Skimmed rotor: a wider gap, so less magnetizing
#: reactance. Dry bearings: more friction.
WORN = replace(AS_MADE, R2=1.9 * AS_MADE.R2, R_stray=1.0, Xm=0.72 * AS_MADE.Xm, friction=0.2)
POWER, VOLTAGE, ROOM = 2200.0, 400.0, 18.0
LOADS = (0.25, 0.5, 0.75, 0.9, 1.0, 1.1, 1.2)  # of the plate's torque, after a reading with the brake off
ZERO = Zero(0.08, 0.03, 0.01, "N")
HEADER = (
    "t (min)", "n (1/min)", "arm force (N)", "U (V)", "I a (A)", "I b (A)", "I c (A)",
    "W1 (W)", "W2 (W)", "f (Hz)",
)  # fmt: skip
DRAG = 0.45  # N*m at the motor with the brake current off: brake and belt


def make() -> SimulatedJob:
    """The readings of this job."""
    return logged_test(NAME, WORN, pulsing=0.002)


def logged_test(name: str, tested: ThreePhaseMotor, *, pulsing: float) -> SimulatedJob:
    """The same loads on the same bench, taken by the logger, with the motor as it then is."""
    scatter = Scatter(name)
    brake = brake_of(RIGS / "belt_drive_brake.yaml")
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0005) for step in (0.1, 0.001))
    watt_a, watt_b = (meter(scatter, 1, limit=0.002, spread=0.001) for _ in range(2))
    point = rated(AS_MADE, VOLTAGE, POWER)
    body = Body(0.16, 30 * 60, ROOM, rise=45.0)
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [DRAG] + [load * point.torque * (1 + scatter.normal(0.01)) for load in LOADS]
    for number, torque in enumerate(torques):
        frequency = 50 * (1 + scatter.normal(0.0003))
        mean = wandering(VOLTAGE, scatter)
        lines = (mean * 1.002, mean * 0.999, mean * 0.999)
        motor = tested.at_frequency(frequency)
        operation, body = hold(motor, body, lines, torque, 7)
        trembling = pulsing * brake.load(torque)  # a cracked cage pulses at twice the slip frequency
        rows.append(
            (
                shown(7 * (number + 1), 1),
                shown(operation.speed * RPM + scatter.normal(0.8), 1),
                brake.show(brake.load(torque) + scatter.normal(trembling), ZERO.at(number, len(torques))),
                volt.show(mean),
                *(ampere.show(line) for line in operation.line_currents),
                watt_a.show(operation.wattmeters[0]),
                watt_b.show(operation.wattmeters[1]),
                shown(frequency, 0.01),
            )
        )
        truths.append(truth(operation, motor))
    cold = shown(between_lines(tested, ROOM), 0.001)
    return SimulatedJob(
        name=name,
        tables={},
        truth=truths,
        rated=plate_values(point),
        values=ZERO.values() | {"cold": f"{{resistance: {cold} ohm, temperature: {ROOM:.1f} degC}}"},
        files={"load_test.csv": csv(HEADER, rows)},
    )
