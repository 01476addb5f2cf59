"""A test of a reference motor computed again from the certificate that carries it."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from certgen.archive.enclosures import CONTENTS, extract, read_contents
from certgen.archive.register.trend import FOLLOWED, LoadTest
from certgen.archive.verify import enclosed_files
from certgen.errors import CertgenError
from certgen.physics.domain import Array
from certgen.pipeline import reduce_job
from certgen.reduction.model import LoadPoints


def computed_again(document: bytes) -> LoadTest:
    """Load points and load curve of a certificate's own readings, by the rules of this version.

    Parameters
    ----------
    document : bytes
        The certificate.

    Raises
    ------
    CertgenError
        Its files cannot be taken out, or give no load points with this version.
    """
    files = enclosed_files(document)
    contents = read_contents(files.get(CONTENTS, b""))
    if contents is None or contents.job not in files:
        raise CertgenError("its job file is not enclosed.")
    with tempfile.TemporaryDirectory(prefix="certgen-") as folder:
        tree = Path(folder) / "tree"
        extract(files, tree)
        try:
            loaded, reduction = reduce_job(tree / contents.job)
        except CertgenError as cause:
            raise CertgenError(str(cause).replace(f"{tree}/", "")) from cause
    points, usable = reduction.points, ~np.asarray(reduction.points.impossible, dtype=bool)
    return LoadTest(
        rated_current=loaded.job.nameplate.current,
        points={name: values[usable] for name, values in _followed(points).items()},
        curve=None if reduction.curve is None else _followed(reduction.curve),
    )


def _followed(points: LoadPoints) -> dict[str, Array]:
    return {name: np.asarray(getattr(points, "shaft_power" if name == "power" else name)) for name in FOLLOWED}
