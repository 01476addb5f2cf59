"""Whatever is done to the files of a job, the answer is a verdict or a list of mistakes, never a traceback."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from bench import BENCHES, Bench
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from certgen.errors import CertgenError, InputError, RefusedTest
from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

_VALUES = (
    "", "~", "null", "0", "-1", "1", "0.0", "1e300", "-1e300", "1e-300", "99999999999", "1e9 kW", "1e-9 kg", "0 N",
    "-3 A", "1/3 hp", "80 %", "120 %", "300 K", "5000 rpm", "0 Hz", "1 month", "x", "[]", "{}", "[1, 2]", "{a: 1}",
    "'", '"', "[", "]", "{", "}", "- a", "a: b", "&a", "*a", "!!str x", "# x", "%", "@", "\t", "\x00", "\u202e",
    "é", "../rig.yaml", "/dev/null", ".", "belt", "rope", "torque sensor", "dc", "universal",
    "single-phase induction", "force", "mass", "limits.yaml", "true", "no", "12:30:00", "0x1F", "1_000", "1,5",
    "1;5", ",,,,,", "2026-03-14", "<<", "rpm", "N", "time", "scale_2", "torque",
)  # fmt: skip


@st.composite
def _edits(draw: st.DrawFn, text: str) -> str:
    """A text with a few of its lines or values deleted, doubled, moved or replaced."""
    for _ in range(draw(st.integers(1, 3))):
        lines = text.split("\n")
        number = draw(st.integers(0, len(lines) - 1))
        line = lines[number]
        match draw(st.sampled_from(("delete", "double", "move", "value", "part", "insert", "indent"))):
            case "delete":
                del lines[number]
            case "double":
                lines.insert(number, line)
            case "move":
                lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(number))
            case "value":
                at = draw(st.sampled_from([i + 1 for i, sign in enumerate(line) if sign in ": ,[{"] or [0]))
                end = draw(
                    st.sampled_from([i for i, sign in enumerate(line) if i >= at and sign in ",]} "] + [len(line)])
                )
                lines[number] = f"{line[:at]} {draw(st.sampled_from(_VALUES))}{line[end:]}"
            case "part":
                start = draw(st.integers(0, len(line)))
                lines[number] = line[:start] + line[draw(st.integers(start, len(line))) :]
            case "insert":
                at = draw(st.integers(0, len(line)))
                lines[number] = line[:at] + draw(st.text(max_size=8)) + line[at:]
            case "indent":
                lines[number] = draw(st.sampled_from((line.strip(), f"  {line}", f"\t{line}", f"- {line}")))
        text = "\n".join(lines)
    return text


@st.composite
def _garbled(draw: st.DrawFn) -> dict[str, str]:
    texts = dict(BENCHES[draw(st.sampled_from(sorted(BENCHES)))])
    for name in draw(st.lists(st.sampled_from(sorted(texts)), min_size=1, max_size=2, unique=True)):
        texts[name] = draw(_edits(texts[name]))
    return texts


@given(texts=_garbled())
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
def test_garbled_files_give_a_verdict_or_mistakes(texts: dict[str, str]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "shop"
        job = Bench(folder, {key: text.encode("utf-8", "replace").decode() for key, text in texts.items()}).write()
        verdict, error = _outcome(job)
    if isinstance(error, InputError):
        assert error.problems
        for told in map(str, error.problems):
            assert told.isprintable()
            assert told.startswith(str(folder))
            assert len(told) < 1000 + 2 * len(str(folder))
    else:
        assert str(error or verdict)


def _outcome(job: Path) -> tuple[str, CertgenError | None]:
    """The verdict on a job, or the mistake that kept it from one; anything else is raised."""
    try:
        return assess_job(job).results.verdict.outcome, None
    except (InputError, RefusedTest) as error:
        return "", error
