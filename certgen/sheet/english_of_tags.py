"""The built-in words of a tag, by key. What stands in braces is filled in by the page."""

from __future__ import annotations

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
