"""Writes the generated pages of the handbook from the models and the criteria sets.

python docs/make_tables.py            # write them
python docs/make_tables.py --check    # exit status 1 if one is not current
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

from certgen import physics
from certgen.document import vocabulary as v
from certgen.document.wording import says
from certgen.job.columns import COLUMNS
from certgen.job.dialect import Dialect, Join
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.job.shop import ShopFile
from certgen.job.table import LOG_KINDS, MEANT
from certgen.messages.catalogue import catalogue
from certgen.sheet.engine.layout import PAPERS, Layout
from certgen.sheet.engine.subjects import SUBJECTS
from certgen.standards.criteria import (
    NO_SIDE,
    SHIPPED,
    CriteriaSet,
    Criterion,
    DeclaredStarting,
    StartingCriterion,
    Supply,
    Tolerance,
    companions_of,
    shipped_criteria,
)
from certgen.units import DIMENSIONS

HERE = Path(__file__).parent
_NOTICE = "<!-- written by docs/make_tables.py from the models; change those, not this page -->\n"


def pages() -> dict[str, str]:
    """Name of every generated page and its text."""
    return {
        "job_and_rig_files.md": "\n".join(_job_and_rig()) + "\n",
        "layout_files.md": "\n".join(_layout()) + "\n",
        "criteria.md": "\n".join(_criteria()) + "\n",
        "formulas.md": "\n".join(_formulas()) + "\n",
    }


def _job_and_rig() -> Iterator[str]:
    yield "# Job, rig and shop files, key by key"
    yield _NOTICE
    yield (
        "All are YAML. Every quantity is written with its unit; a ratio may stand alone or with `%`. Text is kept letter by letter. A key may be "
        "left out unless it is marked **needed**; a key left empty counts as left out. An unknown key is an error that names the nearest known "
        "one. Keys marked *recorded* are kept and named on the page, and change no result in this version. File names are relative to the file they stand in "
        "and stay within the folder above the job's own.\n"
    )
    yield "## Job file\n"
    yield from _keys(Job)
    yield "\n## Rig file\n"
    yield from _keys(Rig)
    yield "\n## Shop file\n"
    yield (
        "What a shop says every time, written once: a job names it with `shop: ../shop.yaml`, see [the shop file](shop_file.md). What stands in the "
        "job wins. File names are seen from the shop file and stay within the folder above the job's own.\n"
    )
    yield from _keys(ShopFile)
    yield "\n## Columns of a table\n"
    yield (
        "A table is `{columns: {name: unit, ..}, rows: [[..], ..]}`, or `{columns: {name: {from: header, unit: unit}, ..}, file: name}`, or "
        "`{files: [{file: name, columns: {..}}, ..], join: {..}}`; a [file](readings.md) is delimited text or a workbook. An empty cell means not read. "
        "A load test may be a continuous log: `steady: {hold: 5 s, speed_band: 0.5 %, torque_band: 2 %}` beside its columns, see [logs](logs.md).\n"
    )
    yield "| column | meaning | dimension | |"
    yield "|---|---|---|---|"
    for name, kind in COLUMNS.items():
        recorded = "" if kind.evaluated else "*recorded*"
        yield f"| `{name}` | {kind.meaning} | {' or '.join(kind.dimensions) or 'text'} | {recorded} |"
    yield "\n## A load test that is a log\n"
    yield "One of these keys beside the columns says how its rows become load points; without one each row is a point.\n"
    yield "| key | meaning | value | |"
    yield "|---|---|---|---|"
    for name, kind in LOG_KINDS.items():
        yield from _rows(kind, f"{name}.")
    yield f"| `{MEANT}` | Beside `steady`: times in which the load was changed on purpose, so that a quick fall is no upset. | a list of `{{from: 12 s, to: 20 s}}` | |"
    yield "\n## Keys beside `file`\n"
    yield "Whatever is left out is found in the file, and `certgen check` prints it. An entry of `files` may also have `shift`, added to its times.\n"
    yield from _keys(Dialect)
    yield "\n## Keys of `join`\n"
    yield from _keys(Join)
    yield "\n## Dimensions\n"
    yield "| dimension | inside and in results | for example |"
    yield "|---|---|---|"
    for name, (unit, example) in DIMENSIONS.items():
        yield f"| {name} | {unit} | `{example.replace(chr(39), '`').replace('` or `', '`, `')}` |"


def _layout() -> Iterator[str]:
    yield "# Layout files, key by key"
    yield _NOTICE
    yield (
        "A layout says which blocks stand where. Copy `layouts/certificate.yaml`, change it, and name the copy in the job "
        "(`sheet: {layout: ours.yaml}`) or with `--sheet ours.yaml`. `certgen check --layout ours.yaml` lists every mistake of a layout with its "
        "place; `certgen schema layout` is for editors. Papers, nesting and other languages are explained in [sheets](sheets.md).\n"
    )
    yield from _keys(Layout)
    yield "\n## Papers\n"
    yield "| paper | size |"
    yield "|---|---|"
    for name, paper in PAPERS.items():
        height = f"{paper.height:g} mm" if paper.height else f"as long as its content, at most {paper.most:g} mm"
        yield f"| `{name}` | {paper.width:g} mm by {height} |"
    for name, subject in SUBJECTS.items():
        yield f"\n## Sheets about a {name}\n"
        yield f"Conditions (`when`): {', '.join(f'`{one}`' for one in sorted(subject.when))}.\n"
        yield f"Repeats (`each`): {', '.join(f'`{one}`' for one in sorted(subject.each))}."
    yield "\n## Texts\n"
    yield "What stands in braces is filled in by the page; an own text may use the same braces, in any order.\n"
    yield "| key of `texts` | built-in text |"
    yield "|---|---|"
    for name, text in catalogue().items():
        yield f"| `{name}` | {text.replace(chr(10), ' ⏎ ')} |"


def _keys(of: type) -> Iterator[str]:
    yield "| key | meaning | value | |"
    yield "|---|---|---|---|"
    yield from _rows(of, "")


def _rows(of: type, path: str) -> Iterator[str]:
    for name, field in v.keys_of(of).items():
        kind, where = field.metadata["kind"], f"{path}{name}"
        marks = ["**needed**"] if field.metadata["required"] else []
        if field.metadata["unless"]:
            marks = [f"**needed**, unless the file of `{field.metadata['unless']}` has it"]
        if not field.metadata["evaluated"]:
            marks.append("*recorded*")
        inner, prefix = _inner(kind, where)
        value = "" if isinstance(kind, (v.Group, v.Each)) and inner is not None else says(kind).replace("|", "\\|")
        yield f"| `{where}` | {field.metadata['meaning']} | {value} | {', '.join(marks)} |"
        if inner is not None:
            yield from _rows(inner, prefix)


def _inner(kind: object, where: str) -> tuple[type | None, str]:
    if isinstance(kind, v.Group):
        return kind.of, f"{where}."
    if isinstance(kind, v.Custom) and kind.of is not None:
        return kind.of, f"{where}."
    if isinstance(kind, v.Each) and isinstance(kind.kind, (v.Group, v.Custom)) and kind.kind.of is not None:
        return kind.kind.of, f"{where}[]."
    return None, ""


def _criteria() -> Iterator[str]:
    yield "# Criteria sets"
    yield _NOTICE
    yield (
        "A criteria set says which measured quantity is held against which plate value, where on the load, and how far it may differ. "
        "Name one in the job (`criteria: nema-mg-1`), or a file of your own with the keys at the end of this page. How uncertainty enters the outcome "
        "is the job's `decision_rule` ([uncertainty](uncertainty.md)); without uncertainty a value on or within its limit passes.\n"
    )
    yield (
        "Status: *confirmed* by two or more independent public pages, *thin* by one, *from memory* by none and marked so on the certificate; "
        "*common practice* has no published source and says so on the certificate. The first two make a *published* limit, the others a *workshop* limit: "
        "the workshop's own word, in want of a source.\n"
    )
    yield (
        "Every row names the kinds of motor it is for. A row has the edition it was read in, where that is not the set's. *Told only* marks a row the verdict "
        "does not rest on. *Harmless* is the side of a two-sided tolerance beyond which a motor is better than its plate, not worse.\n"
    )
    for name in SHIPPED:
        criteria = shipped_criteria(name)
        yield f"## {criteria.name}: {criteria.title}, edition {criteria.edition}\n"
        yield "| finding | allowed | holds for | clause | status | basis |"
        yield "|---|---|---|---|---|---|"
        for row in criteria.criteria:
            yield f"| {row.title}{_told(row)} | {_allowed(row)} | {_scope(row)} | {_clause(row)} | {row.status} | {row.basis} |"
        yield from _starting(criteria)
        yield from _declared_starting(criteria)
        yield from _supply(criteria.supply)
        beside = companions_of(criteria)
        yield (
            f"Beside it: temperature rises of {beside.temperature}, insulation by {beside.insulation}, supply to run on by {beside.supply}, "
            f"losses and load points by {beside.procedure}.\n"
        )
    yield "## A set of your own\n"
    yield (
        "A row without `types` holds for every kind of motor, one without `excitation` for every dc motor. Where a dc motor's excitation is not stated, the row of "
        "series motors is taken, which is the widest.\n"
    )
    yield from _keys(CriteriaSet)


def _told(row: Criterion | DeclaredStarting) -> str:
    return "" if row.decides else " (information only)"


def _clause(row: Criterion | StartingCriterion | DeclaredStarting) -> str:
    return f"{row.clause}{f' (edition {row.edition})' if row.edition else ''}"


def _starting(criteria: CriteriaSet) -> Iterator[str]:
    """What of starting and overload a set judges, one sentence."""
    rows = [
        f"{row.judges}{f', at least {row.least:g}' if row.least else ''} ({_clause(row)}; {row.status}; "
        f"{', '.join(row.types) or 'every motor'}; {'the verdict rests on it' if row.decides else 'information only'})"
        for row in criteria.starting
    ]
    if rows:
        yield f"\nStarting and overload, where they were tested: {'; '.join(rows)}."


def _declared_starting(criteria: CriteriaSet) -> Iterator[str]:
    """Tolerances on what a plate declares of starting."""
    if criteria.declared_starting:
        yield "\nTolerances on what the plate declares of starting and overload, compared at rated voltage:\n"
        yield "| declared | allowed | holds for | clause | status | basis |"
        yield "|---|---|---|---|---|---|"
        for row in criteria.declared_starting:
            cells = (
                f"{row.title}{_told(row)}",
                _allowed(row),
                ", ".join(row.types),
                _clause(row),
                row.status,
                row.basis,
            )
            yield f"| {' | '.join(cells)} |"


def _supply(supply: Supply | None) -> Iterator[str]:
    if supply is not None:
        parts = [
            f"{name.replace('_', ' ')} {getattr(supply, name):.0%}"
            for name in ("voltage", "universal_voltage", "frequency", "voltage_unbalance")
            if getattr(supply, name) is not None
        ]
        yield f"\nSupply of the test, beyond which the page carries a caution: {', '.join(parts)} ({supply.clause}; {supply.status}).\n"


def _allowed(row: Criterion | DeclaredStarting) -> str:
    parts = [f"{sign} {_tolerance(one)}" for sign, one in (("down", row.low), ("up", row.high)) if one is not None]
    harmless = "" if row.harmless == NO_SIDE else f"; {row.harmless} is harmless"
    return ", ".join(parts) + harmless


def _tolerance(one: Tolerance) -> str:
    if one.paired:
        return f"to the paired table, {one.paired}"
    part = "one sixth" if one.part and abs(one.part - 1 / 6) < 1e-9 else f"{100.0 * (one.part or 0.0):.3g}%"
    bounds = f", from {one.at_least:g} to {one.at_most:g}" if one.at_least and one.at_most else ""
    return f"{part} of {one.of}{bounds}"


def _scope(row: Criterion) -> str:
    parts = [*row.types, *([f"excitation {' or '.join(row.excitation)}"] if row.excitation else [])]
    for name, words in (
        ("from_power", "from"), ("above_power", "above"), ("below_power", "below"), ("up_to_power", "up to"),
    ):  # fmt: skip
        if getattr(row, name) is not None:
            parts.append(f"{words} {getattr(row, name) / 1000:.4g} kW")
    for name, words in (("from_power_per_1000_rpm", "from"), ("below_power_per_1000_rpm", "below")):
        if getattr(row, name) is not None:
            parts.append(f"{words} {getattr(row, name) / 1000:g} kW per 1000 rpm")
    return ", ".join(parts) or "every motor"


def _formulas() -> Iterator[str]:
    yield "# Formulas and their sources"
    yield _NOTICE
    yield (
        "Every formula the figures rest on, with where it was published. *From memory* means that the source was not at hand when it was written down, "
        "*common practice* that there is none. The tests hold the formulas against worked examples of the sources. Where each of them enters is in "
        "[how a certificate is made](how_a_certificate_is_made.md) and [the assessment](assessment.md).\n"
    )
    yield (
        "T torque, w angular speed (2 π n / 60 for n in rpm), w_s synchronous speed, s slip, p poles, f frequency, P power, S apparent power, V and I voltage and "
        "current of a line, R resistance, W wattmeter, F force, m mass, g gravity, r radius or arm, d rope diameter, i ratio, eta efficiency, J inertia, "
        "t temperature or time, tau time constant, k constant of the metal. The unit stands in brackets behind; [1] is a plain ratio."
    )
    found = {module.name for module in pkgutil.iter_modules(physics.__path__)} - set(_NOT_TOLD)
    for name in (*_FIRST_TOLD, *sorted(found - set(_FIRST_TOLD))):
        yield from _formulas_of(importlib.import_module(f"certgen.physics.{name}"))


#: What every brake test rests on; the other subjects follow by name.
_FIRST_TOLD = ("mechanics", "electrics", "induction", "losses", "winding", "thermal")
#: Modules of the floor that give no figure of a certificate: guards of domains, and the machine the tests are made with.
_NOT_TOLD = ("domain", "equivalent_circuit")


def _formulas_of(module: ModuleType) -> Iterator[str]:
    """The functions of a module that cite a source, in the order they are written."""
    told = [one for _, one in inspect.getmembers(module, inspect.isfunction) if one.__module__ == module.__name__]
    rows = [row for one in sorted(told, key=lambda one: one.__code__.co_firstlineno) for row in _formula(one)]
    if rows:
        name = module.__name__.rpartition(".")[2]
        yield f"\n## {name.replace('_', ' ').capitalize()}\n"
        yield f"{inspect.getdoc(module) or ''}\n".replace("\n\n", "\n")
        yield f"| `physics/{name}.py` | what it gives | formula | source |"
        yield "|---|---|---|---|"
        yield from rows


def _formula(function: Callable[..., object]) -> Iterator[str]:
    parts = re.split(r"^(\w+)\n-+$", inspect.getdoc(function) or "", flags=re.MULTILINE)
    sections = dict(zip(parts[1::2], parts[2::2], strict=True))
    if "References" in sections:
        what = parts[0].strip().split("\n\n")[0]
        _, _, returned = sections.get("Returns", "\n").strip().partition("\n")
        cells = (f"`{function.__name__}`", _cell(what), _cell(returned), _cell(sections["References"]))
        yield f"| {' | '.join(cells)} |"


def _cell(text: str) -> str:
    """Text of a docstring as one cell: roles of the markup taken off, no sign left that a table would interpret."""
    plain = re.sub(r":func:`(?:[\w.]*\.)?(\w+)`", r"`\1`", " ".join(text.split()))
    plain = re.sub(r"(\. )?`*\b(?:NaN|None|nan)\b`*", lambda found: f"{found[1]}None" if found[1] else "none", plain)
    return plain.replace("``", "`").replace("*", "·").replace("|", "\\|")


def main() -> int:
    """Write the pages, or check that they are current."""
    stale = [name for name, text in pages().items() if _read(HERE / name) != text]
    if "--check" in sys.argv[1:]:
        for name in stale:
            print(f"docs/{name} is not current; run python docs/make_tables.py")
        return 1 if stale else 0
    for name in stale:
        (HERE / name).write_text(pages()[name], encoding="utf-8")
        print(f"docs/{name}")
    return 0


def _read(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.exists() else ""


if __name__ == "__main__":
    sys.exit(main())
