"""The built-in words of a page, by key. What stands in braces is filled in by the page."""

from __future__ import annotations

# The built-in words of summaries and trend pages, by key. What stands in braces is filled in by the page.


LIST_WORDS = {
    "summary.number": "Certificate",
    "summary.tested_on": "Tested on",
    "summary.motor": "Motor",
    "summary.counts": "Motors tested: {count}, of them {outcomes}.",
    "summary.none": "There is no test to list.",
    "summary.unjudged": "Not in the list, as they could not be judged: {count}.",
    "summary.replaced": "replaced by {number}",
    "summary.scope": "This list is no certificate. Values are those at rated power, else at rated current, else of the "
    "assessed rating; a voltage not read there is the plate's.",
    "summary.made_by": "Made by {program}.",
    "trend.of": "{quantity} of the motor with the serial number {motor}",
    "trend.order": "Tests in their order, the oldest first",
    "trend.upper": "upper limit",
    "trend.centre": "centre",
    "trend.lower": "lower limit",
    "trend.steady": "No sign of drift.",
    "trend.drifts": "The rig changed, or the motor did: see the marked tests. Check arm, scale and "
    "tachometer before the motor.",
    "trend.too_few": "Tests so far: {count}. Limits take at least {least}.",
    "trend.limits": "Centre {centre}, limits {low} and {high}: three standard deviations, from the moving range of "
    "neighbouring tests. Dotted lines: one and two.",
    "trend.without": "Not measured on: {numbers}.",
    "trend.from_centre": "From centre",
    "trend.broken": "Rule broken",
    "trend.source": "Limits and rules: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 and 6.3.2.2.",
}


# The built-in words of a run sheet, by key. What stands in braces is filled in by the page.


PLAN_WORDS = {
    "plan.rig": "Rig: {rig}",
    "plan.number": "For certificate {number}",
    "plan.greatest_load": "It holds up to {part} % of rated load: {by}.",
    "plan.marks": "Maker, model, serial",
    "plan.plate": "Plate",
    "plan.no_plate": "none that can be read",
    "plan.slip": "rated slip {slip}",
    "plan.starting": "Switching on",
    "plan.breakdown": "Breakdown",
    "plan.loads": "Loads: {source}.",
    "plan.no_loads": "No load can be aimed at: write what was loaded.",
    "plan.refused": "Refused: {reasons}.",
    "plan.hold.free": "no limit",
    "plan.not_stated": "The rig states no limit of (asked):",
    "plan.limit": "Limit",
    "plan.asked": "Asked",
    "plan.stated": "Stated",
    "plan.result": "Result",
    "plan.at": "at {load}",
    "plan.outcome.holds": "holds",
    "plan.outcome.exceeded": "EXCEEDED",
    "plan.outcome.not_known": "not known",
    "plan.act.unload": "Unload",
    "plan.act.switch_off": "Switch off",
    "plan.legend": "{missing} not known before the test.",
    "plan.field.date": "Date",
    "plan.field.tested_by": "Tested by",
    "plan.field.number": "Certificate number",
    "plan.field.ambient": "Ambient, {degrees}",
    "plan.field.supply": "Supply, V and Hz",
    "plan.field.insulation": "Insulation, MΩ at V",
    "plan.field.cold": "Cold winding, Ω at {degrees}",
    "plan.field.zero_before": "Zero before, {unit}",
    "plan.field.zero_after": "Zero after, {unit}",
    "plan.field.zero_before_2": "Slack side before, {unit}",
    "plan.field.zero_after_2": "Slack side after, {unit}",
    "plan.field.hot": "Hot winding, Ω after s",
    "plan.column.load": "Load",
    "plan.column.target": "Set scale",
    "plan.column.expected_torque": "Torque",
    "plan.column.expected_speed": "Exp. speed",
    "plan.column.expected_current": "Exp. current",
    "plan.column.hold": "Held, cold",
    "plan.column.time": "Time",
    "plan.column.remark": "Remark",
    "plan.column.speed": "Speed",
    "plan.column.scale": "Scale",
    "plan.column.scale_2": "Scale 2",
    "plan.column.torque": "Torque",
    "plan.column.voltage": "Volts",
    "plan.column.current": "Amps",
    "plan.column.current_a": "Amps a",
    "plan.column.current_b": "Amps b",
    "plan.column.current_c": "Amps c",
    "plan.column.input_power": "Input",
    "plan.column.power_factor": "Power factor",
    "plan.column.frequency": "Freq.",
    "plan.column.winding_temperature": "Wind. temp.",
    "plan.column.frame_temperature": "Frame temp.",
    "name.service_factor_current": "service-factor current",
}


# The built-in words of a tag, by key. What stands in braces is filled in by the page.


