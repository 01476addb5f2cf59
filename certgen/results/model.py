"""The results tree: what one test says, as plain frozen data.

``results.json`` is this tree written out, field for field. Every quantity is in SI
(N*m, W, rad/s, V, A, K, Hz; ratios have the unit "1"). ``None`` means not measured or not computable.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from certgen.job.model import Certificate, Motor, Nameplate
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.readings.model import FileRead
from certgen.results.as_found import AsFound
from certgen.results.instruments import InstrumentUsed

#: Version of this tree: raised when a key goes or changes its meaning; new keys leave it as it is.
FORMAT = 1

# Tests of changing speed: a sweep, a run-down.


@dataclass(frozen=True)
class Sweep:
    """How the load points were made from the log of a sweep; inertia and torques at the judged shaft."""

    bandwidth: Quantity  # of the low-pass, -3 dB
    falling_runs: int
    rising_runs: int
    greatest_acceleration: Quantity  # in size, unit "rad/s^2"
    inertia: Quantity | None = None  # allowed for; None where the rig states none
    inertia_torque: Quantity | None = None  # the most it amounted to
    gap_speed: Quantity | None = None  # where torque with falling and with rising speed lie furthest apart
    falling_torque: Quantity | None = None  # there
    rising_torque: Quantity | None = None
    closing_inertia: Quantity | None = (
        None  # with which both would agree best; from the scatter, standard deviation x 2
    )
    left_out: tuple[LogLeftOut, ...] = ()  # samples of the log that are part of no point


@dataclass(frozen=True)
class RunDown:
    """Friction by a run-down with the supply off; torques at the shaft whose speed was read."""

    coasting: str  # motor, rig, or motor and rig
    method: Message
    lowest_speed: Quantity
    highest_speed: Quantity
    at_speed: Quantity  # rated speed, or the highest where that was not passed
    at_rated_speed: bool
    deceleration: Quantity  # there, unit "rad/s^2"
    residual: Quantity | None = None  # standard deviation of the speeds about the fit
    inertia: Quantity | None = None
    inertia_found: bool = False  # by the braked run, not stated
    inertia_stated: Quantity | None = None  # where a braked run found it and the files state it too
    friction_torque: Quantity | None = None
    friction_loss: Quantity | None = None
    constant_term: Quantity | None = None  # N*m; None where the readings do not carry the term
    viscous_term: Quantity | None = None  # unit "N*m*s"
    windage_term: Quantity | None = None  # unit "N*m*s^2"
    notes: tuple[Message, ...] = ()
    left_out: tuple[LogLeftOut, ...] = ()  # rows that are faults


# A log: its plateaus, and what was left out of it. Times in s.


@dataclass(frozen=True)
class ColumnMean:
    """The mean of one column over a plateau, in SI; the effective number allows for correlated samples."""

    mean: float
    unit: str
    standard_deviation: float  # of the samples
    samples: int
    effective_number: float
    standard_uncertainty: float  # of the mean, by its scatter alone


@dataclass(frozen=True)
class LogPlateau:
    """One steady stretch of a log and the load point it gave; times in s."""

    from_: float
    to: float
    samples: int
    used: int
    means: Mapping[str, ColumnMean]  # by column
    pinned: bool = False  # chosen in the job
    steady: bool = True  # false only for a stretch chosen in the job


@dataclass(frozen=True)
class LogLeftOut:
    """Samples of a log left out for one reason, from the first to the last of them; times in s."""

    reason: Message
    count: int
    from_: float
    to: float
    fault: bool  # false for what any log holds: changes of load, standstill


@dataclass(frozen=True)
class Log:
    """How a log became load points; times in s. ``used`` and the counts of ``left_out`` add up to ``samples``."""

    samples: int
    used: int
    seconds: float
    seconds_used: float
    hold: float
    speed_band: float
    torque_band: float
    plateaus: tuple[LogPlateau, ...]  # in the order of the load points
    left_out: tuple[LogLeftOut, ...]
    summary: tuple[Message, ...]  # sentences


# Points, curves and the figures of each subject, then what is said of them, and the tree that holds it all.


PASS, BETTER, CONDITIONAL_PASS, CONDITIONAL_FAIL, FAIL = (
    "pass",
    "better",
    "conditional pass",
    "conditional fail",
    "fail",
)
#: A finding that could not be made.
FINDING_NOT_TESTED = "not tested"
#: A motor that was on the brake, of which nothing can be stated.
NO_VERDICT = "no verdict"
#: Outcomes of a finding, from best to worst, then the absence of one; 'better' than declared on the side that harms
#: nobody ranks as a pass.
FINDING_OUTCOMES = (PASS, BETTER, CONDITIONAL_PASS, CONDITIONAL_FAIL, FAIL, FINDING_NOT_TESTED)
#: Outcomes of the verdict, from best to worst, then the absence of one.
OUTCOMES = (PASS, CONDITIONAL_PASS, CONDITIONAL_FAIL, FAIL, NO_VERDICT)

#: What a point's ``flags`` may hold.
IMPOSSIBLE = "impossible"
EXTRAPOLATED = "extrapolated"
FULL_SPAN = "full span"


@dataclass(frozen=True)
class Point:
    """One load point, tested or read off the load curve; torque, speed and power are the judged shaft's."""

    speed: Quantity | None = None
    slip: Quantity | None = None
    torque: Quantity | None = None
    shaft_power: Quantity | None = None
    input_power: Quantity | None = None
    apparent_power: Quantity | None = None
    current: Quantity | None = None
    voltage: Quantity | None = None
    power_factor: Quantity | None = None
    efficiency: Quantity | None = None
    losses: Quantity | None = None
    temperature: Quantity | None = None
    current_unbalance: Quantity | None = None
    voltage_unbalance: Quantity | None = None
    frequency: Quantity | None = None
    time: Quantity | None = None
    remark: str = ""
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Curve:
    """Matching columns of one drawn line, in SI; ``units`` names the unit of each column."""

    columns: Mapping[str, tuple[float, ...]]
    units: Mapping[str, str]


