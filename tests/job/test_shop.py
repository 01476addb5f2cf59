"""A shop file: what it lends to a job, what stands in the job wins, and every mistake told where it was written."""

from __future__ import annotations

import shutil
from pathlib import Path

import jsonschema
import pytest
import yaml

from certgen.cli import main
from certgen.commands.schema import schema_text
from certgen.document.source import Problems, digest
from certgen.errors import InputError
from certgen.issuing.certificate import draw_job, issue_job
from certgen.issuing.layouts import SheetOptions
from certgen.job.load import LoadedJob, load_before, load_job
from certgen.job.shop import fingerprints
from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

STARTER = Path(__file__).parents[2] / "certgen" / "starter"
SHOP = {
    "name": "Mill Lane Motors", "address": ["Mill Lane 3"], "contact": "555 0142", "url": "https://mill.example/m/",
    "authorised_by": "A. Tester", "function": "bench lead", "logo": "logo.svg", "rig": "rigs/arm_brake.yaml",
    "criteria": "nema-mg-1", "decision_rule": "simple", "sheet": {"paper": "letter", "units": "us", "language": "de"},
    "archive": "kept", "numbers": "ML-{serial:03}",
}  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """The starting job without what a shop file says, beside a shop file that says all of it."""
    for name, place in {"job.yaml": "m1/job.yaml", "arm_brake.yaml": "rigs/arm_brake.yaml"}.items():
        (tmp_path / place).parent.mkdir(exist_ok=True)
        shutil.copy(STARTER / name, tmp_path / place)
    job = yaml.safe_load((tmp_path / "m1/job.yaml").read_text("utf-8"))
    for key in ("rig", "criteria", "sheet"):
        del job[key]
    del job["certificate"]["number"]
    write(tmp_path / "m1/job.yaml", job)
    write(tmp_path / "shop.yaml", SHOP)
    (tmp_path / "logo.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 2"><rect width="4" height="2"/></svg>', "utf-8"
    )
    return tmp_path


def write(path: Path, tree: object) -> None:
    path.write_text(yaml.safe_dump(tree, sort_keys=False, allow_unicode=True), "utf-8")


def changed(path: Path, **keys: object) -> None:
    write(path, {**yaml.safe_load(path.read_text("utf-8")), **keys})


def loaded_of(bench: Path) -> LoadedJob:
    problems = Problems()
    loaded = load_job(bench / "m1/job.yaml", problems)
    assert not problems.found, problems.found
    assert loaded is not None
    return loaded


def test_a_job_takes_what_it_does_not_say_itself(bench: Path) -> None:
    loaded = loaded_of(bench)
    job = loaded.job
    assert job.certificate.shop is not None
    assert (job.certificate.shop.name, job.certificate.shop.address) == ("Mill Lane Motors", ("Mill Lane 3",))
    assert job.certificate.shop.url == "https://mill.example/m/"
    assert (job.certificate.authorised_by, job.certificate.function) == ("A. Tester", "bench lead")
    assert (job.criteria, job.decision_rule) == ("nema-mg-1", "simple")
    assert (job.sheet.paper, job.sheet.units, job.sheet.language) == ("letter", "us", "de")
    assert loaded.rig.name  # read by the name the shop file gives
    assert set(loaded.inputs) == {"job.yaml", "../shop.yaml", "../rigs/arm_brake.yaml"}
    assert loaded.inputs["../shop.yaml"] == digest((bench / "shop.yaml").read_bytes())


def test_the_job_s_own_words_win_key_by_key(bench: Path) -> None:
    certificate = {"tested_on": "2026-02-14", "tested_by": "B. Bench", "shop": {"name": "Other"}, "function": "owner"}
    changed(bench / "m1/job.yaml", certificate=certificate, sheet={"paper": "a4"}, criteria="iec-60034-1")
    job = loaded_of(bench).job
    assert job.certificate.shop is not None
    assert (job.certificate.shop.name, job.certificate.shop.address) == ("Other", ())  # no heading of two shops
    assert (job.certificate.authorised_by, job.certificate.function) == (None, "owner")
    assert (job.sheet.paper, job.sheet.units, job.criteria) == ("a4", "us", "iec-60034-1")