TAG_WORDS = {
    "tag.more_reasons": "More reasons on the certificate: {count}.",
    "tag.more_cautions": "More cautions on the certificate: {count}.",
    "tag.shaft_power": "Power",
    "tag.torque": "Torque",
    "tag.speed": "Speed",
    "tag.current": "Current",
    "tag.voltage": "Voltage",
    "tag.frequency": "Frequency",
    "tag.serial": "Serial number {serial}",
    "tag.plate": "Plate: {declared}.",
    "tag.code": "Number, outcome and figures as text.",
    "tag.code_pdf": "SHA-256 of the certificate's PDF, first {digits} digits: {digest}",
    "tag.code_results": "SHA-256 of the results file, first {digits} digits: {digest}",
    "tag.footer": "This tag is no certificate: conditions, uncertainty and rules stand on the certificate of this number. "
    "The results relate only to the item tested.",
}


# The built-in words of a page, by key. What stands in braces is filled in by the page.


_PAGE = {
    "page.left_out": "Left out for lack of room: {blocks}",
    "page.number": "Page {page} of {pages}",
    "page.continued": "(continued)",
    "page.columns_left_out": "Not printed for lack of width: {columns}.",
    "page.because": "Because: {because}.",
    "page.to": "{low} to {high}",
}

_HEADING = {
    "heading.number": "Certificate number",
    "heading.no_number": "not given",
    "heading.revision": "Revision {revision}, replaces revision {before}",
    "heading.tested_on": "Tested on {date}",
    "footer.scope": "The results relate only to the item tested.",
    "footer.legend": "{missing} not measured, not declared or not stated.",
    "footer.made_by": "Made by {program} {version}.",
    "footer.made_from": "Made by {program} {version} from (SHA-256, first {digits} digits): {files}.",
    "signature.by": "Tested and authorised by",
    "signature.signature": "Signature",
    "signature.date": "Date of issue",
}

_VERDICT = {
    "outcome.pass": "pass",
    "outcome.conditional_pass": "conditional pass",
    "outcome.conditional_fail": "conditional fail",
    "outcome.fail": "fail",
    "outcome.not_tested": "not tested",
    "verdict.measured": "Measured {how}",
    "verdict.no_point": "No usable load point",
    "verdict.rule": "Criteria: {criteria}. Decision rule: {rule}.",
    "verdict.power": "Power",
    "verdict.torque": "Torque",
    "verdict.speed": "Speed",
    "verdict.current": "Current",
}

_POINTS = {
    "point.rated_current": "Rated current",
    "point.rated_power": "Rated power",
    "point.service_factor": "Service-factor load",
    "point.rated_speed": "Rated speed",
    "point.assessed": "Assessed rating",
    "point.tested": "Tested point",
    "point.load_point": "Load point {number}",
    "how.read_off": "at {point}, read off the load curve",
    "how.extrapolated": "at {point}, extrapolated beyond the tested points",
    "how.assessed": "and rated by this bench, not by a maker",
    "how.only_point": "at the only load point tested",
    "how.highest_load": "at load point {number} of {count}, the highest load tested",
    "flag.extrapolated": "{sign} beyond the tested points: extrapolated, to be read with care",
    "flag.impossible": "{sign} physically impossible reading: kept as read, not used for curves or findings",
    "flag.full_span": "{sign} the scale stood at its full span: the load may have been greater",
    "rated_points.at": "At",
    "rated_points.at_most": "± at most, {factors}",
    "rated_points.none": "None: reading one off takes a load curve and a rating on the plate.",
    "load_points.number": "No.",
    "load_points.remarks": "Remarks at the bench – {remarks}",
    "load_points.none": "No load point was measured.",
}

#: Headings of columns; each word may stand on a line of its own.
_COLUMNS = {
    "column.speed": "Speed",
    "column.slip": "Slip",
    "column.torque": "Torque",
    "column.shaft_power": "Shaft power",
    "column.input_power": "Input power",
    "column.apparent_power": "Apparent power",
    "column.current": "Current",
    "column.voltage": "Voltage",
    "column.power_factor": "Power factor",
    "column.efficiency": "Efficiency",
    "column.losses": "Losses",
    "column.temperature": "Winding temp.",
    "column.current_unbalance": "Current unbal.",
    "column.voltage_unbalance": "Voltage unbal.",
    "column.frequency": "Freq.",
    "column.time": "Time",
    "column.load": "Load",
    "column.input": "Input",
    "column.stator": "Stator",
    "column.core": "Core",
    "column.rotor": "Rotor",
    "column.friction_windage": "Friction, windage",
    "column.stray": "Stray",
    "column.quantity": "Quantity",
    "column.declared": "Declared",
    "column.required": "Required",
    "column.measured": "Measured",
    "column.unit": "Unit",
    "column.outcome": "Outcome",
    "column.rule": "Rule and remarks",
    "column.change": "Change",
}

