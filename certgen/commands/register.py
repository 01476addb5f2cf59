"""``certgen register``: numbers, and every certificate of an archive."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import ARCHIVE, add_language, terminal_units, usual_archive
from certgen.commands.summary import add_sheet_choice, sheet_choice
from certgen.errors import CertgenError

if TYPE_CHECKING:
    from certgen.archive.register.search import Wanted
    from certgen.archive.register.trend import Load


# What ``register find`` and ``register export`` can be asked for.


#: The last is the word of certificates from before; who asks for 'no verdict' finds them too.
_VERDICTS = ("pass", "conditional pass", "conditional fail", "fail", "no verdict", "not tested")


def add_wanted(action: argparse.ArgumentParser) -> None:
    """Declare the questions."""
    _add_archive(action, words=True)
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


def asked(options: argparse.Namespace, units: str) -> str:
    """The questions as they were asked, in the language of the list; empty where none was."""
    from certgen.messages.catalogue import Message, text_of
    from certgen.terminal.lines import verdict_words

    if not hasattr(options, "text"):
        return ""
    parts = [" ".join(options.text)] if options.text else []
    for name in ("number", "serial", "maker", "verdict", "tested_from", "tested_to", "power_from", "power_to"):
        value = getattr(options, name)
        if value is not None:
            shown = verdict_words(value, units) if name == "verdict" else value
            parts.append(text_of(Message(f"register.asked.{name}", value=shown), units=units))
    if options.standing:
        parts.append(text_of(Message("register.asked.standing"), units=units))
    return ", ".join(parts)


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


# ``certgen register``: numbers, and every certificate of an archive.


HELP = "list, find, export and reconcile the certificates of an archive"

_VALUES = ("power", "torque", "speed", "current", "efficiency")


def add(command: argparse.ArgumentParser) -> None:
    """Declare what can be done with the register."""
    actions = command.add_subparsers(dest="action", required=True, metavar="ACTION")
    _add_start(actions.add_parser("start", help="start a register in a folder, and set the pattern of its numbers"))
    _add_list(actions.add_parser("list", help="every certificate, the latest test first"))
    _add_find(actions.add_parser("find", help="certificates that match every question"))
    _add_export(actions.add_parser("export", help="the same as CSV or JSON on standard output"))
    _add_supersede(actions.add_parser("supersede", help="mark a certificate as replaced by another"))
    _add_check(actions.add_parser("check", help="compare register and folder; exit 1 unless they agree"))
    _add_trend(actions.add_parser("trend", help="repeated tests of a reference motor: does the rig drift?"))


def _add_archive(action: argparse.ArgumentParser, *wanted: str, words: bool = False) -> None:
    """Declare the archive, first among what is given by position: before what is wanted, or before any words."""
    metavar = "[DIR] WORD" if words else " ".join(("[DIR]", *wanted)) if wanted else "DIR"
    folder = f"folder of the archive (default: {ARCHIVE}, else this folder)"
    if words:
        action.add_argument(
            "given",
            nargs="*",
            metavar=metavar,
            help=f"{folder}, then words of number, maker, model, serial, description or customer",
        )
    else:
        action.add_argument("given", nargs="*", metavar=metavar, help=", then ".join((folder, *wanted)))
    action.add_argument("--archive", type=Path, metavar="DIR", help="the same, by name")
    action.set_defaults(wanted=wanted, words=words)


def take_archive(options: argparse.Namespace) -> None:
    """Put the archive and what else was given by position where they belong.

    Raises
    ------
    CertgenError
        There is more, or less, than the action takes.
    """
    given, wanted = list(options.given), options.wanted
    if options.archive is None:
        first = Path(given[0]) if given else None
        named = first is not None and (_is_archive(given[0]) if options.words else len(given) > len(wanted))
        options.archive = Path(given.pop(0)) if named else usual_archive() or Path()
    if options.words:
        options.text = given
        return
    if len(given) != len(wanted):
        takes = " ".join(("[DIR]", *wanted))
        raise CertgenError(f"register {options.action}: it takes {takes}; {len(options.given)} were given.")
    for name, value in zip(wanted, given, strict=True):
        setattr(options, name.lower(), value)


def _is_archive(text: str) -> bool:
    """Whether this is the folder of an archive and no word to search for."""
    from certgen.archive.register.database import FILE_NAME

    return text.endswith("/") or (Path(text) / FILE_NAME).is_file()


def _add_start(action: argparse.ArgumentParser) -> None:
    action.add_argument("archive", type=Path, metavar="DIR", help="folder of the archive")
    action.add_argument("--numbers", metavar="PATTERN", help="pattern of numbers, for example 'HB-{year}-{serial:04}'")
    add_language(action, "en")
    action.set_defaults(act=_start)


def _add_list(action: argparse.ArgumentParser, *, words: bool = False) -> None:
    if not words:
        _add_archive(action)
    action.add_argument("--most", type=int, metavar="N", help="only the latest N")
    action.add_argument("--json", action="store_true", help="as JSON, with the columns of 'export'")
    action.add_argument("--pdf", type=Path, metavar="PATH", help="also as a sheet: a PDF, or a folder for it")
    add_sheet_choice(action)
    _add_shop(action)
    action.set_defaults(act=_find)


def _add_shop(action: argparse.ArgumentParser) -> None:
    action.add_argument("--shop", type=Path, metavar="FILE", help="your shop file, for the fonts of the sheet")


def _fonts(options: argparse.Namespace) -> tuple[Path, ...]:
    from certgen.issuing.characters import font_files_of

    return () if options.shop is None else font_files_of(options.shop)


def _add_find(action: argparse.ArgumentParser) -> None:
    _add_list(action, words=True)
    add_wanted(action)


def _add_export(action: argparse.ArgumentParser) -> None:
    action.add_argument("--as", dest="form", choices=("csv", "json"), default="csv", help="form (default: csv)")
    add_wanted(action)
    action.set_defaults(act=_export)


def _add_supersede(action: argparse.ArgumentParser) -> None:
    _add_archive(action, "NUMBER")
    action.add_argument("--by", required=True, metavar="NUMBER", help="certificate that replaces it")
    action.add_argument("--because", required=True, metavar="TEXT", help="why, in a sentence")
    add_language(action, "en")
    action.set_defaults(act=_supersede)


def _add_check(action: argparse.ArgumentParser) -> None:
    _add_archive(action)
    action.add_argument(
        "--repair",
        action="store_true",
        help="mend what can be: fill and correct rows from their own certificates, take back entries without a file",
    )
    add_language(action, "en")
    action.set_defaults(act=_check)


def _add_trend(action: argparse.ArgumentParser) -> None:
    _add_archive(action, "MOTOR")
    action.add_argument("--of", choices=_VALUES, default="efficiency", help="value followed (default: efficiency)")
    action.add_argument(
        "--at",
        metavar="LOAD",
        help="load at which tests are compared, such as '3 A' or '8 N*m' (default: rated current)",
    )
    action.add_argument("--out", type=Path, metavar="PATH", help="also as a page with the chart: a PDF, or a folder")
    add_sheet_choice(action)
    _add_shop(action)
    action.set_defaults(act=_trend)


def run(options: argparse.Namespace) -> int:
    """Do one action."""
    from certgen.archive.register.database import FILE_NAME, errors_reported

    if options.action != "start":
        take_archive(options)
    with errors_reported(options.archive / FILE_NAME):
        status: int = options.act(options)
    return status


def _start(options: argparse.Namespace) -> int:
    from certgen.archive.register.database import open_register
    from certgen.archive.register.numbers import pattern_of, read_pattern, set_pattern
    from certgen.messages.catalogue import Message, text_of

    pattern = None if options.numbers is None else read_pattern(options.numbers)
    with closing(open_register(options.archive, make=True)) as register:
        if pattern is not None:
            set_pattern(register, pattern)
        kept = pattern_of(register)
    folder = str(options.archive)
    if kept is None:
        said = Message("terminal.register.no_pattern", folder=folder)
    else:
        said = Message("terminal.register.pattern", folder=folder, pattern=kept.text)
    print(text_of(said, units=terminal_units(options)))
    return 0


def _find(options: argparse.Namespace) -> int:
    from certgen.archive.register.certificates import finish_entering
    from certgen.archive.register.database import open_register
    from certgen.archive.register.search import as_json, find, found
    from certgen.terminal.register import certificate_lines, stuck_lines

    units = terminal_units(options)
    with closing(open_register(options.archive, make=False)) as register:
        stuck = finish_entering(register, options.archive)
        rows = found(register, wanted_of(options), options.most)
        if options.json:
            for text in as_json(rows):
                print(text, end="")
        else:
            for line in certificate_lines(rows, units):
                print(line)
        for line in stuck_lines(stuck, units):
            print(line, file=sys.stderr)
        if options.pdf is not None:
            from certgen.issuing.lists import MOST_ROWS, write_list

            most = MOST_ROWS + 1 if options.most is None else min(options.most, MOST_ROWS + 1)
            listed = find(register, wanted_of(options), most)
            source, fonts = asked(options, units), _fonts(options)
            written = write_list(listed, options.pdf, sheet_choice(options), source=source, fonts=fonts)
            print(written, file=sys.stderr)
    return 0


def _export(options: argparse.Namespace) -> int:
    from certgen.archive.register.database import open_register
    from certgen.archive.register.search import as_csv, as_json, found

    with closing(open_register(options.archive, make=False)) as register:
        rows = found(register, wanted_of(options))
        for text in as_csv(rows) if options.form == "csv" else as_json(rows):
            print(text, end="")
    return 0


def _supersede(options: argparse.Namespace) -> int:
    from certgen.archive.register.certificates import supersede
    from certgen.archive.register.database import open_register
    from certgen.messages.catalogue import Message, text_of

    units = terminal_units(options)
    with closing(open_register(options.archive, make=False)) as register:
        shown = supersede(register, options.archive, options.number, by=options.by, because=options.because)
    print(text_of(Message("terminal.register.superseded", number=shown, by=options.by), units=units))
    return 0


def _check(options: argparse.Namespace) -> int:
    from certgen.archive.register.database import open_register
    from certgen.archive.register.reconcile import reconcile
    from certgen.terminal.register import reconciled_lines

    units = terminal_units(options)
    with closing(open_register(options.archive, make=False)) as register:
        reconciled = reconcile(register, options.archive, repair=options.repair)
    for line in reconciled_lines(reconciled, options.archive, units):
        print(line)
    return 0 if reconciled.good else 1


def _load(text: str) -> Load:
    from certgen.archive.register.trend import LOADS, Load
    from certgen.messages.catalogue import Message
    from certgen.units import UnitError, read_one_of

    try:
        value, name = read_one_of(text, LOADS)
    except UnitError as cause:
        raise CertgenError(f"--at '{text[:40]}': {cause}; write a load with its unit, such as '3 A'.") from cause
    if value <= 0.0:
        raise CertgenError(f"--at '{text[:40]}': no motor is loaded by that; write a load above zero, such as '3 A'.")
    return Load(name, value, Message(f"trend.load.{name}", value=value))


def _trend(options: argparse.Namespace) -> int:
    from certgen.archive.register.database import open_register
    from certgen.archive.register.trend import trend
    from certgen.issuing.lists import followed_motor
    from certgen.issuing.reference_test import computed_again
    from certgen.sheet.list_content import TrendContent
    from certgen.sheet.words import Words
    from certgen.terminal.register import trend_lines

    units = terminal_units(options)
    load = None if options.at is None else _load(options.at)
    with closing(open_register(options.archive, make=False)) as register:
        followed = trend(register, options.archive, options.motor, options.of, compute=computed_again, load=load)
    words = Words() if units.language is None else Words(language=units.language)
    for line in trend_lines(followed, TrendContent(followed_motor(followed), units, words)):
        print(line)
    if options.out is not None:
        from certgen.issuing.lists import shop_of, write_trend

        shop = shop_of(followed, options.archive)
        written = write_trend(followed, options.out, sheet_choice(options), shop=shop, fonts=_fonts(options))
        print(written, file=sys.stderr)
    return 0