@dataclass(frozen=True)
class Curves:
    """What the charts draw besides the points; ``None`` where too little was tested."""

    torque_speed: Curve | None = None  # speed, torque
    load: Curve | None = None  # shaft_power, current, power_factor, efficiency (a column absent if not measured)
    trace: Curve | None = None  # of a log, thinned: time, speed, torque
    faults: Curve | None = None  # its faulty samples: time, speed, torque


@dataclass(frozen=True)
class Characteristic:
    """Single figures of the machine; those of starting and overload are at rated voltage where it can be said."""

    synchronous_speed: Quantity | None = None  # of the judged shaft: behind the gear where there is one
    poles: int | None = None
    poles_basis: Message | None = None
    no_load_speed: Quantity | None = None
    no_load_current: Quantity | None = None
    rated_torque: Quantity | None = None
    locked_rotor_torque: Quantity | None = None
    locked_rotor_current: Quantity | None = None
    pull_up_torque: Quantity | None = None
    pull_up_speed: Quantity | None = None
    breakdown_torque: Quantity | None = None
    breakdown_speed: Quantity | None = None
    breakdown_torque_as_tested: Quantity | None = None  # only where it was not tested at rated voltage
    locked_rotor_torque_ratio: Quantity | None = None  # to rated torque
    locked_rotor_current_ratio: Quantity | None = None  # to rated current
    pull_up_torque_ratio: Quantity | None = None
    breakdown_torque_ratio: Quantity | None = None
    peak_power: Quantity | None = None
    light_load_speed_ratio: Quantity | None = None  # lightest load tested to rated load; motors with a commutator
    speed_character: str = ""  # of a dc motor by its own curve: shunt, compound or series
    kva_per_hp: Quantity | None = None  # unit "kVA/hp"
    code_letter: str | None = None
    design_letter: str | None = None
    design_letter_reason: Message | None = None
    efficiency_class: Message | str | None = None  # indicative, never a declaration
    efficiency_class_reason: Message | None = None
    gear_ratio: Quantity | None = None  # as the speeds imply it
    gear_loss: Quantity | None = None
    proves: tuple[
        Message, ...
    ] = ()  # sentences: what an incomplete curve proves, how figures were scaled, how speed holds


@dataclass(frozen=True)
class LossPoint:
    """Input power taken apart at one load, corrected to the reference temperature."""

    load: Quantity  # part of rated load, unit "1"
    input_power: Quantity
    stator: Quantity
    core: Quantity
    rotor: Quantity
    friction_windage: Quantity
    stray: Quantity
    shaft_power: Quantity
    efficiency: Quantity


@dataclass(frozen=True)
class StrayRegression:
    """Residual loss over torque squared: slope [W/(N*m)^2], intercept [W], correlation."""

    slope: Quantity
    intercept: Quantity
    correlation: Quantity
    rows: tuple[int, ...]  # load points used, counted from 1
    removed_row: int | None
    accepted: Mapping[str, bool]  # by the name of the rule
    note: Message | None = None
    residuals: Curve | None = None  # torque, residual_loss: of the rows used, then of the one left out


