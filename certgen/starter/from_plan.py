"""A planned job with its rows ready to type in: the job's own text, and below it the table of readings to come."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from certgen.document.references import resolve
from certgen.document.source import LOADER
from certgen.document.wording import short
from certgen.errors import CertgenError
from certgen.issuing.run_sheet import Planned, plan_job
from certgen.messages.catalogue import Message
from certgen.planning.plan import Plan, PlannedPoint
from certgen.quantity import Quantity
from certgen.sheet.plan_content import scale_figure

_EMPTY = "~"
_READINGS = re.compile(r"^readings:\s*(#.*)?$")
_RIG = re.compile(r"^(rig:\s*)(\S[^#\n]*?)(\s*(?:#.*)?)$", re.MULTILINE)
_SHOP = re.compile(r"^(shop:\s*)(\S[^#\n]*?)(\s*(?:#.*)?)$", re.MULTILINE)
_CERTIFICATE = (
    "  number:",
    "  tested_on:",
    "  tested_by:",
    "",
)


def make_from_plan(folder: Path, job: Path) -> tuple[Path, ...]:
    """Write the planned job, ready for its readings, into a new folder and return its path.

    The rig file stays where it is if the new job may name it; else a copy is laid beside the job.

    Raises
    ------
    InputError
        The job cannot be planned.
    CertgenError
        The job has a load test already, or a file of the new one's name exists or cannot be written.
    """
    planned = plan_job(job)
    target = folder / "job.yaml"
    if target.exists():
        raise CertgenError(f"{target}: this file exists and is left as it is; name another folder.")
    if planned.loaded.job.readings is not None and planned.loaded.job.readings.load_test is not None:
        raise CertgenError(f"{job}: this job has a load test already; type its rows there, or plan a job without one.")
    text = job.read_text(encoding="utf-8-sig")
    rig = _rig_file(planned)
    within = rig.is_relative_to(folder.resolve().parent)
    name = Path(os.path.relpath(rig, folder.resolve())).as_posix() if within else rig.name
    text = _with_shop_from(folder, text, planned)
    written = {target: "\n".join(_job(text, planned.plan, name)) + "\n"}
    if not _whole(written[target], name):
        raise CertgenError(f"{job}: the rows cannot be put into this job; write its keys one a line, without braces.")
    if not within:
        _require_alone(planned, folder)
        written[folder / name] = rig.read_text(encoding="utf-8-sig")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, content in written.items():
            with path.open("x", encoding="utf-8") as file:
                file.write(content)
    except OSError as cause:
        raise CertgenError(
            f"{folder}: the files cannot be written ({cause.strerror}); name a new folder you may write to."
        ) from cause
    return tuple(written)


def _rig_file(planned: Planned) -> Path:
    loaded = planned.loaded
    path = resolve(loaded.job.rig, loaded.reader, loaded.folder, "rig")
    assert path is not None  # the rig was read from there
    return path


def _with_shop_from(folder: Path, text: str, planned: Planned) -> str:
    """The text of the job with its shop file named as the new folder sees it."""
    loaded = planned.loaded
    if loaded.job.shop is None:
        return text
    shop = resolve(loaded.job.shop, loaded.reader, loaded.folder, "shop")
    assert shop is not None  # the shop file was read from there
    if not shop.is_relative_to(folder.resolve().parent):
        raise CertgenError(
            f"{folder}: the shop file '{short(loaded.job.shop.name)}' cannot be named from there; name a folder beside the "
            "one of the job."
        )
    name = Path(os.path.relpath(shop, folder.resolve())).as_posix()
    return _SHOP.sub(lambda found: f"{found[1]}{name}{found[3]}", text, count=1)


def _require_alone(planned: Planned, folder: Path) -> None:
    """A rig that names a file of its own cannot be copied without it."""
    envelope = planned.loaded.rig.brake_envelope
    if envelope is not None and envelope.files:
        raise CertgenError(
            f"{folder}: the rig names '{short(envelope.files[0].file.name)}', so it cannot be copied alone; "
            "name a folder beside the one of the job."
        )


def _whole(text: str, rig: str) -> bool:
    """Whether the new job has each key once, its rig and its table where they belong."""
    import yaml

    root = yaml.compose(text, Loader=LOADER)
    if not isinstance(root, yaml.MappingNode):
        return False
    pairs = {key.value: value for key, value in root.value}
    readings = pairs.get("readings")
    once = len(pairs) == len(root.value) and ("rig" not in pairs or pairs["rig"].value == rig)
    return once and isinstance(readings, yaml.MappingNode) and "load_test" in [key.value for key, _ in readings.value]


def _job(text: str, plan: Plan, rig: str) -> Iterator[str]:
    """Lines of the new job: every line of the old one, the rig's name brought up to date, and the table."""
    lines = _RIG.sub(lambda found: f"{found[1]}{rig}{found[3]}", text.rstrip("\n"), count=1).split("\n")
    if plan.certificate is None:
        yield _remarked("certificate:", Message("starter.certificate"))
        yield from _CERTIFICATE
    head = next((number for number, line in enumerate(lines) if _READINGS.match(line)), None)
    if head is None:
        yield from lines
        yield ""
        yield "readings:"
        yield from _zeros(plan)
        yield from _table(plan)
    else:
        yield from lines[: head + 1]
        yield from _table(plan)
        yield from lines[head + 1 :]


def _zeros(plan: Plan) -> Iterator[str]:
    yield _remarked("  zero_before:", Message("starter.zero", unit=plan.scale_unit))
    yield "  zero_after:"
    if _two_scales(plan):
        yield _remarked("  zero_before_2:", Message("starter.slack_side"))
        yield "  zero_after_2:"


def _remarked(line: str, remark: Message) -> str:
    """A line with its remark in the column of remarks."""
    return f"{line:<33}# {remark}"


def _two_scales(plan: Plan) -> bool:
    return any(column.name == "scale_2" for column in plan.columns)


def _table(plan: Plan) -> Iterator[str]:
    yield _remarked("  load_test:", Message("starter.load_test", empty=_EMPTY))
    columns = ", ".join(f"{column.name}: {_unit(column.unit)}" for column in plan.columns)
    yield f"    columns: {{{columns}}}"
    yield "    rows:"
    blank = f"[{', '.join([_EMPTY] * len(plan.columns))}]"
    for point in plan.points:
        if point.holds is False:
            yield f"      # {Message('starter.left_out', load=point.name, reasons=point.refused)}"
        else:
            yield f"      - {blank}   # {_target(point, plan)}"
    if not any(point.holds is not False for point in plan.points):
        yield f"      - {blank}"


def _target(point: PlannedPoint, plan: Plan) -> Message:
    """What a row is taken at: scale, speed and current, as far as they are known."""
    targets: list[Message | Quantity] = []
    if point.scale is not None:
        key = "starter.difference" if _two_scales(plan) else "starter.scale"
        targets.append(Message(key, reading=scale_figure(point.scale, plan)))
    if point.speed is not None:
        targets.append(point.speed)
    if point.current is not None:
        targets.append(Message("starter.current", current=point.current))
    return Message("starter.row", load=point.name, targets=tuple(targets)) if targets else point.name


def _unit(unit: str) -> str:
    return "'1'" if unit == "1" else unit
