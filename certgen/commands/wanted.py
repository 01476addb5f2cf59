"""What ``register find`` and ``register export`` can be asked for."""

from __future__ import annotations

import argparse
from datetime import date
from typing import TYPE_CHECKING

from certgen.errors import CertgenError

if TYPE_CHECKING:
    from certgen.archive.register.search import Wanted

_VERDICTS = ("pass", "conditional pass", "conditional fail", "fail", "not tested")


def add_wanted(action: argparse.ArgumentParser) -> None:
    """Declare the questions."""
    action.add_argument(
        "text", nargs="*", metavar="WORD", help="words of number, maker, model, serial, description or customer"
    )
    action.add_argument("--number", metavar="NUMBER", help="certificate number, every revision of it")
    action.add_argument("--serial", metavar="TEXT", help="serial number; a '*' at the end stands for anything")
    action.add_argument("--maker", metavar="TEXT", help="maker; a '*' at the end stands for anything")
    action.add_argument("--verdict", choices=_VERDICTS, metavar="OUTCOME", help=", ".join(_VERDICTS))
    action.add_argument("--tested-from", metavar="DAY", help="tested on this day or later, for example 2026-03-01")
    action.add_argument("--tested-to", metavar="DAY", help="tested on this day or earlier")
    action.add_argument("--power-from", metavar="POWER", help="shaft power at the rating at least this, such as '2 hp'")
    action.add_argument("--power-to", metavar="POWER", help="shaft power at the rating at most this")
    action.add_argument("--standing", action="store_true", help="without certificates that were replaced")


def wanted_of(options: argparse.Namespace) -> Wanted:
    """The questions asked; none for ``register list``.

    Raises
    ------
    CertgenError
        A day or a power cannot be read.
    """
    from certgen.archive.register.search import Wanted

    if not hasattr(options, "text"):
        return Wanted()
    return Wanted(
        text=" ".join(options.text) or None,
        number=options.number,
        serial=options.serial,
        maker=options.maker,
        verdict=options.verdict,
        tested_from=_day("--tested-from", options.tested_from),
        tested_to=_day("--tested-to", options.tested_to),
        power_from=_power("--power-from", options.power_from),
        power_to=_power("--power-to", options.power_to),
        current_only=options.standing,
    )


def asked(options: argparse.Namespace) -> str:
    """The questions in words, as they were asked; empty where none was."""
    if not hasattr(options, "text"):
        return ""
    parts = [" ".join(options.text)] if options.text else []
    for name in ("number", "serial", "maker", "verdict", "tested_from", "tested_to", "power_from", "power_to"):
        value = getattr(options, name)
        if value is not None:
            parts.append(f"{name.replace('_', ' ')} {value}")
    return ", ".join([*parts, *(["not replaced"] if options.standing else [])])


def _day(option: str, text: str | None) -> str | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise CertgenError(f"{option} '{text[:40]}': this is no day; write it like 2026-03-01.") from None


def _power(option: str, text: str | None) -> float | None:
    from certgen.units import UnitError, read_quantity

    if text is None:
        return None
    try:
        return read_quantity(text, "power")
    except UnitError as cause:
        raise CertgenError(
            f"{option} '{text[:40]}': {cause}; write a power with its unit, such as '1.5 kW'."
        ) from cause