#: Names of quantities within a sentence.
_NAMES = {
    "name.speed": "speed",
    "name.slip": "slip",
    "name.torque": "torque",
    "name.shaft_power": "shaft power",
    "name.input_power": "input power",
    "name.apparent_power": "apparent power",
    "name.current": "current",
    "name.voltage": "voltage",
    "name.power_factor": "power factor",
    "name.efficiency": "efficiency",
    "name.losses": "losses",
    "name.temperature": "temperature",
    "name.current_unbalance": "current unbalance",
    "name.voltage_unbalance": "voltage unbalance",
    "name.frequency": "frequency",
    "name.time": "time",
    "name.in_unit": "{name} in {unit}",
}

_IDENTITY = {
    "identity.customer": "Customer",
    "identity.item": "Item",
    "identity.motor": "{type} motor",
    "identity.description": "Description",
    "identity.maker_model": "Maker, model",
    "identity.serial": "Serial number",
    "identity.condition": "Condition",
    "identity.gear": "Gear",
    "identity.gear_ratio": "ratio {ratio}; speed, torque and power are those of the output shaft",
    "plate.power": "Power",
    "plate.speed": "Speed",
    "plate.current": "Current",
    "plate.voltage": "Voltage",
    "plate.frequency": "Frequency",
    "plate.power_factor": "Power factor",
    "plate.efficiency": "Efficiency",
    "plate.service_factor_current": "Service-factor current",
    "plate.design_letter": "Design letter",
    "plate.code_letter": "Code letter",
    "declared.poles": "poles",
    "declared.service_factor": "service factor",
    "declared.insulation_class": "insulation class",
    "declared.design_letter": "design letter",
    "declared.code_letter": "code letter",
    "declared.duty": "duty",
    "declared.ambient": "highest ambient",
    "plate.none": "The motor carries no readable nameplate: nothing is declared.",
    "plate.measured": "Measured {how}.",
    "plate.also": "Also declared:",
}

_FINDINGS = {
    "findings.none": "Nothing was compared: the plate declares nothing that this test could check.",
    "findings.information": "{sign} for information, not part of the verdict.",
    "findings.withheld": "In brackets: as read alone; no statement rests on it, for the reason given with the verdict.",
    "findings.met": "For information, met: {findings}.",
    "findings.false_accept": "probability of false accept {part}",
    "findings.false_reject": "probability of false reject {part}",
    "findings.decision_rule": "decision rule: {rule}",
}

_MACHINE = {
    "machine.poles": "Poles",
    "machine.synchronous_speed": "Synchronous speed",
    "machine.no_load_speed": "No-load speed",
    "machine.no_load_current": "No-load current",
    "machine.rated_torque": "Rated torque",
    "machine.locked_rotor_torque": "Locked-rotor torque",
    "machine.locked_rotor_current": "Locked-rotor current",
    "machine.pull_up_torque": "Pull-up torque",
    "machine.pull_up_speed": "Pull-up speed",
    "machine.breakdown_torque": "Breakdown torque",
    "machine.breakdown_speed": "Breakdown speed",
    "machine.peak_power": "Peak power",
    "machine.kva_per_hp": "Locked-rotor kVA",
    "machine.code_letter": "Code letter",
    "machine.design_letter": "Design letter",
    "machine.efficiency_class": "Efficiency class",
    "machine.gear_ratio": "Gear ratio by speed",
    "machine.gear_loss": "Gear loss",
    "machine.times_rated": "{ratio} × rated",
    "machine.none": "None: the test gives no single figures of the machine.",
}

_CHANGING_SPEED = {
    "run_down.friction": "Friction (run-down)",
    "run_down.friction_of": "Friction, {part} (run-down)",
    "run_down.at_speed": "{torque}, {loss} at {speed}",
    "run_down.at_rated_speed": "{torque}, {loss} at rated speed, {speed}",
    "run_down.inertia": "Inertia (run-down)",
    "run_down.terms": "Friction over speed by run-down: {terms}.",
    "sweep.inertia": "Inertia in the sweep",
}

_BUDGET = {
    "budget.figure": "{quantity} {value}, {factor}, its variance from: {parts}.",
    "budget.plain_figure": "{quantity} {value}, its variance from: {parts}.",
    "budget.improve": "To improve first: {inputs}.",
    "budget.then": "; then ",
    "budget.at": "At {point}.",
    "budget.nearly_all": "over 99 %",
    "budget.hardly_any": "under 1 %",
}

