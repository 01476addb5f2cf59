"""Runs of neighbouring samples, and a few samples that stand for many."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

#: Samples looked at where a typical value is all that is wanted, in stretches of so many neighbours.
_ENOUGH, _STRETCH = 8192, 64


@dataclass(frozen=True, eq=False)
class Runs:
    """Runs of true samples: index of the first of each, and of the one after its last."""

    starts: Index
    stops: Index

    @property
    def count(self) -> int:
        """How many runs."""
        return self.starts.size

    def pairs(self) -> Iterator[tuple[int, int]]:
        """Each run as (start, stop)."""
        return zip(self.starts.tolist(), self.stops.tolist(), strict=True)


def runs_of(mask: NDArray[np.bool_]) -> Runs:
    """The runs of true values of a mask of shape (n,)."""
    if not mask.size:
        return Runs(np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp))
    turns = np.flatnonzero(mask[1:] != mask[:-1]) + 1
    edges = np.concatenate(([0] if mask[0] else [], turns, [mask.size] if mask[-1] else [])).astype(np.intp)
    return Runs(edges[::2], edges[1::2])


def thinned(values: Array, enough: int = _ENOUGH) -> Array:
    """All of a few values, else stretches of neighbours spread evenly over them, about as many as are enough."""
    if values.size <= enough:
        return values
    starts = np.linspace(0, values.size - _STRETCH, enough // _STRETCH).astype(np.intp)
    return np.asarray(values[starts[:, None] + np.arange(_STRETCH)].ravel())