def test_a_recording_takes_the_rig_of_the_shop_file(bench: Path) -> None:
    problems = Problems()
    loaded = load_before(bench / "rigs/arm_brake.yaml", bench / "m1/job.yaml", problems)
    assert loaded is not None
    assert not problems.found


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"nam": "x"}, "shop.yaml:18:1: nam: unknown key; did you mean 'name'"),
        (
            {"logo": "lgo.svg"},
            "shop.yaml:8:7: logo: 'lgo.svg' does not exist; write the name as seen from the folder of ",
        ),
        ({"archive": "../../far"}, "archive: '../../far' leads out of the folder above the job's own"),
        ({"archive": "/tmp"}, "archive: '/tmp' is an absolute name"),
        ({"criteria": "ours.yaml"}, "shop.yaml:10:11: criteria: 'ours.yaml' does not exist"),
        ({"signing_keys": ["abc"]}, "'abc' is not the SHA-256 of a certificate; write the 64 digits"),
        ({"authorised_by": None}, "function: nobody is named whose function this is"),
    ],
)
def test_a_mistake_is_told_where_it_was_written(bench: Path, keys: dict[str, object], message: str) -> None:
    changed(bench / "shop.yaml", **keys)
    with pytest.raises(InputError) as caught:
        assess_job(bench / "m1/job.yaml")
    assert message in str(caught.value)
    assert "this key is missing" not in str(caught.value)  # the rig is not asked for again


def test_criteria_nobody_knows_are_told_at_the_shop_file_s_key_in_the_job(bench: Path) -> None:
    changed(bench / "shop.yaml", criteria="nema")
    with pytest.raises(InputError, match=r"job\.yaml:\d+:7: criteria: 'nema' is not known; did you mean 'nema-mg-1'"):
        assess_job(bench / "m1/job.yaml")


def test_without_rig_in_job_or_shop_file_the_job_is_told_so(bench: Path) -> None:
    changed(bench / "shop.yaml", rig=None)
    with pytest.raises(InputError, match="rig: this key is missing"):
        assess_job(bench / "m1/job.yaml")


def test_it_travels_and_the_page_is_drawn_again_from_it(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(bench / "shop.yaml", sheet={"paper": "letter"})
    page = bench / "page.pdf"
    page.write_bytes(draw_job(bench / "m1/job.yaml", SheetOptions(), number="ML-9").document)
    assert main(["verify", str(page), "--extract", str(bench / "out")]) == 0
    assert "sound" in capsys.readouterr().out
    for name in ("shop.yaml", "rigs/arm_brake.yaml", "logo.svg"):
        assert (bench / "out" / name).read_bytes() == (bench / name).read_bytes()


def test_the_usual_archive_and_its_numbers(bench: Path) -> None:
    changed(bench / "shop.yaml", sheet=None)
    issued = issue_job(bench / "m1/job.yaml", out=None, results_path=None, options=SheetOptions())
    assert (issued.number, issued.path) == ("ML-001", bench / "kept" / "ML-001.pdf")
    elsewhere = bench / "other"
    elsewhere.mkdir()
    again = issue_job(bench / "m1/job.yaml", out=None, results_path=None, options=SheetOptions(), archive=elsewhere)
    assert again.path == elsewhere / "ML-001.pdf"


def test_keys_are_read_however_they_are_spaced(tmp_path: Path) -> None:
    plain = "0123456789abcdef" * 4
    spaced = ":".join(plain[at : at + 2] for at in range(0, 64, 2)).upper()
    write(tmp_path / "shop.yaml", {"name": "Mill Lane", "signing_keys": [spaced]})
    assert list(fingerprints(tmp_path / "shop.yaml")) == [plain]
    write(tmp_path / "shop.yaml", {"name": "Mill Lane"})
    with pytest.raises(InputError, match="this shop file names no key"):
        list(fingerprints(tmp_path / "shop.yaml"))


def test_a_job_needs_rig_or_shop_by_the_schema(bench: Path) -> None:
    """JSON Schema 2020-12, checked by the jsonschema library."""
    job = jsonschema.Draft202012Validator(yaml.safe_load(schema_text("job")))
    least = {"certificate": {"tested_on": "2026-02-14", "tested_by": "B"}, "motor": {"type": "dc"}, "readings": {}}
    told = [error.message for error in job.iter_errors({**least, "shop": "../shop.yaml"})]
    assert not any("anyOf" in one or "given schemas" in one for one in told), told
    assert any("given schemas" in error.message for error in job.iter_errors(least))
    jsonschema.Draft202012Validator(yaml.safe_load(schema_text("shop"))).validate(SHOP)
