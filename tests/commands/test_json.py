"""What other programs read: ``--json`` on standard output, one document a command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from bench import Bench

import certgen
from certgen.cli import main
from certgen.results.serialization import as_json

pytestmark = pytest.mark.slow


def told(capsys: pytest.CaptureFixture[str]) -> list[dict]:
    return json.loads(capsys.readouterr().out)


def test_check_gives_the_results_of_every_job_and_the_mistakes_of_the_others(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    good = bench.write()
    bad = good.with_name("bad.yaml")
    bad.write_text(good.read_text(encoding="utf-8").replace("1.5 kW", "1.5"), encoding="utf-8")
    assert main(["check", str(good), str(bad), "absent.yaml", "--json"]) == 2
    first, second, third = told(capsys)
    assert first["results"] == json.loads(as_json(certgen.assess(good)))
    (mistake,) = second["mistakes"]
    line = next(n for n, text in enumerate(bad.read_text(encoding="utf-8").splitlines(), 1) if "power: 1.5" in text)
    assert (mistake["file"], mistake["line"]) == (str(bad), line)
    assert mistake["what"].startswith("nameplate.power")
    assert third["mistakes"][0]["what"].startswith("absent.yaml") or third["mistakes"][0]["file"] == "absent.yaml"
    assert main(["check", str(good), "--json", "--require", "pass"]) in (0, 1)


def test_plan_gives_its_tree_and_writes_no_sheet(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    job = bench.write()
    before = sorted(Path().rglob("*"))
    status = main(["plan", str(job), "--json"])
    plan = json.loads(capsys.readouterr().out)
    assert sorted(Path().rglob("*")) == before
    assert main(["plan", str(job), "--results", "plan.json", "--out", "sheet.pdf"]) == status
    assert json.loads(Path("plan.json").read_text(encoding="utf-8")) == plan
    capsys.readouterr()
    assert main(["plan", str(job), "--json", "--out", "other.pdf"]) == status
    assert json.loads(capsys.readouterr().out) == plan
    assert Path("other.pdf").read_bytes() == Path("sheet.pdf").read_bytes()


def test_verify_gives_every_fact(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    main(["issue", str(bench.write())])
    Path("notes.pdf").write_text("no certificate", encoding="utf-8")
    capsys.readouterr()
    assert main(["verify", "WS-2026-007.pdf", "notes.pdf", "absent.pdf", "--json"]) == 2
    whole, broken, absent = told(capsys)
    assert (whole["page"], whole["good"], whole["number"]) == ("WS-2026-007.pdf", True, "WS-2026-007")
    states = {fact["name"]: fact["state"] for fact in whole["facts"]}
    assert states["container"] == "good"
    assert all(fact["words"]["text"] for fact in whole["facts"])
    assert not broken["good"]
    assert not absent["good"]
    assert "cannot be read" in absent["mistake"]


def test_list_and_find_give_what_export_gives(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    Path("kept").mkdir()
    main(["issue", str(bench.write()), "--archive", "kept"])
    capsys.readouterr()
    assert main(["register", "export", "--archive", "kept", "--as", "json"]) == 0
    exported = told(capsys)
    assert main(["register", "list", "--archive", "kept", "--json"]) == 0
    assert told(capsys) == exported
    assert main(["register", "find", "--archive", "kept", "--json", "--number", "X-1"]) == 0
    assert told(capsys) == []