@dataclass(frozen=True)
class Losses:
    """Losses at rated load, and how they were found; ``None`` where the readings are too few."""

    method: Message
    reason: Message
    stator: Quantity | None = None
    rotor: Quantity | None = None
    core: Quantity | None = None
    friction_windage: Quantity | None = None
    stray: Quantity | None = None
    efficiency: Quantity | None = None
    reference_temperature: Quantity | None = None
    direct_efficiency: Quantity | None = None  # output over input at rated power, beside that by segregation
    efficiency_as_tested: Quantity | None = None  # by segregation, at the temperature of the test
    stray_regression: StrayRegression | None = None
    at_loads: tuple[LossPoint, ...] = ()
    dynamometer_correction: Quantity | None = None  # torque added for the brake's own friction
    constant: Quantity | None = None  # core, friction and windage together, where they cannot be separated
    notes: tuple[Message, ...] = ()
    no_load: Curve | None = None  # of the no-load test: voltage, constant_loss
    no_load_line: Curve | None = None  # its straight part, from zero voltage: voltage, constant_loss


@dataclass(frozen=True)
class Thermal:
    """How warm the motor became, and how far from steady."""

    winding_rise: Quantity | None = None  # by resistance, at the instant of switching off
    hot_resistance: Quantity | None = None  # at that instant
    rise_limit: Quantity | None = None
    rise_limit_source: Message | str | None = None
    heat_run_part: str = ""  # which part the heat run's temperatures are of: winding or frame
    final_rise: Quantity | None = None  # of the heat run's exponential
    time_constant: Quantity | None = None
    remaining_rise: Quantity | None = None  # from the last reading to the final rise
    steady: bool | None = None
    steady_criterion: Message | None = None
    notes: tuple[Message, ...] = ()
    heat_run: Curve | None = None  # time since its first reading, rise
    heat_run_fit: Curve | None = None  # its exponential, over the run and beyond: time, rise


@dataclass(frozen=True)
class InsulationResult:
    """Insulation resistance against its minimum."""

    outcome: str
    at_1_min: Quantity
    at_40_degC: Quantity | None
    minimum: Quantity | None
    polarization_index: Quantity | None
    minimum_polarization_index: Quantity | None
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True)
class AssessedRating:
    """A rating for a motor whose plate declares none; ``power`` is ``None`` where too little was measured."""

    words: Message  # what the page prints, so that nobody takes it for a maker's rating
    power: Quantity | None = None
    power_label: str = ""  # the step of the standard ladder, as written on plates
    current: Quantity | None = None
    speed: Quantity | None = None
    torque: Quantity | None = None
    service_factor: Quantity | None = None
    basis: tuple[Message, ...] = ()
    limited_by: Message | None = None
    to_measure: tuple[Message, ...] = ()


@dataclass(frozen=True)
class Difference:
    """One quantity of two tests of the same motor."""

    title: Message
    quantity: str  # what it is of, by its name in a point
    unit: str
    first: float
    second: float
    expanded_uncertainty: float | None = None  # of the change from first to second, what both share taken out
    message: Message | None = None  # what the change means, where it is within its uncertainty


@dataclass(frozen=True)
class Comparison:
    """Two tests of one motor: before and after a repair, or loads taken upwards and downwards."""

    title: Message
    first: Message  # name of either test
    second: Message
    differences: tuple[Difference, ...]
    note: Message | None = None


@dataclass(frozen=True)
class Limits:
    """A requirement: the lowest and highest value allowed, either may be absent."""

    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Finding:
    """One comparison with the nameplate under one published or declared rule."""

    id: str
    title: Message | str
    outcome: str
    unit: str
    declared: float | None = None
    measured: float | None = None
    required: Limits | None = None
    decision_rule: str = "simple acceptance"
    source: Message | str = ""
    note: Message | str = ""
    basis: str = "published"  # what the limit rests on: published, or a workshop's own
    decides: bool = True  # whether the verdict may rest on it
    expanded_uncertainty: float | None = None  # of the measured value, where the decision knew it
    false_decision_probability: float | None = None  # of a false accept where accepted, of a false reject otherwise
    quantity: str = ""  # what was measured, by its name in a point, where it is a quantity of a point


#: What a statement covers, in the order it is stated; and how far each was tested.
NAMEPLATE, INSULATION, WINDING_TEMPERATURE = "nameplate", "insulation", "winding_temperature"
SERVICE_FACTOR, STARTING = "service_factor", "starting"
MET, FAILED, REACHED, NOT_DECLARED, NOT_TESTED = "met", "failed", "reached", "not declared", "not tested"


@dataclass(frozen=True)
class ScopeItem:
    """One part of what a verdict covers: nameplate, insulation, winding temperature, service factor or starting."""

    subject: str
    state: str  # met, failed, reached (but not held), not declared, not tested
    detail: Message | None = None  # the figures in brief, such as '9 of 9 checks' or 'held 6 min'


