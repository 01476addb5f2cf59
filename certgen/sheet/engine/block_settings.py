"""What a layout may set for each kind of block: its title, its text, its heights."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from certgen.document.vocabulary import Group, Measure, Text, Whole, key


def length(example: str, high: float, low: float = 0.0) -> Measure:
    """A length on paper, with bounds [m]."""
    bounds = f"from {low * 1000:g} to {high * 1000:g} mm"
    return Measure("length", low=low, high=high, example=example, bounds=bounds)


def _title(default: str) -> Any:
    return key(Text(80, default or "a title"), "Title above the block; write '' for none.", default=default)


def _scale() -> Any:
    kind = Measure("ratio", low=0.5, high=4.0, example="1.2", bounds="from 0.5 to 4")
    return key(kind, "Text size of the block, in parts of the body text.", default=1.0)


@dataclass(frozen=True)
class Titled:
    """A block of text."""

    title: str = _title("")
    scale: float = _scale()


@dataclass(frozen=True)
class Chart:
    """A chart; the only kind of block that stretches."""

    title: str = _title("")
    scale: float = _scale()
    minimum_height: float = key(length("34 mm", 0.4, 0.02), "Least height, title included.", default=0.034)
    preferred_height: float = key(length("58 mm", 0.4, 0.02), "Height where room allows.", default=0.058)
    maximum_height: float = key(length("95 mm", 0.4, 0.02), "Most height where room is left over.", default=0.095)

    @property
    def rising(self) -> bool:
        """Whether the heights are in order."""
        return self.minimum_height <= self.preferred_height <= self.maximum_height


@dataclass(frozen=True)
class WritingRows:
    """A table to write in by hand."""

    title: str = _title("")
    scale: float = _scale()
    row_height: float = key(length("8.2 mm", 0.03, 0.008), "Height of a row.", default=0.0082)
    spare_rows: int = key(Whole(0, 20), "Rows without a target.", default=1)
    rows_without_plan: int = key(Whole(1, 30), "Rows where no load could be planned.", default=8)


@dataclass(frozen=True)
class Code:
    """A matrix code to scan."""

    title: str = _title("")
    scale: float = _scale()
    dots: int = key(
        Whole(3, 12), "Most dots of a printer of 203 an inch to a module; three where there is no more room.", default=4
    )


@dataclass(frozen=True)
class Blocks:
    """The settings of every kind of block, by its name."""

    heading: Titled = key(Group(Titled), "Title of the sheet, shop, number, page.", default=Titled())
    identity: Titled = key(
        Group(Titled), "What the motor is, its plate, maker, serial number, condition, customer.", default=Titled()
    )
    verdict: Titled = key(
        Group(Titled), "The outcome with what it covers, in a frame known by its shape.", default=Titled()
    )
    cautions: Titled = key(
        Group(Titled), "The cautions of the highest danger, and others up to three, framed.", default=Titled()
    )
    headline: Titled = key(
        Group(Titled), "The figures at rated power, large, and what the motor gives.", default=Titled()
    )
    checks: Titled = key(Group(Titled), "Every check drawn: allowed range, plate, measured.", default=Titled())
    condition: Titled = key(Group(Titled), "Supply, insulation, winding and method in brief.", default=Titled())
    remarks: Titled = key(Group(Titled), "The shop's remarks.", default=Titled())
    scope: Titled = key(Group(Titled), "What the results relate to, and how the page may be copied.", default=Titled())
    code: Titled = key(Group(Titled), "Number, outcome and figures as a code to scan.", default=Titled())
    nameplate: Titled = key(Group(Titled), "The plate, declared against measured.", default=Titled())
    findings: Titled = key(Group(Titled), "What was judged, by which rule.", default=Titled())
    rated_points: Titled = key(Group(Titled), "The points read off the load curve.", default=Titled())
    budget: Titled = key(Group(Titled), "How sure the rated figures are, and what that rests on.", default=Titled())
    load_points: Titled = key(Group(Titled), "The points tested, with their uncertainties.", default=Titled())
    characteristic: Titled = key(Group(Titled), "Single figures of the machine.", default=Titled())
    losses: Titled = key(Group(Titled), "Input power taken apart.", default=Titled())
    heat: Titled = key(Group(Titled), "Temperature rise and insulation.", default=Titled())
    as_found: Titled = key(Group(Titled), "What was measured before the brake.", default=Titled())
    instruments: Titled = key(
        Group(Titled), "The instruments by their papers, and whether they held at the test.", default=Titled()
    )
    inspection: Titled = key(Group(Titled), "The motor as found, item by item.", default=Titled())
    pictures: Titled = key(Group(Titled), "Every picture of the job with its name.", default=Titled())
    picture: Chart = key(
        Group(Chart), "A picture of the motor, or else of its plate, between these heights.", default=Chart()
    )
    rating: Titled = key(Group(Titled), "The rating assessed for a motor without one.", default=Titled())
    comparisons: Titled = key(Group(Titled), "Two tests of one motor.", default=Titled())
    torque_chart: Chart = key(Group(Chart), "Torque against speed.", default=Chart())
    load_chart: Chart = key(
        Group(Chart), "Current, efficiency and power factor as panels over shaft power.", default=Chart()
    )
    loss_chart: Chart = key(Group(Chart), "The losses over the load as stacked bars.", default=Chart())
    heat_chart: Chart = key(
        Group(Chart), "The heat run with its fitted curve and the rise it tends to.", default=Chart()
    )
    no_load_chart: Chart = key(
        Group(Chart), "Constant loss over voltage squared: core loss apart from friction.", default=Chart()
    )
    stray_chart: Chart = key(Group(Chart), "Residual loss over torque squared, with its line.", default=Chart())
    log_chart: Chart = key(
        Group(Chart), "A log over its time: steady stretches, and what was left out.", default=Chart()
    )
    budget_chart: Titled = key(
        Group(Titled), "What the uncertainty of the rated figures comes from, as bars.", default=Titled()
    )
    budget_table: Titled = key(
        Group(Titled), "The whole uncertainty budget of the rated figures, a line for each input.", default=Titled()
    )
    conditions: Titled = key(Group(Titled), "How the test was made, and what is missing.", default=Titled())
    contradictions: Titled = key(
        Group(Titled), "What contradicts what in the readings, each with the likely slip.", default=Titled()
    )
    all_cautions: Titled = key(Group(Titled), "Every caution, each with what raised it.", default=Titled())
    signature: Titled = key(Group(Titled), "Who authorises, with room to sign.", default=Titled())
    inputs: Titled = key(Group(Titled), "The files the figures were made from, with digests.", default=Titled())
    end_mark: Titled = key(Group(Titled), "That nothing follows.", default=Titled())
    footer: Titled = key(Group(Titled), "Scope, what a dash means, program.", default=Titled())
    tag_heading: Titled = key(Group(Titled), "Tag: title, shop with its contact, number, day.", default=Titled())
    tag_verdict: Titled = key(Group(Titled), "Tag: the outcome with its first reason.", default=Titled())
    tag_figures: Titled = key(
        Group(Titled), "Tag: power, torque, speed, current, voltage, frequency.", default=Titled()
    )
    tag_motor: Titled = key(Group(Titled), "Tag: what the motor is, maker, serial number.", default=Titled())
    tag_plate: Titled = key(Group(Titled), "Tag: what else the plate declares.", default=Titled())
    tag_caution: Titled = key(
        Group(Titled), "Tag: the two cautions that decide most to whoever handles the motor.", default=Titled()
    )
    tag_code: Code = key(Group(Code), "Tag: number, digest and headline figures as a code to scan.", default=Code())
    tag_footer: Titled = key(Group(Titled), "Tag: what the tag is and is not.", default=Titled())
    summary_heading: Titled = key(Group(Titled), "Summary: title, what was listed, shop, page.", default=Titled())
    summary_counts: Titled = key(Group(Titled), "Summary: how many came to each outcome.", default=Titled())
    summary_list: Titled = key(Group(Titled), "Summary: one row a motor.", default=Titled())
    summary_not_listed: Titled = key(
        Group(Titled), "Summary: jobs that await their test or could not be judged, each with why.", default=Titled()
    )
    summary_footer: Titled = key(Group(Titled), "Summary: what it is worth.", default=Titled())
    trend_heading: Titled = key(Group(Titled), "Trend: title, motor and quantity, page.", default=Titled())
    trend_outcome: Titled = key(Group(Titled), "Trend: whether the tests scatter as before.", default=Titled())
    trend_chart: Chart = key(Group(Chart), "Trend: the control chart.", default=Chart())
    trend_tests: Titled = key(Group(Titled), "Trend: one row a test.", default=Titled())
    trend_footer: Titled = key(Group(Titled), "Trend: where limits and rules come from.", default=Titled())
    plan_heading: Titled = key(Group(Titled), "Plan: title, shop, rig, outcome.", default=Titled())
    plan_motor: Titled = key(Group(Titled), "Plan: the motor, its plate, starting, breakdown.", default=Titled())
    plan_fields: Titled = key(Group(Titled), "Plan: day, names, zeros, ambient, to be filled in.", default=Titled())
    plan_loads: WritingRows = key(
        Group(WritingRows), "Plan: every load with its targets, and cells to write in.", default=WritingRows()
    )
    plan_limits: Titled = key(Group(Titled), "Plan: what the rig holds against what is asked.", default=Titled())
    plan_steps: Titled = key(Group(Titled), "Plan: how to begin and go on.", default=Titled())
    plan_stops: Titled = key(Group(Titled), "Plan: signs to unload or switch off at.", default=Titled())
    plan_precautions: Titled = key(Group(Titled), "Plan: what to see to before power is on.", default=Titled())
    plan_footer: Titled = key(Group(Titled), "Plan: program, digests of the input files.", default=Titled())


BLOCK_NAMES = tuple(Blocks.__dataclass_fields__)
