"""The built-in words of summaries and trend pages, by key. What stands in braces is filled in by the page."""

from __future__ import annotations

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
