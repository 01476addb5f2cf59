"""Whatever bytes a reader of files from outside is given, it ends in a result or in mistakes that are told.

The searches here are short; tests/studies/fuzz.py makes long ones, led by the lines they reach.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from untrusted import READERS, Untrusted, seeds

pytestmark = pytest.mark.slow

HERE = Path(__file__).parent
CORPUS = HERE / "corpus"
REASONS: dict[str, str] = yaml.safe_load((CORPUS / "index.yaml").read_text(encoding="utf-8")) or {}


def _words() -> list[bytes]:
    """Bytes that readers take for more than text."""
    lines = (HERE / "words.txt").read_text(encoding="ascii").splitlines()
    return [line[1:-1].encode().decode("unicode_escape").encode("latin-1") for line in lines]


_PARTS = st.one_of(st.sampled_from(_words()), st.binary(max_size=8), st.integers(0, 1 << 70).map(lambda n: b"%d" % n))


@st.composite
def spoilt(draw: st.DrawFn, good: list[bytes]) -> bytes:
    """A good file with a few places replaced, cut out, doubled or moved."""
    data = draw(st.sampled_from(good))
    for _ in range(draw(st.integers(1, 5))):
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.integers(0, 60)))
        match draw(st.sampled_from(("replace", "cut", "double", "end", "move"))):
            case "replace":
                data = data[:start] + draw(_PARTS) + data[end:]
            case "cut":
                data = data[:start] + data[end:]
            case "double":
                data = data[:end] + data[start:]
            case "end":
                data = data[:start]
            case "move":
                data = data[:start] + data[end:] + data[start:end]
    return data


@pytest.fixture(scope="module")
def untrusted(tmp_path_factory: pytest.TempPathFactory) -> Untrusted:
    return Untrusted(tmp_path_factory.mktemp("untrusted"))


@pytest.mark.parametrize("reader", READERS)
def test_good_files_are_read(untrusted: Untrusted, reader: str) -> None:
    for data in seeds(reader):
        READERS[reader](untrusted, data)


@pytest.mark.parametrize("reader", READERS)
def test_spoilt_files_are_told(untrusted: Untrusted, reader: str) -> None:
    @given(data=spoilt(seeds(reader)))
    @settings(
        max_examples=MOST.get(reader, 120),
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def search(data: bytes) -> None:
        READERS[reader](untrusted, data)

    search()


#: Examples for readers that take long over each.
MOST = {"layout": 60, "verify": 60}


@pytest.mark.parametrize("name", REASONS)
def test_what_once_failed_is_told(untrusted: Untrusted, name: str) -> None:
    READERS[name.partition("/")[0]](untrusted, (CORPUS / name).read_bytes())


def test_every_file_that_once_failed_has_its_reason() -> None:
    there = {str(path.relative_to(CORPUS)) for path in CORPUS.glob("*/*")}
    assert there == REASONS.keys()
    for name, reason in REASONS.items():
        assert (CORPUS / name).stat().st_size < 20_000
        assert reason
        assert "\n" not in reason
