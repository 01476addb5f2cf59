"""What a certificate was made from, as one digest: a file that carries the same need not be made again."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from html import unescape
from pathlib import Path

from certgen import __version__
from certgen.digest import digest
from certgen.issuing.layouts import layout_of
from certgen.issuing.options import SheetOptions
from certgen.job.load import LoadedJob

_STATED = re.compile(rb"<dc:source>([0-9a-f]{64})</dc:source>")
_VERDICT = re.compile(rb"<pdf:Keywords>certificate [^<]*, verdict: ([^<]*)</pdf:Keywords>")
#: A page with all that is enclosed; whatever is larger is no certificate of this size.
_MOST_BYTES = 300_000_000


def made_from(inputs: Mapping[str, str], loaded: LoadedJob, options: SheetOptions) -> str:
    """SHA-256 over everything that makes the bytes of a certificate, its number apart.

    Parameters
    ----------
    inputs : mapping
        Every file it is made from, as the job names it -> SHA-256.
    loaded : LoadedJob
        The job, for its choice of sheet.
    options : SheetOptions
        What stands in place of that choice.

    Returns
    -------
    str
        Hexadecimal digits.
    """
    from certgen.sheet.logo import logo_of

    choice = loaded.job.sheet
    parts = [
        __version__,
        sorted(inputs.items()),
        Path(options.layout or choice.layout).name,
        repr(layout_of(loaded, options.layout)),
        repr(logo_of(loaded)),
        options.paper or choice.paper,
        options.units or choice.units,
    ]
    return digest(json.dumps(parts, ensure_ascii=False).encode())


def issued_from(path: Path, source: Callable[[], str]) -> str | None:
    """The verdict of a certificate that stands there, whole, and was made from the same; ``None`` where none does.

    ``source`` tells what :func:`made_from` gives, and is asked only where there is a certificate to compare.
    """
    from certgen.archive.seal import read_seal

    try:
        if not path.is_file() or path.stat().st_size > _MOST_BYTES:
            return None
        data = path.read_bytes()
    except OSError:
        return None
    stated, verdict = _STATED.search(data), _VERDICT.search(data)
    if stated is None or verdict is None or stated[1].decode() != source():
        return None
    seal = read_seal(data)
    return unescape(verdict[1].decode("utf-8", "replace")) if seal is not None and seal.whole else None