_LOSSES = {
    "losses.stator": "stator",
    "losses.rotor": "rotor",
    "losses.core": "core",
    "losses.friction_windage": "friction and windage",
    "losses.stray": "stray load",
    "losses.constant": "core, friction and windage together",
    "losses.at_rated": "At rated load: {losses}.",
    "losses.at_temperature": "At {temperature}.",
    "losses.stray_fit": "Stray-load fit: {fit}.",
    "losses.fit": "slope {slope} W/(N·m)², intercept {intercept} W, correlation {correlation} over {count} points",
    "losses.fit_removed": "load point {row} left out",
    "losses.accepted": "{rule}: accepted",
    "losses.not_accepted": "{rule}: not accepted",
}

_HEAT = {
    "heat.winding": "Winding",
    "heat.rise": "rise of {rise} by resistance",
    "heat.rise_from": "rise of {rise} by resistance, from {resistance} at switching off",
    "heat.run": "Heat run",
    "heat.final_rise": "final rise {rise}",
    "heat.time_constant": "time constant {time}",
    "heat.remaining": "{rise} still to come at its end",
    "heat.steady": "steady",
    "heat.not_steady": "not steady",
    "heat.insulation": "Insulation",
    "heat.at_1_min": "{resistance} after 1 min",
    "heat.at_40": "{resistance} at {temperature}",
    "heat.polarization_index": "polarization index {index}",
}

_RATING = {
    "rating.figures": "Figures",
    "rating.held_down": "Held down by",
    "rating.basis": "Basis",
    "rating.to_measure": "To be measured",
    "rating.power": "power",
    "rating.torque": "torque",
    "rating.speed": "speed",
    "rating.current": "current",
    "rating.service_factor": "service factor",
}

_CONDITIONS = {
    "conditions.revision": "Revision",
    "conditions.replaces": "This is revision {revision}; it replaces revision {before}: {reason}",
    "conditions.rig": "Rig",
    "conditions.method": "Method",
    "conditions.log": "Log",
    "conditions.efficiency": "Efficiency",
    "conditions.surroundings": "Surroundings",
    "conditions.uncertainty": "Uncertainty",
    "conditions.instruments": "Instruments",
    "conditions.standards": "Standards",
    "conditions.remarks": "Remarks and deviations",
    "conditions.no_remarks": "none stated",
    "conditions.not_evaluated": "Recorded, not evaluated",
    "conditions.missing": "Missing",
    "conditions.ambient": "ambient {temperature}",
    "conditions.supply": "supply frequency {frequency}",
    "conditions.gravity": "local gravity {gravity}",
    "uncertainty.none": "Uncertainty not stated.",
    "uncertainty.given": (
        "Figures after ± are expanded uncertainties{coverage}; those of load points are in the results{rest}."
    ),
    "uncertainty.declared": "; figures without are declared or defined",
    "uncertainty.missing": "; for figures that rest on what is missing, uncertainty not stated",
    "uncertainty.coverage": ", coverage 95.45 %, factor {factors}",
    "cautions.none": "This test raised none.",
}

_CHARTS = {
    "chart.axis": "{quantity} in {unit}",
    "chart.in_unit": "in {unit}",
    "chart.speed": "Speed",
    "chart.torque": "Torque",
    "chart.shaft_power": "Shaft power",
    "chart.current": "Current",
    "chart.and": " and ",
    "chart.plate": "plate: {torque}\nat {speed}",
    "chart.lead": "at {point}",
    "chart.rated": "rated {power}",
    "chart.service_factor": "hatched: to service\nfactor {factor}",
    "chart.extrapolated": "extrapolated",
    "chart.impossible": "impossible",
    "chart.full_span": "at full span",
    "chart.faults": "left out",
    "chart.bars": "bars: expanded uncertainty",
    "chart.too_few": "points only: too few for a curve",
    "chart.none_apart": "No chart: torque and speed were not measured at the same point.",
    "chart.none_power_apart": "No chart: shaft power was not measured at the same point as any of them.",
    "chart.none_inertia": "No chart: the torque of a sweep takes the inertia of the rig, which its file does not state.",
    "chart.none_one": "No chart: {quantity} was not measured.",
    "chart.none_several": "No chart: {quantities} and {last} were not measured.",
}

ENGLISH: dict[str, str] = (
    _PAGE
    | _HEADING
    | _VERDICT
    | _POINTS
    | _COLUMNS
    | _NAMES
    | _IDENTITY
    | _FINDINGS
    | _MACHINE
    | _CHANGING_SPEED
    | _BUDGET
    | _LOSSES
    | _HEAT
    | _RATING
    | _CONDITIONS
    | _CHARTS
    | PLAN_WORDS
    | TAG_WORDS
    | LIST_WORDS
)