@dataclass(frozen=True)
class Verdict:
    """What the page says in one word, and why."""

    outcome: str
    reasons: tuple[Message | str, ...]
    kind: str = ""  # of 'no verdict': no plate, not at rating, readings, supply
    headline: Message | None = None  # what is printed large
    scope: tuple[ScopeItem, ...] = ()
    in_question: tuple[str, ...] = ()  # figures that rows off their neighbours move by more than their uncertainty


@dataclass(frozen=True)
class Evidence:
    """Readings that contradict each other, their neighbours or physics, or an upset that is out of every figure."""

    id: str
    table: str  # load_test, no_load, locked_rotor, heat_run ...
    row: int | None  # counted from 1, or the line of a file
    message: Message  # what contradicts what, and by how much
    suggests: Message | None = None  # the likely slip, and what the cell should read
    effect: str = "note"  # note, caps (at most a conditional pass), no verdict


#: How much is at stake: life and limb; the motor or what it drives; the figures, or what holds for every motor.
TO_LIFE, TO_THE_MOTOR, TO_THE_FIGURES = 3, 2, 1


@dataclass(frozen=True)
class Caution:
    """A warning for whoever handles the motor or trusts the figures; ``because`` names what in this test raised it."""

    id: str
    text: Message
    because: Message | str
    danger: int = TO_THE_FIGURES
    do_not_energise: bool = False  # whether the motor must not be switched on


@dataclass(frozen=True)
class Conditions:
    """How the test was made."""

    rig: str
    method: tuple[Message, ...]  # sentences: torque measurement, drive, zero and calibration, electrical input
    criteria: Message  # title and edition of the criteria set
    decision_rule: Message
    ambient: Quantity | None = None
    supply: str | None = None  # grid, generator or converter, where the job says
    harmonics: Quantity | None = None  # total harmonic distortion of the supply voltage
    ripple: Quantity | None = None  # of a direct current
    supply_frequency: Quantity | None = None
    supply_frequency_basis: Message | None = None
    local_gravity: Quantity | None = None  # only where a mass scale was used
    local_gravity_basis: Message | None = None
    instruments: tuple[Message, ...] = ()
    calibrations: tuple[InstrumentUsed, ...] = ()  # instruments by their papers, as they stood on the day of the test
    not_evaluated: tuple[str, ...] = ()  # keys recorded in job or rig whose use is not built
    missing: tuple[Message, ...] = ()  # sentences: what could not be computed, and what it would take


@dataclass(frozen=True)
class Traceability:
    """What the numbers were made from and by."""

    program: str
    version: str
    inputs: Mapping[str, str]  # file name as written in the job -> SHA-256, hexadecimal
    standards: tuple[Message, ...]


@dataclass(frozen=True)
class BudgetLine:
    """One input's part in the uncertainty of one figure; sensitivity in the figure's unit over ``unit``.

    What JCGM 100:2008, 7.2.7, and EA-4/02 M:2022, section 6, ask of a budget. An input without an estimate of its own is
    an error, estimated as zero (4.3.1).
    """

    quantity: str
    at: str  # name of the point in this tree, or "points[0]" and so on
    input: Message
    estimate: float | None
    unit: str
    half_width: float | None  # None: a scatter, which has none
    divisor: float  # half-width (or the standard uncertainty of a scatter) over the standard uncertainty
    standard_uncertainty: float
    distribution: str
    degrees_of_freedom: float | None  # None: infinite
    sensitivity: float
    contribution: float  # in SI of the quantity
    share: float  # of the variance
    full_scale: float | None = None  # the range of the instrument, where the rig states it


@dataclass(frozen=True)
class Results:
    """Everything one certificate says."""

    certificate: Certificate
    motor: Motor
    nameplate: Nameplate
    points: tuple[Point, ...]
    curves: Curves
    characteristic: Characteristic
    at_rated_current: Point | None
    at_rated_power: Point | None
    at_service_factor: Point | None
    at_rated_speed: Point | None
    findings: tuple[Finding, ...]
    verdict: Verdict
    cautions: tuple[Caution, ...]
    conditions: Conditions
    traceability: Traceability
    losses: Losses | None = None
    thermal: Thermal | None = None
    insulation: InsulationResult | None = None
    assessed_rating: AssessedRating | None = None
    comparisons: tuple[Comparison, ...] = ()
    sweep: Sweep | None = None
    run_down: RunDown | None = None
    budget: tuple[BudgetLine, ...] = ()
    log: Log | None = None  # where the load test was a log
    readings: tuple[FileRead, ...] = ()  # what was found in each readings file, and what was done to it
    as_found: AsFound = AsFound()  # what was looked at and measured before the brake
    plausibility: tuple[Evidence, ...] = ()  # whether the readings can be what they say
    format: int = FORMAT
