"""Whether a log that is to be read as steady stretches can be."""

from __future__ import annotations

import itertools
from collections.abc import Callable

from certgen.job.table import TableSource

Note = Callable[[str, str, str], None]


def check_log(source: TableSource | None, note: Note) -> None:
    """Keep what is wrong with a load test that is a log; ``note(path, what, instead)`` keeps it."""
    if source is None or source.steady is None:
        return
    if "time" not in source.names:
        what = "a log needs a column 'time'"
        note(f"{source.path}.columns", what, "name it with its unit, for example 'time: s', or leave 'steady' out")
    good: list[tuple[float, float, str]] = []
    for index, pair in enumerate(source.steady.at or (), start=1):
        path = f"{source.path}.steady.at[{index}]"
        if pair is None or None in pair:
            continue  # what could not be read is told already
        if len(pair) != 2 or not pair[0] < pair[1]:
            note(path, "a stretch has a beginning and a later end", "write it as [12 s, 20 s]")
        else:
            good.append((*pair, path))
    for first, second in itertools.pairwise(sorted(good)):
        if second[0] < first[1]:
            note(second[2], "this stretch overlaps another", "let each begin after the one before has ended")
