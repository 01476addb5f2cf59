"""``certgen check`` of files that are no job, and where ``--out`` writes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from certgen.cli import main
from certgen.job.job_paths import jobs_named

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
RIGS, LAYOUTS = ROOT / "example_jobs" / "rigs", ROOT / "layouts"
CRITERIA = "name: ours\ntitle: Limits of ours\nedition: '2026'\ncriteria: []\n"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for path in (ROOT / "example_jobs" / "shop.yaml", RIGS / "home_brake.yaml", LAYOUTS / "tag.yaml"):
        shutil.copy(path, tmp_path)
    Path("ours.yaml").write_text(CRITERIA, "utf-8")
    shutil.copytree(ROOT / "example_jobs" / "one_point_test", tmp_path / "m1")
    shutil.copytree(RIGS, tmp_path / "rigs")
    return tmp_path


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("home_brake.yaml", "home_brake.yaml: rig 'Pivoted brake, twelve-inch arm', no mistakes\n"),
        ("shop.yaml", "shop.yaml: shop file of 'Pennyfold Motor Bench', no mistakes\n"),
        ("ours.yaml", "ours.yaml: criteria set 'Limits of ours', no mistakes\n"),
        ("tag.yaml", "tag.yaml: a layout of 8 blocks on one page, paper a6 or 4x6in or strip60\n"),
    ],
)
def test_a_file_of_each_kind_is_checked_alone(
    here: Path, capsys: pytest.CaptureFixture[str], name: str, told: str
) -> None:
    assert main(["check", name]) == 0
    assert capsys.readouterr().out.startswith(told)


@pytest.mark.parametrize(
    ("name", "old", "new", "mistake"),
    [
        ("home_brake.yaml", "absorber:", "absorbr:", "absorbr: unknown key; did you mean 'absorber'"),
        ("shop.yaml", "name:", "logo: no.png\nname:", "shop.yaml:3:7: logo: 'no.png' does not exist"),
        ("shop.yaml", "{serial:04}", "", "shop.yaml:7:10: numbers: 'PMB-{year}-': a pattern of numbers needs {serial}"),
        ("ours.yaml", "edition:", "editon:", "ours.yaml:3:1: editon: unknown key; did you mean 'edition'"),
        ("tag.yaml", "papers:", "paperz:", "unknown key"),
    ],
)
def test_its_mistakes_are_told_with_their_place(
    here: Path, capsys: pytest.CaptureFixture[str], name: str, old: str, new: str, mistake: str
) -> None:
    path = Path(name)
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    assert main(["check", name]) == 2
    assert mistake in capsys.readouterr().err
    assert main(["check", name, "m1/job.yaml", "--json"]) == 2
    entries = json.loads(capsys.readouterr().out)
    assert [sorted(entry) for entry in entries] == [["file", "kind", "mistakes"], ["job", "results"]]
    assert entries[0]["mistakes"]


def test_a_job_and_its_rig_are_checked_together(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "m1/job.yaml", "home_brake.yaml"]) == 0
    told = capsys.readouterr().out
    assert "home_brake.yaml: rig" in told
    assert "m1/job.yaml: Conditional pass" in told


@pytest.mark.parametrize("slip", ["certifcate", "Certificate", "certificat"])
def test_a_job_with_a_slip_in_its_first_keys_is_named_in_a_folder(
    here: Path, capsys: pytest.CaptureFixture[str], slip: str
) -> None:
    job = Path("m1/job.yaml")
    job.write_text(job.read_text("utf-8").replace("certificate:", f"{slip}:", 1), "utf-8")
    assert list(jobs_named([Path("m1"), Path("rigs")][:1])) == [job]
    assert main(["issue", "m1"]) == 2
    assert f"{slip}: unknown key; did you mean 'certificate'" in capsys.readouterr().err


def test_no_other_file_of_a_shop_is_taken_for_a_misspelt_job(here: Path) -> None:
    assert list(jobs_named([here])) == [here / "m1" / "job.yaml"]


def test_out_makes_a_folder_whose_name_ends_in_a_slash(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", "m1", "--out", "new/pages/", "--results", "new/numbers/"]) == 0
    assert [path.suffix for path in sorted(Path("new").glob("*/*"))] == [".json", ".pdf"]
    assert main(["plan", "m1/job.yaml", "--out", "plans/"]) == 0
    assert list(Path("plans").glob("*.pdf"))


@pytest.mark.parametrize("command", [["issue", "m1"], ["plan", "m1/job.yaml"], ["issue", "m1", "rigs/../m1"]])
def test_a_name_that_could_be_either_is_asked_about(
    here: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    assert main([*command, "--out", "pages"]) == 2
    told = capsys.readouterr().err
    assert told.startswith("--out pages: is this a file or a folder? Neither is there yet. Write pages.pdf for a file,")
    assert not Path("pages").exists()
