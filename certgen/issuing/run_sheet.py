"""A job before its test, brought to its plan: the rooms job and readings, then planning."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from certgen import __version__
from certgen.document.source import Problems
from certgen.errors import CertgenError, InputError
from certgen.issuing.characters import in_fonts_of, require_showable, require_showable_page
from certgen.issuing.layouts import SheetOptions, language_of, layout_about
from certgen.job.load import LoadedJob, load_job
from certgen.pipeline import criteria_of
from certgen.planning.make import make_plan
from certgen.planning.plan import Plan
from certgen.readings.read import brake_envelope

#: The layout of the run sheet.
RUN_SHEET = "run_sheet"


def name_of(plan: Plan, job: Path) -> str:
    """What the files of a plan are called: by the certificate's number where there is one, else by the job's folder."""
    number = plan.certificate.number if plan.certificate is not None else None
    return f"{number or job.resolve().parent.name} run sheet"


def write_plan(plan: Plan, target: Path, job: Path) -> Path:
    """Write the plan as JSON to a file, or into a folder under the plan's name."""
    from certgen.archive.store import file_name, write_whole
    from certgen.results.serialization import as_json

    path = target / file_name(name_of(plan, job), ".json") if target.is_dir() else target
    write_whole(path, as_json(plan).encode())
    return path


def draw_sheet(planned: Planned, out: Path, options: SheetOptions, job: Path) -> SheetWritten:
    """Draw the run sheet of a plan and write it to a file, or into a folder under the plan's name.

    Raises
    ------
    InputError, CertgenError, PageOverflow
        The layout is wrong, is no layout of a plan, or the page is too short; nothing is written then.
    """
    from certgen.archive.store import file_name, write_whole
    from certgen.sheet.engine.layout import in_language
    from certgen.sheet.engine.page import units_of
    from certgen.sheet.engine.place import compose_content
    from certgen.sheet.engine.subjects import PLAN
    from certgen.sheet.pdf.draw import draw
    from certgen.sheet.pdf.metadata import About
    from certgen.sheet.plan_content import PlanContent

    require_showable(planned.loaded)
    plan, choice = planned.plan, planned.loaded.job.sheet
    layout = layout_about(PLAN, options.layout or RUN_SHEET)
    layout = in_language(layout, language_of(planned.loaded, options.language))
    content = PlanContent(plan, units_of(layout, options.units or choice.units), layout.words)
    title = f"{layout.blocks.plan_heading.title or 'Run sheet'} {name_of(plan, job).removesuffix(' run sheet')}"
    number = plan.certificate.number if plan.certificate is not None else None
    about = About(title, "", f"{plan.motor.type} motor", number or "", "", f"certgen {__version__}")
    with in_fonts_of(planned.loaded):
        page = compose_content(content, layout, options.paper or choice.paper)
        require_showable_page(page)
        document = draw(page, about)
    path = out / file_name(name_of(plan, job)) if out.is_dir() else out
    if path is out and path.is_file() and path.read_bytes() != document:
        raise CertgenError(f"{out}: a file of this name exists and is not this run sheet; name another, or a folder.")
    write_whole(path, document)
    return SheetWritten(path, page.left_out)


@dataclass(frozen=True)
class SheetWritten:
    """One run sheet written."""

    path: Path
    left_out: tuple[str, ...]  # titles of blocks the page had no room for


@dataclass(frozen=True)
class Planned:
    """One job with its plan."""

    loaded: LoadedJob
    plan: Plan


def plan_job(path: Path) -> Planned:
    """Read one job as it stands before the test and plan it.

    Raises
    ------
    InputError
        Every mistake found in the job, its rig, the brake's envelope and its criteria; absent readings are none.
    """
    problems = Problems()
    loaded = load_job(path, problems, before_the_test=True)
    inputs: dict[str, str] = {}
    envelope = None if loaded is None else brake_envelope(loaded, inputs)
    criteria = None if loaded is None else criteria_of(loaded)
    if problems.found:
        raise InputError(problems.found)
    if loaded is None or criteria is None:
        raise AssertionError(f"{path}: unusable, yet no mistake was kept")
    judged_by, digests = criteria
    read = {**loaded.inputs, **inputs, **digests}
    return Planned(loaded, make_plan(loaded.job, loaded.rig, envelope, read, judged_by))
