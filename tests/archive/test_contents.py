"""The list of what is enclosed, there and back."""

from __future__ import annotations

import json

import pytest

from certgen.archive.enclosures import FORMAT, Contents, as_json, read_contents

CONTENTS = Contents("MR-1", "pass", "certgen", "1.0", "motor/job.yaml", {"paper": "a4"}, {"motor/job.yaml": "ab" * 32})


def test_it_comes_back() -> None:
    assert read_contents(as_json(CONTENTS)) == CONTENTS


@pytest.mark.parametrize(
    "data",
    [
        b"", b"[]", b"{}", b"null", b"\xff", b"[" * 100_000,
        json.dumps({"format": FORMAT}).encode(),
        as_json(CONTENTS).replace(b"contents 1", b"contents 9"),
        as_json(CONTENTS).replace(b'"MR-1"', b"7"),
        as_json(CONTENTS).replace(b'"a4"', b"[]"),
        as_json(CONTENTS).replace(b'"verdict"', b'"further": "x", "verdict"'),
    ],
)  # fmt: skip
def test_what_is_no_list_is_none(data: bytes) -> None:
    assert read_contents(data) is None
